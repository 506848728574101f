"""Files that a reader finds as they were or as they are to be, also after a power cut."""

from __future__ import annotations

import errno
import fcntl
import os
import shutil
from pathlib import Path

_CLONE = 0x40049409  # FICLONE of linux/fs.h: share the blocks instead of copying them


def write_atomically(
    path: Path, text: str, *, private: bool = False, mode: int | None = None
) -> None:
    """Write a small text file so that a reader sees the old or the new one, never a part.

    A private one can be read by its owner alone; `mode` are the permissions that it has to have.
    """
    temporary = path.with_name(f".{path.name}.{os.getpid()}.tmp")
    first_mode = 0o600 if private or mode is not None else 0o666
    descriptor = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, first_mode)
    if mode is not None:
        os.fchmod(descriptor, mode)
    with os.fdopen(descriptor, "w", encoding="utf-8", newline="") as stream:
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


def sync_file(path: Path) -> None:
    """Make what was written to a file durable."""
    with path.open("rb") as stream:
        os.fsync(stream.fileno())


def clone(source: Path, target: Path) -> None:
    """Copy a file durably; where the file system can, the copy shares the blocks."""
    with source.open("rb") as reading, target.open("wb") as writing:
        try:
            fcntl.ioctl(writing, _CLONE, reading.fileno())
        except OSError as error:
            if error.errno in (errno.ENOSPC, errno.EIO, errno.EDQUOT):
                raise
            shutil.copyfileobj(reading, writing, 4 * 2**20)
        writing.flush()
        os.fsync(writing.fileno())
