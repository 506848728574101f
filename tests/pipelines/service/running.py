"""A service in a thread of the test, and waiting for what it does."""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from rangeledger.pipelines.service import settling
from rangeledger.pipelines.service.presence import sole_service
from rangeledger.pipelines.service.service import Rhythm, Service
from rangeledger.warehouse.database import query
from rangeledger.warehouse.home import Home

LIMIT_S = 120.0
_answered: dict[str, tuple[Any, ...]] = {}


class NoEngine:
    """The tests' one Prefect server does not end."""

    def __init__(self) -> None:
        self.ended = False

    def had_ended(self) -> bool:
        ended, self.ended = self.ended, False
        return ended


def wait_until(true: Callable[[], bool]) -> None:
    """Wait for something to become true; fails after a generous limit."""
    deadline = time.monotonic() + LIMIT_S
    while not true():
        assert time.monotonic() < deadline, "it did not come about"
        time.sleep(0.02)


def logged(home: Home) -> dict[str, str]:
    """State by file name in the published ingest log."""
    return dict(published_rows(home, "SELECT file_name, state FROM ingest_log"))


def shot_count(home: Home) -> int:
    """How many shots count in what is published."""
    return int(published_rows(home, "SELECT count(*) FROM shots")[0][0])


def published_rows(home: Home, sql: str) -> list[tuple[Any, ...]]:
    """Answer of the published database, asked anew only when another was put in its place.

    To open one takes as much of a processor as a load has meanwhile, if it is done again and again.
    """
    if not home.database.exists():
        return []
    there = home.database.stat()
    asked = (home.database, there.st_ino, there.st_mtime_ns, sql)
    if _answered.get(sql, ())[:1] != (asked,):
        _answered[sql] = (asked, query(home, sql).rows())
    return _answered[sql][1]


def messages(home: Home) -> str:
    """What the service under test logged."""
    path = home.logs / "test.log"
    return path.read_text() if path.exists() else ""


@contextmanager
def running_service(
    home: Home, settle_s: float = 0.1, rescan_s: float = 0.3, patient_s: float = 1.0
) -> Iterator[Service]:
    """Run a service in a thread until the block ends, begun when it sees what is dropped.

    `patient_s` is how long a file rests that nobody has told to be whole [s].
    """
    log = logging.getLogger(f"test.{home.root}")
    handler = logging.FileHandler(home.logs / "test.log")
    log.addHandler(handler)
    log.setLevel(logging.INFO)
    with pytest.MonkeyPatch.context() as patch, sole_service(home) as presence:
        patch.setattr(settling, "PATIENT_S", patient_s)
        service = Service(home, presence, NoEngine(), log, Rhythm(settle_s, rescan_s))
        thread = threading.Thread(target=service.run)
        thread.start()
        try:
            wait_until(lambda: service.presence.doing != "starting")
            yield service
        finally:
            service.stop()
            thread.join(LIMIT_S)
            log.removeHandler(handler)
            handler.close()
    assert not thread.is_alive()


def drop(home: Home, name: str, text: str) -> Path:
    """Drop an export into the inbox by rename, as a careful program would."""
    unfinished = home.inbox / f"{name}.part"
    unfinished.write_text(text)
    return unfinished.rename(home.inbox / name)
