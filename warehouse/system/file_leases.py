"""Whether another process writes a file, as the kernel's leases tell."""

from __future__ import annotations

import errno
import fcntl
import os
import signal
import threading
from pathlib import Path


def open_for_writing(path: Path) -> bool:
    """Whether a process of this machine has a file open for writing, as far as can be told.

    Notes
    -----
    The kernel grants a read lease only on a file that nobody has open for writing. Where it
    grants no leases at all (network file systems, other users' files) the answer is False.

    References
    ----------
    fcntl(2), Linux manual pages: F_SETLEASE.
    """
    if not hasattr(fcntl, "F_SETLEASE") or not _lease_signal_is_harmless():
        return False
    try:
        descriptor = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_NOFOLLOW)
    except OSError:
        return False
    try:
        fcntl.fcntl(descriptor, fcntl.F_SETLEASE, fcntl.F_RDLCK)
        fcntl.fcntl(descriptor, fcntl.F_SETLEASE, fcntl.F_UNLCK)
    except OSError as error:
        return error.errno == errno.EAGAIN
    finally:
        os.close(descriptor)
    return False


def _lease_signal_is_harmless() -> bool:
    """A writer that meets our lease makes the kernel send SIGIO, which would end this process."""
    if signal.getsignal(signal.SIGIO) is signal.SIG_DFL:
        if threading.current_thread() is not threading.main_thread():
            return False
        signal.signal(signal.SIGIO, signal.SIG_IGN)
    return True
