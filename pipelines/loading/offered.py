"""An export that is offered: its file, its note, and what the system tells about the file."""

from __future__ import annotations

import hashlib
import os
from dataclasses import dataclass, field
from pathlib import Path

NOTE_SUFFIX = ".toml"
_NOTE_SUFFIXES = (NOTE_SUFFIX, ".TOML", ".Toml")
_LAST_BYTES = 64
_UNFINISHED = (".part", ".tmp", ".crdownload", ".partial")


@dataclass(frozen=True, slots=True)
class Offered:
    """An export that waits in the inbox.

    Attributes
    ----------
    path : Path
    file_name : str
    may_grow : Path or None
        The file of the inbox whose copy this is, where that may not be whole yet.
    """

    path: Path
    file_name: str
    may_grow: Path | None = field(default=None, kw_only=True)

    @property
    def note(self) -> Path | None:
        """The note file beside it, if there is one."""
        candidates = (self.path.with_suffix(suffix) for suffix in _NOTE_SUFFIXES)
        return next(
            (note for note in candidates if note != self.path and os.path.isfile(note)), None
        )


@dataclass(frozen=True, slots=True)
class Stamp:
    """What tells without reading whether a file is still the one that was read."""

    inode: int
    size: int
    modified_ns: int


def stamp_of(path: Path) -> Stamp | None:
    """Stamp of a file, None where there is none."""
    try:
        found = path.lstat()
    except OSError:
        return None
    return Stamp(found.st_ino, found.st_size, found.st_mtime_ns)


def ends_amid_a_line(path: Path) -> bool:
    """Whether the last line of a text file has no end, as where a copy of it is under way."""
    try:
        with path.open("rb") as stream:
            size = stream.seek(0, os.SEEK_END)
            stream.seek(max(size - _LAST_BYTES, 0))
            last = stream.read()
    except OSError:
        return False
    return not last.rstrip(b"\0\x1a \t").endswith((b"\n", b"\r"))


def is_export_name(name: str) -> bool:
    """Whether a file of the inbox is meant as an export: no note, not hidden, not unfinished."""
    lower = name.lower()
    return not (name.startswith(".") or lower.endswith((NOTE_SUFFIX, *_UNFINISHED)))


def content_hash(path: Path) -> str:
    """SHA-256 of a file's bytes; of its name where it can't or must not be read."""
    if path.is_symlink() or not path.is_file():
        return hashlib.sha256(f"not a file: {path.name}".encode()).hexdigest()
    try:
        with path.open("rb") as stream:
            return hashlib.file_digest(stream, "sha256").hexdigest()
    except PermissionError:
        return hashlib.sha256(f"not readable: {path.name}".encode()).hexdigest()
