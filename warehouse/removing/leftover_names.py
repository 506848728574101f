"""Whether names can be found in texts, bytes and files, as a search of the home would."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

import polars as pl


class Names:
    """Words to be found: names of players, of files, of originals.

    Parameters
    ----------
    words : sequence of str
        Found whatever their letter case and the blanks in them, and not inside longer words.
    """

    def __init__(self, words: Sequence[str]) -> None:
        told = sorted({" ".join(word.split()) for word in words if word.strip()}, key=len)
        spaced = [r"\s+".join(map(re.escape, word.split())) for word in reversed(told)]
        self._text = re.compile(rf"(?<!\w)(?:{'|'.join(spaced)})(?!\w)", re.I) if told else None
        found = [_byte_pattern(word, code) for word in told for code in _ENCODINGS]
        self._bytes = re.compile(b"|".join(filter(None, found)), re.I) if told else None

    def are_in(self, value: str | bytes) -> bool:
        """Whether one of the names stands in a text, or in bytes in any usual encoding."""
        if isinstance(value, bytes):
            return self._bytes is not None and self._bytes.search(value) is not None
        return self._text is not None and self._text.search(value) is not None

    def removed_from(self, text: str, instead: str) -> str:
        """A text with something else in the names' place."""
        return self._text.sub(instead, text) if self._text is not None else text

    def are_found_in_file(self, path: Path) -> bool:
        """Whether a file's own name, its bytes, or the rows of a Parquet file hold a name."""
        if self.are_in(path.name) or self.are_in(path.read_bytes()):
            return True
        if path.suffix != ".parquet":
            return False
        rows = pl.read_parquet(path, hive_partitioning=False)
        return any(
            self.are_in(text)
            for name, kind in rows.schema.items()
            if kind == pl.String
            for text in rows[name].drop_nulls().unique()
        )


_ENCODINGS = ("utf-8", "latin-1", "utf-16-le", "utf-16-be")


def _byte_pattern(word: str, encoding: str) -> bytes:
    """Pattern for a word in bytes; empty where the encoding has no such letters.

    Bytes of letters beside it make it a part of a longer word; in UTF-16 each letter has two.
    """
    try:
        parts = [re.escape(part.encode(encoding)) for part in word.split()]
    except UnicodeEncodeError:
        return b""
    blank = {"utf-16-le": rb"\s\x00", "utf-16-be": rb"\x00\s"}.get(encoding, rb"\s")
    edge = rb"[A-Za-z0-9]" if not encoding.startswith("utf-16") else (
        rb"[A-Za-z0-9]\x00" if encoding.endswith("le") else rb"\x00[A-Za-z0-9]")  # fmt: skip
    return rb"(?<!" + edge + rb")" + (rb"(?:" + blank + rb")+").join(parts) + rb"(?!" + edge + rb")"
