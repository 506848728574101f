"""One writer a home: a lock that the kernel frees when its holder dies."""

from __future__ import annotations

import fcntl
import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from schemas.errors import BusyError
from warehouse.home import Home

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
    by POSIX record locks (as a database file is) would drop the database's lock.

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
    descriptor = os.open(home.lock, os.O_RDWR | os.O_CREAT, 0o644)
    try:
        _acquire(descriptor, home, wait_s, on_wait)
        os.ftruncate(descriptor, 0)
        os.pwrite(descriptor, str(os.getpid()).encode(), 0)
        yield
    finally:
        os.close(descriptor)


def _acquire(
    descriptor: int, home: Home, wait_s: float, on_wait: Callable[[str], None] | None
) -> None:
    deadline = time.monotonic() + wait_s
    told = False
    while True:
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
            return
        except BlockingIOError as error:
            if time.monotonic() > deadline:
                raise BusyError(
                    f"Another rangeledger process (number {_holder(home)}) has been writing to "
                    f"{home.root} for over {wait_s:.0f} s. Wait for it to end and try again."
                ) from error
        if not told and on_wait is not None:
            on_wait(_holder(home))
        told = True
        time.sleep(_POLL_S)
