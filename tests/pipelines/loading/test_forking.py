"""The helper from which readers are forked, started by several threads at once."""

from __future__ import annotations

import os
import threading
from contextlib import suppress
from multiprocessing import resource_tracker

import pytest
from rangeledger.pipelines.loading import forking, inbox
from rangeledger.pipelines.loading.readers import Readers
from rangeledger.pipelines.running import ledger
from rangeledger.warehouse.home import Home

from tests.exports_text import seven_irons


def test_threads_that_start_the_helper_together_wait_for_each_other(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("PYTHONWARNINGS", "default")
    together, within, most, faults = threading.Barrier(2), [0], [0], list[BaseException]()

    def begin() -> None:
        within[0] += 1
        most[0] = max(most[0], within[0])
        with suppress(threading.BrokenBarrierError):
            together.wait(0.5)  # passed by two that are here at a time, broken by one alone
        within[0] -= 1

    def start() -> None:
        try:
            forking.start_helper()
        except BaseException as error:  # noqa: BLE001  it is what this looks for
            faults.append(error)

    monkeypatch.setattr(resource_tracker, "ensure_running", begin)
    threads = [threading.Thread(target=start) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert (most[0], faults) == (1, [])
    assert os.environ["PYTHONWARNINGS"] == "default"


def test_a_reader_that_cannot_be_started_for_any_reason_leaves_the_export_for_later(
    home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fault() -> None:
        raise KeyError("of another's making")

    monkeypatch.setattr("rangeledger.pipelines.loading.reading_partner.start_helper", fault)
    (home.inbox / "a.csv").write_text(seven_irons("a.csv"))
    with Readers(home) as readers:
        (outcome,) = ledger.load_plainly(home, inbox.waiting(home), readers)
    assert outcome.left
    assert "of another's making" in outcome.reason
    assert (home.inbox / "a.csv").exists()
