from __future__ import annotations

import multiprocessing
import os
import signal
from multiprocessing.connection import Connection
from pathlib import Path

import pytest
from rangeledger.schemas.errors import BusyError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.writer_lock import writer_lock


def _hold(root: Path, pipe: Connection) -> None:
    with writer_lock(Home(root)):
        pipe.send(os.getpid())
        pipe.recv()


def test_a_second_process_waits_is_told_who_and_a_killed_holder_frees_the_lock(home: Home) -> None:
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe()
    holder = context.Process(target=_hold, args=(home.root, theirs))
    holder.start()
    number = ours.recv()
    told: list[str] = []
    with (
        pytest.raises(BusyError, match=f"process \\(number {number}\\)"),
        writer_lock(home, wait_s=0.2, on_wait=told.append),
    ):
        pass
    assert told == [str(number)]
    os.kill(number, signal.SIGKILL)
    holder.join()
    with writer_lock(home, wait_s=5.0):
        assert home.lock.read_text() == str(os.getpid())
    ours.close()
    theirs.close()
