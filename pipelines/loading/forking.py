"""The helper process from which processes that read exports are forked.

It has imported the reader and started no threads of its own.
"""

from __future__ import annotations

import multiprocessing
from multiprocessing import forkserver

FORKING = multiprocessing.get_context("forkserver")
FORKING.set_forkserver_preload(["rangeledger.pipelines.loading.before_forking"])


def start_helper() -> None:
    """Start the helper, if it does not run, so that it imports while this process does."""
    forkserver.ensure_running()
