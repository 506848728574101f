"""The helper process from which processes are forked that read exports or fit players.

It has imported the reader and started no threads of its own.
"""

from __future__ import annotations

import multiprocessing
import os
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing import forkserver
from types import ModuleType

FORKING = multiprocessing.get_context("forkserver")
FORKING.set_forkserver_preload(["rangeledger.pipelines.loading.before_forking"])
_without_main = threading.Lock()


def start_helper() -> None:
    """Start the helper, if it does not run, so that it imports while this process does."""
    forkserver.ensure_running()


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
