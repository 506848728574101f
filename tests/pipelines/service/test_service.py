from __future__ import annotations

import errno
import json
import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import polars as pl
import pytest
from rangeledger.pipelines.loading import inbox, load
from rangeledger.pipelines.loading.growing_files import PATIENT_S
from rangeledger.pipelines.main import app
from rangeledger.pipelines.running import ledger
from rangeledger.pipelines.running.engine import leave_word
from rangeledger.pipelines.running.ledger import load_plainly
from rangeledger.pipelines.service import handing_over
from rangeledger.pipelines.service.presence import sole_service, write_presence
from rangeledger.schemas.errors import StorageError
from rangeledger.warehouse import database
from rangeledger.warehouse.database import query
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.opening import open_home
from rangeledger.warehouse.publishing import publish
from typer.testing import CliRunner

from tests.exports_text import seven_irons
from tests.pipelines.backlog import put_many
from tests.pipelines.service.readers_beside import reading_beside
from tests.pipelines.service.running import (
    drop,
    logged,
    messages,
    running_service,
    shot_count,
    wait_until,
)
from tests.pipelines.service.slow_copies import CUTS, different, matrix

# The watcher's library keeps one thread for all services of a process and may meet, there, one that
# has stopped: what the services do is judged by what they load and log.
pytestmark = [
    pytest.mark.prefect,
    pytest.mark.filterwarnings(
        "ignore:Exception in thread:pytest.PytestUnhandledThreadExceptionWarning"
    ),
]


def inbox_is_empty(home: Home) -> bool:
    return not any(home.inbox.iterdir())


def test_a_backlog_is_worked_off_and_what_is_dropped_later_is_loaded(flow_home: Home) -> None:
    drop(flow_home, "before.csv", seven_irons())
    with running_service(flow_home) as service:
        wait_until(lambda: logged(flow_home) == {"before.csv": "loaded"})
        drop(flow_home, "later.csv", seven_irons(day="2026-05-09"))
        wait_until(lambda: "later.csv" in logged(flow_home))
        wait_until(lambda: inbox_is_empty(flow_home))
        wait_until(lambda: service.presence.loaded == 2)
    assert query(flow_home, "SELECT shots, sessions FROM carry_by_club").rows() == [(12, 2)]
    assert "loaded later.csv: 6 shots" in messages(flow_home)


def test_a_file_that_is_written_slowly_is_loaded_once_and_whole(flow_home: Home) -> None:
    with running_service(flow_home):
        with (flow_home.inbox / "slow.csv").open("w") as stream:
            for line in seven_irons().splitlines(keepends=True):
                stream.write(line)
                stream.flush()
                os.fsync(stream.fileno())
                time.sleep(0.04)
        wait_until(lambda: "slow.csv" in logged(flow_home))
    assert query(flow_home, "SELECT count(*) FROM shots").item() == 6


def test_copies_that_pause_are_loaded_whole_and_none_is_refused(
    flow_home: Home, tmp_path: Path
) -> None:
    """A short form; all of it: python -m tests.pipelines.service.slow_copies."""
    copies = matrix((0.3,), CUTS)
    assert different(flow_home, open_home(Home(tmp_path / "expected")), copies) == []
    assert list(flow_home.quarantine.iterdir()) == []


def test_a_shorter_version_that_was_read_is_replaced_by_the_longer_one(flow_home: Home) -> None:
    lines = seven_irons().splitlines(keepends=True)
    path = flow_home.inbox / "s.csv"
    with running_service(flow_home, patient_s=PATIENT_S) as service:
        wait_until(lambda: service.presence.doing == "watching")
        path.write_text("".join(lines[:4]))
        wait_until(lambda: "s.csv" in logged(flow_home))
        assert query(flow_home, "SELECT count(*) FROM shots").item() == 3
        with path.open("a") as stream:
            stream.writelines(lines[4:])
        wait_until(lambda: shot_count(flow_home) == 6)
        wait_until(lambda: inbox_is_empty(flow_home))
    states = query(flow_home, "SELECT state, shots FROM ingest_log ORDER BY ALL").rows()
    assert states == [("loaded", 3), ("loaded", 6)]
    assert len(list(flow_home.archive.rglob("*.csv"))) == 2


def test_what_lingers_in_the_inbox_is_not_loaded_again_after_a_restart(flow_home: Home) -> None:
    path = flow_home.inbox / "s.csv"
    with running_service(flow_home):
        path.write_text(seven_irons())
        wait_until(lambda: "s.csv" in logged(flow_home))
    assert inbox.lying(flow_home) == [] or inbox.waiting(flow_home) == []
    with running_service(flow_home):
        wait_until(lambda: inbox_is_empty(flow_home))
    assert query(flow_home, "SELECT state FROM ingest_log").rows() == [("loaded",)]


def test_what_a_command_offers_the_service_loads_and_tells_the_same(
    flow_home: Home, flow_engine: str, tmp_path: Path
) -> None:
    texts = {
        "a.csv": seven_irons(),
        "b.csv": seven_irons("Bo Lind").replace("110.0,17.6", "910.0,17.6"),
        "c.csv": "nothing of the kind\n",
    }
    files = [tmp_path / name for name in texts]
    for file in files:
        file.write_text(texts[file.name])
    words = ["ingest", "--format", "json", *map(str, files)]
    beside = open_home(Home(tmp_path / "beside"))
    leave_word(beside, flow_engine)
    expected = CliRunner().invoke(app, ["--home", str(beside.root), *words])
    with running_service(flow_home) as service:
        wait_until(lambda: service.presence.doing == "watching")
        answer = CliRunner().invoke(app, ["--home", str(flow_home.root), *words])
        again = CliRunner().invoke(app, ["--home", str(flow_home.root), *words[:-2]])
        wait_until(lambda: service.presence.loaded == 4)
    assert json.loads(answer.stdout) == json.loads(expected.stdout)
    assert answer.stderr.replace(str(flow_home.root), str(beside.root)) == expected.stderr
    assert (answer.exit_code, again.exit_code) == (1, 0)
    assert [row["state"] for row in json.loads(again.stdout)] == ["duplicate"]
    assert inbox_is_empty(flow_home)
    assert not any((flow_home.state / "asked").iterdir())


def test_a_command_asks_the_service_before_it_imports_anything_heavy(
    home: Home, tmp_path: Path
) -> None:
    (tmp_path / "s.csv").write_text(seven_irons())
    words = ["--home", str(home.root), "ingest", str(tmp_path / "s.csv")]
    code = (
        "import sys\n"
        "from rangeledger.pipelines.main import app\n"
        "from rangeledger.pipelines.service import handing_over\n"
        "def tell(*_): sys.exit(str(sorted(heavy & set(sys.modules))))\n"
        "heavy = {'polars', 'numpy', 'duckdb', 'pyarrow', 'rich', 'numba', 'scipy', 'prefect'}\n"
        "handing_over.write_atomically = tell\n"
        f"app({words!r}, standalone_mode=False)\n"
    )
    with sole_service(home) as presence:
        presence.doing = "watching"
        write_presence(home, presence)
        asked = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert asked.stderr.strip() == "[]"


def test_what_tells_of_a_load_that_replaced_nothing_imports_no_library_of_frames(
    home: Home,
) -> None:
    drop(home, "s.csv", seven_irons())
    load_plainly(home, inbox.waiting(home))
    publish(home)
    code = (
        "import sys\n"
        "from pathlib import Path\n"
        "from rangeledger.warehouse.counting.changes import replacements\n"
        "from rangeledger.warehouse.home import Home\n"
        "from rangeledger.warehouse.published import published\n"
        f"with published(Home(Path({str(home.root)!r}))) as connection:\n"
        "    assert replacements(connection, ['a' * 64]) == []\n"
        "print({'pandas', 'pyarrow', 'numpy'} & set(sys.modules))"
    )
    ran = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert ran.stdout.strip() == "set()"


def test_a_service_that_takes_no_request_leaves_the_work_to_the_command(
    home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(handing_over, "_UNTAKEN_S", 0.1)
    monkeypatch.setattr(handing_over, "_PRESENCE_POLL_S", 0.05)
    drop(home, "s.csv", seven_irons())
    offered = inbox.waiting(home)
    with sole_service(home) as presence:
        presence.doing = "watching"
        write_presence(home, presence)
        assert handing_over.hand_over(home, offered) is None
    assert handing_over.hand_over(home, offered) is None  # nobody is there at all
    assert [path.name for path in home.inbox.iterdir()] == ["s.csv"]


def test_a_note_dropped_a_moment_after_its_export_counts(flow_home: Home) -> None:
    text = "\n".join(line.split(",", 1)[1] for line in seven_irons().splitlines())
    with running_service(flow_home, settle_s=1.0):
        drop(flow_home, "s.csv", text)
        drop(flow_home, "s.toml", 'player = "Noted Name"\n')
        wait_until(lambda: "s.csv" in logged(flow_home))
        wait_until(lambda: inbox_is_empty(flow_home))
    assert query(flow_home, "SELECT DISTINCT player FROM shots").item() == "Noted Name"


def test_what_can_not_be_read_goes_to_quarantine_and_stops_nobody(flow_home: Home) -> None:
    with running_service(flow_home):
        drop(flow_home, "a.csv", "nothing of the kind")
        drop(flow_home, "b.csv", seven_irons())
        wait_until(lambda: set(logged(flow_home)) == {"a.csv", "b.csv"})
    assert logged(flow_home) == {"a.csv": "quarantined", "b.csv": "loaded"}
    assert (flow_home.quarantine / "a.csv.reason.txt").exists()
    assert "quarantined a.csv" in messages(flow_home)


def test_what_may_pass_is_tried_again_until_it_has(
    flow_home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    real, refused = load.lake.write_batch, []

    def full_disk(*words: object) -> None:
        if len(refused) < 2:
            refused.append(words)
            raise StorageError("The lake can't be written (No space left on device).")
        real(*words)

    monkeypatch.setattr(load.lake, "write_batch", full_disk)
    with running_service(flow_home) as service:
        drop(flow_home, "s.csv", seven_irons())
        wait_until(lambda: logged(flow_home) == {"s.csv": "loaded"})
        wait_until(lambda: service.presence.problem == "")
    assert messages(flow_home).count("No space left on device") == 1
    assert "working again" in messages(flow_home)


def test_an_export_that_makes_the_load_fail_is_found_and_quarantined(
    flow_home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = load.judge

    def fails_on_the_bad_one(shots: pl.DataFrame) -> Any:
        if "bad" in shots["player"]:
            raise ZeroDivisionError("a fault of the program")
        return real(shots)

    monkeypatch.setattr(load, "judge", fails_on_the_bad_one)
    for name in ("a", "bad", "c"):
        drop(flow_home, f"{name}.csv", seven_irons(player=name))
    with running_service(flow_home):
        wait_until(lambda: len(logged(flow_home)) == 3)
    assert logged(flow_home) == {"a.csv": "loaded", "bad.csv": "quarantined", "c.csv": "loaded"}
    assert "ZeroDivisionError" in (flow_home.logs / "faults.log").read_text()


def test_an_engine_that_ended_is_no_fault_of_the_exports(
    flow_home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    real, calls = ledger.load_batch, []

    def engine_ends(*words: object, **named: object) -> object:
        calls.append(words)
        if len(calls) == 1:
            service.engine.ended = True
            raise ConnectionError("nobody answers")
        return real(*words, **named)

    monkeypatch.setattr(ledger, "load_batch", engine_ends)
    with running_service(flow_home) as service:
        drop(flow_home, "s.csv", seven_irons())
        wait_until(lambda: logged(flow_home) == {"s.csv": "loaded"})
    assert len(calls) == 2
    assert list(flow_home.quarantine.iterdir()) == []


def test_a_file_that_vanishes_while_it_is_read_is_let_go(
    flow_home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = load.read_one

    def vanish(home: Home, zone: object, offered: load.Offered) -> object:
        if offered.file_name == "gone.csv":
            offered.path.unlink()
        return real(home, zone, offered)

    monkeypatch.setattr(load, "read_one", vanish)
    drop(flow_home, "gone.csv", seven_irons("Gone"))
    drop(flow_home, "here.csv", seven_irons())
    with running_service(flow_home):
        wait_until(lambda: logged(flow_home) == {"here.csv": "loaded"})
    assert list(flow_home.quarantine.iterdir()) == []


def test_a_file_that_grows_while_it_is_read_counts_as_the_longer_one(
    flow_home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    real, grown = load.read_one, []
    lines = seven_irons().splitlines(keepends=True)

    def grow(home: Home, zone: object, offered: load.Offered) -> object:
        found = real(home, zone, offered)
        if not grown:
            grown.append(True)
            with (flow_home.inbox / "s.csv").open("a") as stream:
                stream.writelines(lines[-1:])
        return found

    monkeypatch.setattr(load, "read_one", grow)
    monkeypatch.setattr("rangeledger.pipelines.service.service._LEFT_S", 0.1)
    with running_service(flow_home) as service:
        wait_until(lambda: service.presence.doing == "watching")
        drop(flow_home, "s.csv", "".join(lines[:-1]))
        wait_until(lambda: "s.csv" in logged(flow_home))
        wait_until(lambda: shot_count(flow_home) == 6)
        wait_until(lambda: inbox_is_empty(flow_home))


def test_an_inbox_that_can_not_be_emptied_holds_the_work_until_it_can(
    flow_home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is moved if it came whole, and removed behind its copy otherwise."""
    refused: list[Path] = []

    def read_only(real: Callable[..., None]) -> Callable[..., None]:
        def tried(path: Path, *more: Any, **options: Any) -> None:
            if Path(path) == flow_home.inbox / "s.csv" and len(refused) < 3:
                refused.append(path)
                raise OSError(errno.EROFS, "Read-only file system")
            real(path, *more, **options)

        return tried

    for name in ("replace", "unlink"):
        monkeypatch.setattr(os, name, read_only(getattr(os, name)))
    with running_service(flow_home) as service:
        wait_until(lambda: service.presence.doing == "watching")
        drop(flow_home, "s.csv", seven_irons())
        wait_until(lambda: "s.csv" in logged(flow_home))
        wait_until(lambda: inbox_is_empty(flow_home))
    assert query(flow_home, "SELECT count(*) FROM ingest_log").item() == 1
    assert "Read-only file system" in messages(flow_home)


def test_a_lost_event_only_costs_time(flow_home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("rangeledger.pipelines.service.arrivals.Arrivals.start", lambda self: None)
    with running_service(flow_home):
        drop(flow_home, "s.csv", seven_irons())
        wait_until(lambda: logged(flow_home) == {"s.csv": "loaded"})


def test_what_an_interrupted_load_left_undone_is_completed_at_the_start(flow_home: Home) -> None:
    drop(flow_home, "s.csv", seven_irons())
    with database.open_ledger(flow_home) as connection:
        outcomes = load.identify(connection, inbox.waiting(flow_home))
        outcomes = load.prepare(flow_home, ledger.read_settings(flow_home), outcomes)
        load.store(flow_home, connection, outcomes)
    with running_service(flow_home):
        wait_until(lambda: logged(flow_home) == {"s.csv": "loaded"})
    assert inbox_is_empty(flow_home)
    assert query(flow_home, "SELECT shots FROM carry_by_club").item() == 6


@pytest.mark.slow
def test_readers_beside_a_drain_meet_no_error_and_no_part_of_a_load(
    flow_home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("rangeledger.pipelines.running.batches._LEAST_FILES", 5)
    monkeypatch.setattr("rangeledger.pipelines.running.batches.MOST_FILES", 5)
    monkeypatch.setattr("rangeledger.pipelines.running.pace._LEAST_S", 0.0)
    monkeypatch.setattr("rangeledger.pipelines.running.pace._SHARE", 1000.0)
    put_many(flow_home, 15)
    with reading_beside(flow_home, 2, 0.1) as seen:
        drop(flow_home, "first.csv", seven_irons("Before The Others"))
        with running_service(flow_home):
            wait_until(lambda: len(logged(flow_home)) == 16)
    assert seen.faults == []
    assert seen.publications >= 3
    assert seen.reads > seen.publications
