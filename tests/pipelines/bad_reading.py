"""Readings of exports that go wrong by the export's name, for the processes that read."""

from __future__ import annotations

import os
import signal
import time

import pytest
from rangeledger.pipelines.loading.offered import Offered
from rangeledger.pipelines.loading.read_one import ReadResult, read_one
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.settings import ReadingDefaults


def read_badly(home: Home, defaults: ReadingDefaults | None, offered: Offered) -> ReadResult:
    """Read as always, except that some names kill, hang, or fill their process."""
    name = offered.file_name
    if name.startswith("kills"):
        os.kill(os.getpid(), signal.SIGSEGV)
    if name.startswith("once") and _first_time(home):
        os.kill(os.getpid(), signal.SIGKILL)
    if name.startswith("leaves"):
        os._exit(3)
    if name.startswith("hangs"):
        time.sleep(600)
    if name.startswith("loops"):
        while True:
            pass
    if name.startswith("fills"):
        filled = [bytes(range(256)) * 4096 for _ in range(600)]  # 600 MiB
        time.sleep(600 + len(filled))
    if name.startswith("faulty"):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr("rangeledger.pipelines.reader.prepare.prepare_export", _fault)
            return read_one(home, defaults, offered)
    return read_one(home, defaults, offered)


def _fault(*_: object, **__: object) -> None:
    raise ZeroDivisionError


def _first_time(home: Home) -> bool:
    mark = home.state / "read-before"
    if mark.exists():
        return False
    mark.touch()
    return True
