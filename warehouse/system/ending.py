"""Ending a process."""

from __future__ import annotations

import atexit
import os
import sys
import threading
from collections.abc import Callable
from typing import Any, NoReturn


def end_at_once(status: int, *, on_refusal: Callable[[OSError], int]) -> NoReturn:
    """End this process as at its usual end, but don't take apart all that it imported.

    That takes over a second after a load (measured), and the kernel takes the memory back anyway.
    Threads are waited for and what is registered for the end is done, as usual.

    Parameters
    ----------
    status : int
        Exit code.
    on_refusal : callable
        Told why standard output can't be written to the end; returns the exit code then. That its
        reader has gone, as `head` does, is no refusal.
    """
    _call(threading, "_shutdown")
    _call(atexit, "_run_exitfuncs")
    try:
        sys.stdout.flush()
    except BrokenPipeError:
        pass
    except OSError as error:
        status = on_refusal(error)
    try:
        sys.stderr.flush()
    finally:
        os._exit(status)


def _call(module: Any, name: str) -> None:
    """What the interpreter calls at its end; it has no public name."""
    function = getattr(module, name, None)
    if function is not None:
        function()
