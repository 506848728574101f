"""Processes that read the published database again and again while a service loads."""

from __future__ import annotations

import multiprocessing
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from multiprocessing.synchronize import Event
from pathlib import Path
from typing import Any

import duckdb
from rangeledger.warehouse.home import Home

# Each asks for shots three ways, which must agree, and for the loads.
OF_VIEWS = """
    SELECT (SELECT count(*) FROM shots),
           (SELECT coalesce(sum(shots - replaced), 0) FROM ingest_log),
           (SELECT coalesce(sum(shots), 0) FROM sessions), (SELECT count(*) FROM ledger.batches)"""
# A tenth of the work, where waiting is measured rather than processors that are shared.
OF_FITS = """
    SELECT (SELECT count(*) FROM ledger.shots),
           (SELECT coalesce(sum(shots), 0) FROM ingest_log),
           (SELECT coalesce(sum(shots), 0) FROM carry_by_club),
           (SELECT count(*) FROM ledger.batches)"""


@dataclass
class Seen:
    """What the readers met: faults, and how often they read how many publications."""

    faults: list[str] = field(default_factory=list)
    reads: int = 0
    publications: int = 0


def _read(root: str, stop: Event, told: Any, pause_s: float, asked: str) -> None:
    home, shots_before, reads, seen = Home(Path(root)), 0, 0, set[int]()
    while not stop.is_set():
        if not home.database.exists():
            time.sleep(0.01)
            continue
        try:
            with duckdb.connect(str(home.database), read_only=True) as connection:
                row = connection.execute(asked).fetchone()
        except duckdb.Error as error:
            told.put(f"error: {error}")
            continue
        assert row is not None
        shots, logged, summed, batches = row
        if not shots == logged == summed or shots < shots_before:
            told.put(f"torn or backwards: {row} after {shots_before}")
        shots_before, reads = shots, reads + 1
        seen.add(batches)
        time.sleep(pause_s)
    told.put((reads, len(seen)))


@contextmanager
def reading_beside(home: Home, count: int, pause_s: float, asked: str = OF_VIEWS) -> Iterator[Seen]:
    """Have some processes read until the block ends; afterwards says what they met."""
    context = multiprocessing.get_context("spawn")
    stop, told = context.Event(), context.Queue()
    processes = [
        context.Process(
            target=_read, args=(str(home.root), stop, told, pause_s, asked), daemon=True
        )
        for _ in range(count)
    ]
    seen = Seen()
    for process in processes:
        process.start()
    try:
        yield seen
    finally:
        stop.set()
        ended = 0
        while ended < count:
            word = told.get(timeout=60)
            if isinstance(word, str):
                seen.faults.append(word)
            else:
                ended += 1
                seen.reads += word[0]
                seen.publications = max(seen.publications, word[1])
        for process in processes:
            process.join()
