"""Ending a process."""

from __future__ import annotations

import atexit
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, NoReturn

INTERRUPTED = "Interrupted. What was loaded so far stays; run the same command again."
_STATUS = 3  # the machine refused, or somebody at it
_CURSOR = "\x1b[?25h"  # shows it again (ECMA-48 private mode 25, as terminals have it)


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


@contextmanager
def ended_by_interrupt() -> Iterator[None]:
    """Have an interrupt from the terminal end this process at once, with a sentence.

    Loads may be ended anywhere. An exception, as Python has it, may be swallowed where it comes
    amid an import or in a library; the load then goes on, or stands still for ever since the lock
    of all imports is kept.
    """
    main = threading.current_thread() is threading.main_thread()
    if not main or signal.getsignal(signal.SIGINT) is not signal.default_int_handler:
        yield
        return
    signal.signal(signal.SIGINT, _end_interrupted)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, signal.default_int_handler)


def _end_interrupted(*_: object) -> None:
    shown = _CURSOR if sys.stderr.isatty() else ""
    os.write(2, f"{shown}rangeledger: {INTERRUPTED}\n".encode())
    os._exit(_STATUS)
