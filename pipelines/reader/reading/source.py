"""The bytes of an export, taken from a regular file without ever blocking, within stated limits."""

from __future__ import annotations

import errno
import os
import stat
from io import FileIO
from pathlib import Path

from rangeledger.schemas.errors import ExportError, StorageError
from rangeledger.schemas.reasons import FileReason

MAX_BYTES = 1 << 30  # 1 GiB: reading takes about four times that in memory

_GONE = (errno.ENOENT, errno.ENOTDIR, errno.ELOOP, errno.ENAMETOOLONG)


def read_bytes(source: Path | str | bytes, max_bytes: int = MAX_BYTES) -> bytes:
    """Bytes of a regular file; bytes are handed through.

    Parameters
    ----------
    source : Path, str or bytes
        A path, or the content itself.
    max_bytes : int
        Refuse more than this [bytes].

    Returns
    -------
    bytes
        The whole content.

    Raises
    ------
    ExportError
        No regular file, no permission, or too large.
    StorageError
        The disk failed while reading; trying again can help.
    """
    if isinstance(source, bytes):
        _refuse_large("the data", len(source), max_bytes)
        return source
    path = Path(source)
    try:
        return _read_regular(path, max_bytes)
    except OSError as problem:
        raise _sentence(path, problem) from problem
    except ValueError as problem:  # a NUL inside the name
        raise ExportError(
            f"{path.name!r} is no name of a file.", FileReason.NOT_A_FILE
        ) from problem


def _read_regular(path: Path, max_bytes: int) -> bytes:
    """Look before opening: opening a device can have effects of its own."""
    _refuse_special(path, os.stat(path).st_mode)
    descriptor = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)
    with open(descriptor, "rb", buffering=0) as file:
        status = os.fstat(descriptor)
        _refuse_special(path, status.st_mode)
        _refuse_large(path.name, status.st_size, max_bytes)
        return _read_up_to(file, path.name, status.st_size, max_bytes)


def _read_up_to(file: FileIO, name: str, size: int, max_bytes: int) -> bytes:
    """Read to the end, even where the size is unknown (0) or the file is growing."""
    parts: list[bytes] = []
    total = 0
    while part := file.read(max(size - total, 1 << 16)):
        parts.append(part)
        total += len(part)
        _refuse_large(name, total, max_bytes)
    return parts[0] if len(parts) == 1 else b"".join(parts)


def _refuse_special(path: Path, mode: int) -> None:
    if stat.S_ISREG(mode):
        return
    kind = "a folder" if stat.S_ISDIR(mode) else "a pipe, socket or device"
    raise ExportError(
        f"{path.name} is {kind}, not a file; drop the exported CSV file itself.",
        FileReason.NOT_A_FILE,
    )


def _refuse_large(name: str, size: int, max_bytes: int) -> None:
    if size > max_bytes:
        raise ExportError(
            f"{name} has more than {max_bytes:,} bytes, the most that is read at once; "
            "split it into smaller files, each with the heading line.",
            FileReason.TOO_LARGE,
        )


def _sentence(path: Path, problem: OSError) -> ExportError | StorageError:
    if problem.errno in _GONE:
        gone = "is a link that leads nowhere" if os.path.islink(path) else "is not there"
        return ExportError(f"{path.name} {gone}; export it again.", FileReason.NOT_A_FILE)
    if problem.errno in (errno.EACCES, errno.EPERM):
        return ExportError(
            f"{path.name} can't be opened for want of permission; allow reading it and try again.",
            FileReason.UNREADABLE,
        )
    return StorageError(f"{path.name} can't be read ({problem.strerror}); try again.")
