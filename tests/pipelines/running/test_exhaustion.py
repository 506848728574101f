from __future__ import annotations

from pathlib import Path
from threading import Event

import pytest
from rangeledger.pipelines.loading import inbox
from rangeledger.pipelines.running import exhaustion, ledger
from rangeledger.pipelines.running.exhaustion import watched
from rangeledger.warehouse.database import query
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.system.memory import Memory, memory_now

from tests.exports_text import seven_irons

FREE, FULL = Memory(8000.0, 10000.0, 500.0), Memory(200.0, 10000.0, 9000.0)


@pytest.fixture(autouse=True)
def soon(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(exhaustion, "_POLL_S", 0.01)


def exhausted(home: Home, *names: str, later: Memory = FULL, seconds: float = 0.0) -> list[str]:
    """What is said where a load of some exports in the inbox meets such a machine."""
    batch = [one for one in inbox.waiting(home) if one.file_name in names]
    told, ended, times = [], Event(), iter([0.0])
    moments = iter([FREE])

    def end(sentence: str) -> None:
        told.append(sentence)
        ended.set()

    with watched(home, batch, end=end, memory=lambda: next(moments, later),
                 clock=lambda: next(times, seconds)):  # fmt: skip
        ended.wait(0.5)
    return told


def drop(home: Home, *names: str) -> None:
    for name in names:
        (home.inbox / name).write_text(seven_irons(name))


@pytest.mark.prefect
def test_an_export_that_was_alone_is_refused_at_the_next_start(flow_home: Home) -> None:
    drop(flow_home, "a.csv", "b.csv")
    (told,) = exhausted(flow_home, "a.csv")
    assert "Loading a.csv took nearly all memory" in told
    ledger.ingest(flow_home, inbox.waiting(flow_home))
    states = dict(query(flow_home, "SELECT file_name, state FROM ingest_log").rows())
    assert states == {"a.csv": "quarantined", "b.csv": "loaded"}
    reason = (flow_home.quarantine / "a.csv.reason.txt").read_text()
    assert "took nearly all memory of the machine and was ended" in reason
    (flow_home.quarantine / "a.csv").rename(flow_home.inbox / "a.csv")
    ledger.ingest(flow_home, inbox.waiting(flow_home))  # offered again it is tried again
    assert query(flow_home, "SELECT count(DISTINCT player) FROM shots").item() == 2


@pytest.mark.prefect
def test_of_several_each_is_loaded_by_itself(flow_home: Home) -> None:
    drop(flow_home, "a.csv", "b.csv", "c.csv")
    (told,) = exhausted(flow_home, "a.csv", "b.csv", later=FREE, seconds=1e6)
    assert "Loading 2 exports took too long" in told
    ledger.ingest(flow_home, inbox.waiting(flow_home))
    loads = query(flow_home, "SELECT count(DISTINCT offered_at) FROM ingest_log").item()
    assert loads == 3
    assert query(flow_home, "SELECT count(*) FROM shots").item() == 18


def test_memory_that_other_programs_take_refuses_nothing(home: Home) -> None:
    drop(home, "a.csv")
    assert exhausted(home, "a.csv", later=Memory(200.0, 10000.0, 600.0)) == []
    assert not (home.state / "exhausted.json").exists()


def test_the_memory_of_this_process_is_known(tmp_path: Path) -> None:
    """proc(5): resident pages of this process; a MiB more after taking a MiB."""
    before = memory_now()
    held = b"x" * (64 * 2**20)
    assert memory_now().own - before.own == pytest.approx(64.0, abs=16.0)
    assert 0.0 < before.left <= before.in_all
    del held
