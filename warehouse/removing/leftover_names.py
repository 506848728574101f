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
        distinct = sorted({" ".join(word.split()) for word in words if word.strip()}, key=len)
        spaced = [r"\s+".join(map(re.escape, word.split())) for word in reversed(distinct)]
        self._text = re.compile(rf"(?<!\w)(?:{'|'.join(spaced)})(?!\w)", re.I) if distinct else None
        patterns = dict.fromkeys(_in_bytes(word, code) for word in distinct for code in _ENCODINGS)
        # Looking for bytes as they stand is a hundred times faster than any pattern.
        self._bytes = [(part, re.compile(found, re.I)) for part, found in patterns if found]

    def are_in(self, value: str | bytes) -> bool:
        """Whether one of the names stands in a text, or in bytes in any usual encoding."""
        if isinstance(value, bytes):
            small = value.lower() if self._bytes else b""
            return any(part in small and found.search(value) for part, found in self._bytes)
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


def _in_bytes(word: str, encoding: str) -> tuple[bytes, bytes]:
    """Longest part of a word in small letters, and the word's pattern, in bytes.

    Both are empty where the encoding has no such letters. Bytes of letters beside the word make it
    a part of a longer one; in UTF-16 each letter has two.
    """
    try:
        parts = [part.encode(encoding) for part in word.split()]
    except UnicodeEncodeError:
        return b"", b""
    blank = {"utf-16-le": rb"\s\x00", "utf-16-be": rb"\x00\s"}.get(encoding, rb"\s")
    edge = rb"[A-Za-z0-9]" if not encoding.startswith("utf-16") else (
        rb"[A-Za-z0-9]\x00" if encoding.endswith("le") else rb"\x00[A-Za-z0-9]")  # fmt: skip
    spaced = (rb"(?:" + blank + rb")+").join(map(re.escape, parts))
    return max(parts, key=len).lower(), rb"(?<!" + edge + rb")" + spaced + rb"(?!" + edge + rb")"
