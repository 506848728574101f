"""Exports read by the workers of a scheduler, and what becomes of them when those are lost."""

from __future__ import annotations

import threading
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest
from rangeledger.pipelines.loading import far_partner, inbox
from rangeledger.pipelines.loading.readers import Readers
from rangeledger.pipelines.loading.reading_limits import Limits
from rangeledger.pipelines.running import ledger
from rangeledger.pipelines.spreading.cluster import Cluster
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.opening import open_home
from rangeledger.warehouse.settings import read_settings
from rangeledger.warehouse.spread_settings import SpreadSettings

from tests.exports_text import MAPPING, seven_irons
from tests.pipelines.backlog import put_backlog
from tests.pipelines.bad_reading import read_badly
from tests.pipelines.killing import contents, different
from tests.pipelines.reader.recognising.words.test_mapping_file import TEXT
from tests.pipelines.service.running import wait_until
from tests.services.dask_cluster import SharedDaskCluster, running_cluster
from tests.services.service import Service

pytestmark = pytest.mark.fleet
MIB = 2**20
QUICK = Limits(seconds=1.0, seconds_per_mib=0.0, memory=500 * MIB, memory_per_byte=0)


@pytest.fixture
def cluster(dask_cluster: SharedDaskCluster) -> Iterator[Cluster]:
    found = Cluster(SpreadSettings(dask_cluster.address), [].append)
    yield found
    found.close()


def put(home: Home, *names: str) -> None:
    for name in names:
        (home.inbox / name).write_text(seven_irons(name))


def test_read_by_workers_a_backlog_gives_what_it_gives_here(
    home: Home, tmp_path: Path, cluster: Cluster
) -> None:
    here = open_home(Home(tmp_path / "here"))
    for each in (home, here):
        put_backlog(each)
        each.settings_file.write_text('zone = "Asia/Kolkata"\nsite = "North range"\n')
    ledger.load_plainly(here, inbox.waiting(here))
    ledger.complete(here)
    with Readers(home, cluster=cluster) as readers:
        readers.expect(read_settings(home).reading, inbox.waiting(home))
        ledger.load_plainly(home, inbox.waiting(home), readers)
    with home.settings_file.open("a") as settings:
        settings.write(f'[spread]\nscheduler = "{cluster.address}"\n')
    ledger.complete(home)
    assert cluster.trouble == ""
    assert different(contents(here.root), contents(home.root)) == []


def test_a_workers_zone_is_not_taken_for_ours(
    home: Home, cluster: Cluster, monkeypatch: pytest.MonkeyPatch
) -> None:
    from zoneinfo import ZoneInfo

    from rangeledger.pipelines.loading import carried

    monkeypatch.setattr(carried, "machine_zone", lambda: ZoneInfo("Asia/Kolkata"))
    put(home, "a.csv")
    with Readers(home, cluster=cluster) as readers:
        found = readers.read(None, inbox.waiting(home)[0]).export
    assert found is not None
    assert str(found.shots["struck_at"].min()).startswith("2026-05-02 03:30:00")  # 09:00 at +05:30


def test_heading_maps_go_with_an_export(home: Home, cluster: Cluster) -> None:
    (home.inbox / "own.csv").write_text(TEXT)
    (offered,) = inbox.waiting(home)
    with Readers(home, cluster=cluster) as readers:
        before = readers.read(None, offered)
        (home.mappings / "own.toml").write_text(MAPPING)
        readers.expect(None, [])
        after = readers.read(None, offered)
    assert before.refusal is not None
    assert after.export is not None
    assert after.export.mapping_name == "own.toml"


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("kills.csv", "twice ended the process that reads exports (SIGSEGV)"),
        ("faulty.csv", "met a fault of its own"),
    ],
)
def test_a_bad_export_ends_a_workers_child_and_no_worker(
    home: Home, cluster: Cluster, dask_cluster: SharedDaskCluster, name: str, words: str
) -> None:
    put(home, "a.csv", name, "z.csv")
    with Readers(home, read=read_badly, cluster=cluster) as readers:
        readers.expect(None, inbox.waiting(home))
        outcomes = ledger.load_plainly(home, inbox.waiting(home), readers)
    reasons = {o.offered.file_name: o.reason for o in outcomes}
    assert words in reasons.pop(name)
    assert set(reasons.values()) == {""}
    assert cluster.trouble == ""
    assert all(Path(f"/proc/{worker.pid}").exists() for worker in dask_cluster.workers)
    if name == "faulty.csv":
        assert "ZeroDivisionError" in (home.logs / "faults.log").read_text()
        assert str(home.logs / "faults.log") in (home.quarantine / f"{name}.reason.txt").read_text()


def test_an_export_without_end_is_ended_by_its_worker(home: Home, cluster: Cluster) -> None:
    put(home, "loops.csv")
    with Readers(home, limits=QUICK, read=read_badly, cluster=cluster) as readers:
        refusal = readers.read(None, inbox.waiting(home)[0]).refusal
    assert "took over 1 s and was ended" in str(refusal)
    assert cluster.trouble == ""


def test_what_is_too_large_to_send_is_read_here(
    home: Home, cluster: Cluster, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(far_partner, "LARGE", 100)
    monkeypatch.setattr(far_partner, "carry", None)
    put(home, "a.csv")
    with Readers(home, cluster=cluster) as readers:
        found = readers.read(None, inbox.waiting(home)[0]).export
    assert found is not None
    assert found.shots.height == 6


def test_a_link_is_refused_as_it_is_here(home: Home, tmp_path: Path, cluster: Cluster) -> None:
    (tmp_path / "elsewhere.csv").write_text(seven_irons())
    (home.inbox / "link.csv").symlink_to(tmp_path / "elsewhere.csv")
    with Readers(home, cluster=cluster) as readers:
        refusal = readers.read(None, inbox.waiting(home)[0]).refusal
    assert "is a link" in str(refusal)


def test_closed_while_an_export_hangs_at_a_worker_nobody_waits(
    home: Home, cluster: Cluster
) -> None:
    put(home, "hangs.csv")
    (offered,) = inbox.waiting(home)
    found = []
    with Readers(home, limits=QUICK, read=read_badly, cluster=cluster) as readers:
        thread = threading.Thread(target=lambda: found.append(readers.read(None, offered)))
        thread.start()
        wait_until(lambda: any(partner.is_busy for partner in readers.partners))
    thread.join(20.0)
    assert [one.left_because for one in found] == ["Reading was ended."]


def assert_nothing_is_lost(home: Home, cluster: Cluster, lost: Sequence[Service]) -> None:
    """Load six exports whose readers are killed once the first is read."""
    with Readers(home, cluster=cluster) as readers:
        waiting = inbox.waiting(home)
        readers.expect(None, waiting)
        readers.read(None, waiting[0])
        for one in lost:
            one.kill()
        outcomes = ledger.load_plainly(home, waiting, readers)
    cluster.close()
    assert {o.reason for o in outcomes} == {""}
    assert sum(o.shot_count for o in outcomes) == 36


def test_a_killed_worker_and_then_a_lost_scheduler_cost_no_export(
    home: Home, tmp_path: Path
) -> None:
    told: list[str] = []
    with running_cluster(tmp_path) as dask:
        put(home, *(f"{number:02d}.csv" for number in range(6)))
        cluster = Cluster(SpreadSettings(dask.address), told.append)
        assert_nothing_is_lost(home, cluster, dask.workers[:1])
        assert cluster.trouble == ""
        put(home, *(f"{number:02d}.csv" for number in range(6, 12)))
        cluster = Cluster(SpreadSettings(dask.address), told.append)
        assert_nothing_is_lost(home, cluster, [dask.scheduler, *dask.workers[1:]])
    assert f"The scheduler at {dask.address} was lost; the work is done here meanwhile." in told
