"""Files that a reader finds as they were or as they are to be, also after a power cut."""

from __future__ import annotations

import os
from pathlib import Path


def write_atomically(path: Path, text: str, *, private: bool = False) -> None:
    """Write a small text file so that a reader sees the old or the new one, never a part.

    A private one can be read by its owner alone.
    """
    temporary = path.with_name(f".{path.name}.{os.getpid()}.tmp")
    mode = 0o600 if private else 0o666
    descriptor = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, mode)
    with os.fdopen(descriptor, "w", encoding="utf-8") as stream:
        stream.write(text)
        stream.flush()
        os.fsync(stream.fileno())
    os.replace(temporary, path)
    sync_folder(path.parent)


def sync_folder(folder: Path) -> None:
    """Make renames in a folder durable; a system that can't open folders is left alone."""
    try:
        descriptor = os.open(folder, os.O_RDONLY)
    except (PermissionError, IsADirectoryError):
        return
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
