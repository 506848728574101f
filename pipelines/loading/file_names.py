"""Names of files: how they are shown, stored and kept, whatever their bytes are.

A file name is bytes; Python gives those that are no UTF-8 as lone surrogates, which no JSON file,
no database and no log takes. So a name is shown with such bytes, and with characters that move the
cursor or hide, as escapes; and a place in the inbox is kept in a form that leads back to it.
"""

from __future__ import annotations

import os
from pathlib import Path

# Most file systems take 255 bytes; an ending such as `.mapping.toml`, a number in brackets and the
# process number of an unfinished copy come on top.
_MOST_BYTES = 200
_LONGEST_ENDING = 10
_AS_BYTES = "bytes:"
_ENDING = ".csv"


def shown(name: str) -> str:
    r"""A name as text that can be printed and stored: odd bytes as `\xff`, line breaks as `\n`."""
    text = os.fsencode(name).decode("utf-8", "backslashreplace")
    return "".join(
        c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in text
    )


def stored(name: str, most_bytes: int = _MOST_BYTES) -> str:
    """A name under which a file can be kept, with room for endings; a long one loses its middle."""
    text = shown(name).replace("/", "_")
    if len(text.encode()) <= most_bytes:
        return text
    stem, ending = os.path.splitext(text)
    if len(ending) > _LONGEST_ENDING:
        stem, ending = text, ""
    room = most_bytes - len(ending.encode()) - len("...")
    start = stem.encode()[: room // 2].decode("utf-8", "ignore")
    end = stem.encode()[-(room // 2) :].decode("utf-8", "ignore")
    return f"{start}...{end}{ending}"


def plain_ending(name: str) -> str:
    """Ending for a file that is named otherwise: the name's own where it is a plain one."""
    ending = os.path.splitext(name)[1].lower()
    plain = ending[1:].isalnum() and ending.isascii() and len(ending) <= _LONGEST_ENDING
    return ending if plain else _ENDING


def place_text(place: Path) -> str:
    """A relative path as text that leads back to it."""
    raw = os.fsencode(place)
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError:
        return _AS_BYTES + raw.hex()
    return _AS_BYTES + raw.hex() if text.startswith(_AS_BYTES) else text


def place_of(text: str) -> Path:
    """The relative path that `place_text` made a text of."""
    if text.startswith(_AS_BYTES):
        return Path(os.fsdecode(bytes.fromhex(text.removeprefix(_AS_BYTES))))
    return Path(text)
