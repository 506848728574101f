"""Long work done in a second thread while the caller goes on."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import lru_cache
from typing import TypeVar

Result = TypeVar("Result")


def run_in_background(work: Callable[[], Result], *, long: bool) -> Callable[[], Result]:
    """Begin some work, and give the function that waits for its result.

    Parameters
    ----------
    work : callable
        Must let other threads run, as hashing and polars do, and touch nothing of the caller's.
    long : bool
        Whether it is worth a thread; short work is done at once.

    Returns
    -------
    callable
        Returns the result, or raises what the work raised.
    """
    if not long:
        result = work()
        return lambda: result
    return _thread().submit(work).result


@lru_cache(maxsize=1)
def _thread() -> ThreadPoolExecutor:
    """One thread for the process."""
    return ThreadPoolExecutor(max_workers=1, thread_name_prefix="background")


if hasattr(os, "register_at_fork"):
    # A forked child has none of the pool's threads and would wait for them for ever.
    os.register_at_fork(after_in_child=_thread.cache_clear)
