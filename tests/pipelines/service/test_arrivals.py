from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from rangeledger.pipelines.service.arrivals import Arrival, Arrivals

from tests.pipelines.service.running import wait_until

pytestmark = pytest.mark.skipif(
    not sys.platform.startswith("linux"), reason="only Linux tells of files that are closed"
)


@pytest.fixture
def arrivals(tmp_path: Path) -> Iterator[Arrivals]:
    watching = Arrivals(tmp_path, lambda: None)
    watching.start()
    yield watching
    watching.stop()


def test_what_the_kernel_tells_of_a_file_is_known(arrivals: Arrivals, tmp_path: Path) -> None:
    """inotify(7): IN_MODIFY, IN_CLOSE_WRITE, IN_MOVED_TO."""
    path = tmp_path / "s.csv"
    with path.open("w") as stream:
        stream.write("a,b")
        stream.flush()
        wait_until(lambda: arrivals.of(path) is Arrival.WRITTEN)
    wait_until(lambda: arrivals.of(path) is Arrival.CLOSED)
    other = tmp_path / "t.csv"
    path.rename(other)
    wait_until(lambda: arrivals.of(other) is Arrival.COMPLETE)
    linked = tmp_path / "u.csv"
    os.link(other, linked)
    wait_until(lambda: arrivals.of(linked) is Arrival.COMPLETE)
    with other.open("a") as stream:
        stream.write("c")
    wait_until(lambda: arrivals.of(other) is Arrival.CLOSED)


def test_files_in_a_folder_that_is_new_are_known_too(arrivals: Arrivals, tmp_path: Path) -> None:
    (tmp_path / "deep").mkdir()
    path = tmp_path / "deep" / "s.csv"
    wait_until(lambda: _written_is_told(arrivals, path))
    beside = tmp_path / "part"
    beside.write_text("a")
    beside.rename(path)
    wait_until(lambda: arrivals.of(path) is Arrival.COMPLETE)


def _written_is_told(arrivals: Arrivals, path: Path) -> bool:
    path.write_text("a")
    return arrivals.of(path) is Arrival.CLOSED
