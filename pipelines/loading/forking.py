"""The helper process from which processes are forked that read exports or fit players.

It has imported the reader and started no threads of its own.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing import forkserver, resource_tracker
from types import ModuleType

FORKING = multiprocessing.get_context("forkserver")
FORKING.set_forkserver_preload(["rangeledger.pipelines.loading.before_forking"])
_starting = threading.Lock()
_without_main = threading.Lock()


def start_helper() -> None:
    """Start the helper, if it does not run, so that it imports while this process does.

    Neither it nor what is forked from it hears an interrupt from the terminal, which is for this
    process: it ends them. Threads that ask for it together start it once.
    """
    with _starting:
        _start_tracker()  # the helper would start it, and hear interrupts again
        former = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
        try:
            forkserver.ensure_running()
        finally:
            signal.pthread_sigmask(signal.SIG_SETMASK, former)


def _start_tracker() -> None:
    """Start the process that clears up what this one leaves when killed, without a word."""
    former = os.environ.get("PYTHONWARNINGS")
    os.environ["PYTHONWARNINGS"] = ",".join(filter(None, (former, "ignore:resource_tracker")))
    try:
        resource_tracker.ensure_running()
    finally:
        del os.environ["PYTHONWARNINGS"]
        if former is not None:
            os.environ["PYTHONWARNINGS"] = former


@contextmanager
def no_main_module() -> Iterator[None]:
    """Keep a new process from running the script of this one again, as it otherwise would."""
    with _without_main:
        main = sys.modules["__main__"]
        sys.modules["__main__"] = ModuleType("__main__")
        try:
            yield
        finally:
            sys.modules["__main__"] = main


def end_with_parent() -> None:
    """Have this process, which was forked from the helper, end with the one that asked for it."""
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
