"""Locks on files, which the kernel frees when their holder dies; where the system calls are.

They are taken on files of their own, since closing any handle on a file that is locked by POSIX
record locks (as a database file is) would drop the database's lock.
"""

from __future__ import annotations

import fcntl


def try_lock(descriptor: int, *, shared: bool = False) -> bool:
    """Take a lock if nobody holds one that excludes it.

    Parameters
    ----------
    descriptor : int
        Open file; closing it gives the lock up.
    shared : bool
        Whether others may share it.

    Returns
    -------
    bool
        Whether it was taken.
    """
    kind = fcntl.LOCK_SH if shared else fcntl.LOCK_EX
    try:
        fcntl.flock(descriptor, kind | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True


def wait_for_lock(descriptor: int) -> None:
    """Take a lock, however long another process holds it."""
    fcntl.flock(descriptor, fcntl.LOCK_EX)
