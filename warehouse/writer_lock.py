"""One writer a home: a lock that the kernel frees when its holder dies."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from rangeledger.schemas.errors import BusyError, StorageError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.system.file_locks import try_lock

_POLL_S = 0.05


def _holder(home: Home) -> str:
    try:
        return home.lock.read_text().strip() or "unknown"
    except OSError:
        return "unknown"


@contextmanager
def writer_lock(
    home: Home, *, wait_s: float = 120.0, on_wait: Callable[[str], None] | None = None
) -> Iterator[None]:
    """Hold the home's writer lock, waiting for another process if need be.

    The lock is taken on a file of its own, because closing any handle on a file that is locked
    by POSIX record locks (as a database file is) would drop the database's lock. Whoever wants
    it first takes the lock of the queue, so that a service that takes it again and again lets a
    command in between.

    Parameters
    ----------
    home : Home
    wait_s : float
        Longest wait [s], on the monotonic clock.
    on_wait : callable, optional
        Called once with the holder's process number when a wait begins.

    Raises
    ------
    BusyError
        If another process still holds it after `wait_s`.
    """
    deadline = time.monotonic() + wait_s
    report = _Once(on_wait)
    with _opened(home.lock) as descriptor:
        with _opened(home.lock.with_suffix(".queue")) as queue:
            _acquire(queue, home, wait_s, deadline, report)
            _acquire(descriptor, home, wait_s, deadline, report)
        os.ftruncate(descriptor, 0)
        os.pwrite(descriptor, str(os.getpid()).encode(), 0)
        yield


@contextmanager
def _opened(path: Path) -> Iterator[int]:
    """Open a lock file; closing it gives the lock up."""
    try:
        descriptor = os.open(path, os.O_RDWR | os.O_CREAT, 0o644)
    except OSError as error:
        raise StorageError(
            f"{path} can't be opened ({error.strerror}). Permission to write the home is needed."
        ) from error
    try:
        yield descriptor
    finally:
        os.close(descriptor)


class _Once:
    """Tells of a wait at most once."""

    def __init__(self, on_wait: Callable[[str], None] | None) -> None:
        self._on_wait = on_wait

    def __call__(self, holder: str) -> None:
        if self._on_wait is not None:
            self._on_wait(holder)
        self._on_wait = None


def _acquire(
    descriptor: int, home: Home, wait_s: float, deadline: float, report: Callable[[str], None]
) -> None:
    while not try_lock(descriptor):
        if time.monotonic() > deadline:
            raise BusyError(
                f"Another rangeledger process (number {_holder(home)}) has been writing to "
                f"{home.root} for over {wait_s:.0f} s. Wait for it to end and try again."
            )
        report(_holder(home))
        time.sleep(_POLL_S)
