"""The command itself, as a process: killed, started again, asked twice, told to stop."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from rangeledger.pipelines.running.engine import running_server
from rangeledger.pipelines.service.presence import service_of
from rangeledger.warehouse.database import query
from rangeledger.warehouse.home import Home

from tests.exports_text import seven_irons
from tests.pipelines.backlog import put_many
from tests.pipelines.service.running import drop, logged, wait_until
from tests.services.flow_engine import SharedEngine

pytestmark = [pytest.mark.slow, pytest.mark.prefect]


def command(home: Home, *words: str | Path) -> list[str]:
    return [sys.executable, "-m", "rangeledger", "--home", str(home.root), *map(str, words)]


def start(home: Home) -> subprocess.Popen[bytes]:
    return subprocess.Popen(command(home, "watch", "--quiet", "--rescan-s", "1"))


def is_running(pid: int) -> bool:
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except OSError:
        return False
    return state != "Z"


def children(pid: int) -> list[int]:
    told = [file.read_text() for file in Path(f"/proc/{pid}/task").glob("*/children")]
    return [int(number) for line in told for number in line.split()]


def engine_of(watch: subprocess.Popen[bytes]) -> int:
    (engine,) = [pid for pid in children(watch.pid)
                 if _runs(pid, "rangeledger.pipelines.running.engine_server")]  # fmt: skip
    return engine


def test_killed_on_the_way_asked_twice_and_bereft_of_its_engine_it_goes_on_until_told_to_stop(
    home: Home, tmp_path: Path, request: pytest.FixtureRequest, shared_engine: SharedEngine
) -> None:
    """One life, as to start takes most of the time."""
    shared_engine.begin(home)
    put_many(home, 12)
    first = start(home)
    wait_until(lambda: len(list(home.inbox.iterdir())) < 12)
    engines = children(first.pid)
    first.send_signal(signal.SIGKILL)
    first.wait()
    wait_until(lambda: not any(map(is_running, engines)))
    assert engines
    assert service_of(home) is None

    watch = start(home)
    request.addfinalizer(watch.wait)
    request.addfinalizer(watch.kill)
    wait_until(lambda: len(logged(home)) == 12)
    wait_until(lambda: running_server(home) is not None)
    is_told_that_it_runs_and_takes_what_is_offered(home, watch, tmp_path)
    goes_on_with_another_engine(home, watch)
    stops_beside_an_engine_that_hangs(home, watch)


def is_told_that_it_runs_and_takes_what_is_offered(
    home: Home, watch: subprocess.Popen[bytes], tmp_path: Path
) -> None:
    refused = subprocess.run(command(home, "watch"), capture_output=True, text=True, check=False)
    assert refused.returncode == 3
    assert f"watched already by process {watch.pid}" in refused.stderr
    assert "Traceback" not in refused.stderr

    export = tmp_path / "visit.csv"
    export.write_text(seven_irons("Offered Beside"))
    beside = subprocess.run(command(home, "ingest", export), capture_output=True, check=False)
    assert beside.returncode == 0
    drop(home, "late.csv", seven_irons("Dropped Late"))
    wait_until(lambda: {"visit.csv", "late.csv"} <= set(logged(home)))
    wait_until(lambda: list(home.inbox.iterdir()) == [])
    states = query(home, "SELECT state, count(*) FROM ingest_log GROUP BY ALL").rows()
    assert dict(states) == {"loaded": 13, "quarantined": 1}
    assert query(home, "SELECT count(*) FROM shots").item() == 13 * 6


def goes_on_with_another_engine(home: Home, watch: subprocess.Popen[bytes]) -> None:
    os.kill(engine_of(watch), signal.SIGKILL)
    drop(home, "a.csv", seven_irons())
    wait_until(lambda: logged(home).get("a.csv") == "loaded")
    assert "is started again" in (home.logs / "service.log").read_text()
    wait_until(lambda: running_server(home) is not None)


def stops_beside_an_engine_that_hangs(home: Home, watch: subprocess.Popen[bytes]) -> None:
    engine = engine_of(watch)
    os.kill(engine, signal.SIGSTOP)
    drop(home, "b.csv", seven_irons(day="2026-06-01"))
    wait_until(lambda: "loading" in (home.state / "service.json").read_text())
    watch.send_signal(signal.SIGTERM)
    assert watch.wait(timeout=60) == 0  # without this the engine, which stands still, would hold it
    log = (home.logs / "service.log").read_text()
    assert "told to stop (SIGTERM)" in log
    assert "stopped" in log.splitlines()[-1]
    assert service_of(home) is None
    assert not (home.state / "engine.json").exists()
    wait_until(lambda: not is_running(engine))
    assert (home.inbox / "b.csv").exists() or "b.csv" in logged(home)


def _runs(pid: int, module: str) -> bool:
    return module in Path(f"/proc/{pid}/cmdline").read_text()
