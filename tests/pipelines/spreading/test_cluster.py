"""Workers that answer, that are lost, and that must not be taken."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from dataclasses import replace
from pathlib import Path

import pytest
from rangeledger.pipelines.spreading import cluster as spreading
from rangeledger.pipelines.spreading.build import this_build
from rangeledger.pipelines.spreading.cluster import Cluster, NotHereError, cluster_of
from rangeledger.warehouse.spread_settings import SpreadSettings

from tests.pipelines.service.running import wait_until
from tests.services.certificates import make_certificates
from tests.services.dask_cluster import SharedDaskCluster, running_cluster
from tests.services.service import free_port

pytestmark = pytest.mark.fleet


class Told(list[str]):
    """A cluster under test and what it told."""

    def cluster(self, address: str, **files: Path) -> Cluster:
        return Cluster(SpreadSettings(address, **files), self.append)


@pytest.fixture
def told() -> Told:
    return Told()


def test_a_call_is_made_by_a_worker(dask_cluster: SharedDaskCluster, told: Told) -> None:
    cluster = told.cluster(dask_cluster.address)
    assert cluster.begin(os.getpid).answer(60.0) in {w.pid for w in dask_cluster.workers}
    assert cluster.begin(divmod, 17, 5).answer(60.0) == (3, 2)
    assert cluster.places() == 4
    assert told == [f"Reading and fitting by 2 workers at {dask_cluster.address}."]
    cluster.close()


def test_a_call_that_fails_is_the_callers_and_the_workers_stay(
    dask_cluster: SharedDaskCluster, told: Told
) -> None:
    cluster = told.cluster(dask_cluster.address)
    with pytest.raises(NotHereError, match="division"):
        cluster.begin(divmod, 1, 0).answer(60.0)
    assert cluster.begin(divmod, 17, 5).answer(60.0) == (3, 2)
    assert cluster.trouble == ""
    cluster.close()


def test_without_a_scheduler_it_says_so_once(told: Told, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(spreading, "_CONNECT_S", 1.0)
    cluster = told.cluster(f"tcp://127.0.0.1:{free_port()}")
    for _ in range(3):
        with pytest.raises(NotHereError):
            cluster.begin(os.getpid)
    assert cluster.places() == 2
    (sentence,) = told
    assert f"The scheduler at {cluster.address} can't be reached" in sentence
    assert sentence.endswith("; the work is done here meanwhile.")


def test_without_dask_it_names_the_extra(told: Told, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    assert not told.cluster("tcp://127.0.0.1:8786").is_there()
    assert "pip install 'rangeledger[fleet]'" in told[0]


def test_a_lost_scheduler_is_told_and_found_again(
    tmp_path: Path, told: Told, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(spreading, "_RETRY_S", 0.0)
    with running_cluster(tmp_path, workers=1) as dask:
        cluster = told.cluster(dask.address)
        question = cluster.begin(time.sleep, 600.0)
        threading.Timer(0.5, dask.scheduler.kill).start()
        with pytest.raises(NotHereError, match="was lost"):
            question.answer(600.0)
        assert cluster.trouble == f"The scheduler at {dask.address} was lost"
        dask.workers[0].kill()
        dask.scheduler.start()
        dask.workers[0].start()
        wait_until(cluster.is_there)
        assert cluster.begin(divmod, 17, 5).answer(60.0) == (3, 2)
        assert cluster.trouble == ""
        cluster.close()


def test_when_no_worker_is_left_nobody_waits_for_ever(
    tmp_path: Path, told: Told, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(spreading, "_POLL_S", 0.1)
    with running_cluster(tmp_path, workers=1) as dask:
        cluster = told.cluster(dask.address)
        question = cluster.begin(time.sleep, 600.0)
        dask.workers[0].kill()
        with pytest.raises(NotHereError):
            question.answer(600.0)
        assert cluster.trouble == f"No worker is left at {dask.address}"
        cluster.close()


def test_a_dropped_question_is_no_trouble(dask_cluster: SharedDaskCluster, told: Told) -> None:
    cluster = told.cluster(dask_cluster.address)
    question = cluster.begin(time.sleep, 1.0)
    threading.Timer(0.1, question.drop).start()
    with pytest.raises(NotHereError):
        question.answer(600.0)
    assert cluster.trouble == ""
    cluster.close()


def test_workers_of_another_build_are_refused_in_a_sentence(
    dask_cluster: SharedDaskCluster, told: Told, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = replace(this_build(), code="another")
    monkeypatch.setattr(spreading, "this_build", lambda: other)
    assert not told.cluster(dask_cluster.address).is_there()
    assert told == [
        f"The scheduler at {dask_cluster.address} has another release of rangeledger; install the "
        "same release on all machines; the work is done here meanwhile."
    ]


def test_a_worker_that_came_later_with_another_build_does_nothing(
    dask_cluster: SharedDaskCluster, told: Told, monkeypatch: pytest.MonkeyPatch
) -> None:
    cluster = told.cluster(dask_cluster.address)
    assert cluster.is_there()
    other = replace(this_build(), python="3.7")
    monkeypatch.setattr(spreading, "this_build", lambda: other)
    with pytest.raises(NotHereError):
        cluster.begin(os.getpid).answer(60.0)
    assert cluster.trouble.startswith("The worker tcp://127.0.0.1:")
    assert "in place of 3.7" in cluster.trouble


def test_a_worker_that_could_not_shield_itself_is_refused(tmp_path: Path, told: Told) -> None:
    with running_cluster(tmp_path, nanny=True, workers=1) as dask:
        assert not told.cluster(dask.address).is_there()
    assert "may start no processes" in told[0]
    assert "dask worker --no-nanny" in told[0]


def test_over_tls_only_who_has_a_certificate_is_served(tmp_path: Path, told: Told) -> None:
    ours = make_certificates(tmp_path / "ours")
    others = make_certificates(tmp_path / "others")
    with running_cluster(
        tmp_path, workers=1, protocol="tls",
        options=[
            "--tls-ca-file", str(ours.authority), "--tls-cert", str(ours.certificate),
            "--tls-key", str(ours.key),
        ],
    ) as dask:  # fmt: skip
        files = {"authority": ours.authority, "certificate": ours.certificate, "key": ours.key}
        cluster = told.cluster(dask.address, **files)
        assert cluster.begin(divmod, 17, 5).answer(60.0) == (3, 2)
        cluster.close()
        strangers = {
            "authority": ours.authority, "certificate": others.certificate, "key": others.key,
        }  # fmt: skip
        assert not told.cluster(dask.address, **strangers).is_there()
        assert not told.cluster(dask.address.replace("tls:", "tcp:")).is_there()
        assert not told.cluster(dask.address, **files | {"key": tmp_path / "none.pem"}).is_there()
    found, *refused = told
    assert found.startswith("Reading and fitting by 1 workers")
    assert all("can't be reached" in sentence for sentence in refused[:2])
    assert "none.pem, named under [spread], is missing" in refused[2]


def test_one_connection_serves_a_process(dask_cluster: SharedDaskCluster) -> None:
    settings = SpreadSettings(dask_cluster.address)
    assert cluster_of(None) is None
    assert cluster_of(settings) is cluster_of(replace(settings))


_SCRIPT = """
import sys
from rangeledger.pipelines.spreading.cluster import cluster_of
from rangeledger.warehouse.spread_settings import SpreadSettings
print(cluster_of(SpreadSettings(sys.argv[1])).begin(divmod, 17, 5).answer(60.0))
"""


def test_a_process_ends_without_a_word_and_without_waiting(dask_cluster: SharedDaskCluster) -> None:
    done = subprocess.run(
        [sys.executable, "-c", _SCRIPT, dask_cluster.address],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert done.stdout == "(3, 2)\n"
    assert done.stderr.splitlines() == [
        f"rangeledger: Reading and fitting by 2 workers at {dask_cluster.address}."
    ]
