"""How the C library shares memory out among the threads of the service."""

from __future__ import annotations

import ctypes
import sys

# The parameter's number in glibc's <malloc.h>.
_M_ARENA_MAX = -8


def bound_arenas(count: int = 2) -> bool:
    """Bound the arenas that glibc keeps for this process; without glibc nothing is done.

    Each load fits in new threads. By default glibc spreads them over up to eight arenas a
    processor, each of which keeps what it once needed: over some thousand exports the service
    would grow by an eighth, with nothing held. Two threads that fit fill two arenas.

    Parameters
    ----------
    count : int
        Largest number of arenas.

    Returns
    -------
    bool
        Whether the C library took it.

    References
    ----------
    mallopt(3), Linux manual pages: M_ARENA_MAX.
    """
    if not sys.platform.startswith("linux"):
        return False
    mallopt = getattr(ctypes.CDLL(None), "mallopt", None)
    if mallopt is None:
        return False
    mallopt.argtypes, mallopt.restype = (ctypes.c_int, ctypes.c_int), ctypes.c_int
    return bool(mallopt(_M_ARENA_MAX, count))
