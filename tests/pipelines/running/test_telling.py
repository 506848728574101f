from __future__ import annotations

import json
import os
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from rangeledger.pipelines.faults import fault_log
from rangeledger.pipelines.running.account import Account
from rangeledger.pipelines.running.engine import ACCOUNTS_VARIABLE, engine_folder
from rangeledger.pipelines.running.telling import AT_ONCE, WHEN_VARIABLE
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.kept_accounts import kept_accounts

from tests.exports_text import seven_irons
from tests.pipelines.service.running import logged, wait_until
from tests.services.flow_engine import SharedEngine

_STEPS = {"identify", "prepare", "screen", "store", "settle", "fit what changed", "publish"}


@pytest.fixture
def alone(monkeypatch: pytest.MonkeyPatch) -> dict[str, str]:
    """Environment of a command beside which no engine runs, whose loads are soon told."""
    monkeypatch.delenv(ACCOUNTS_VARIABLE, raising=False)
    others = ("PREFECT_", WHEN_VARIABLE, "RANGELEDGER_ENGINE_")
    kept = {name: value for name, value in os.environ.items() if not name.startswith(others)}
    return kept | {WHEN_VARIABLE: AT_ONCE}


def _ingest(home: Home, environment: dict[str, str]) -> None:
    (home.inbox / "visit.csv").write_text(seven_irons())
    command = [sys.executable, "-m", "rangeledger", "--home", str(home.root), "ingest"]
    subprocess.run(command, check=True, env=environment, capture_output=True)
    assert logged(home) == {"visit.csv": "loaded"}


def _untold(home: Home) -> list[Path]:
    return list(home.accounts.glob("*.jsonl"))


def _told(home: Home, table: str) -> list[tuple[str, str]]:
    """Names and states in the engine's records."""
    with closing(sqlite3.connect(engine_folder(home) / "prefect.db")) as database:
        return database.execute(f"SELECT name, state_type FROM {table}").fetchall()


@pytest.mark.prefect
@pytest.mark.slow
def test_a_load_is_told_of_when_its_command_has_ended(
    home: Home, alone: dict[str, str], shared_engine: SharedEngine
) -> None:
    """With it one whose process was killed amid a step, before."""
    shared_engine.begin(home)
    killed = Account(home)
    killed.begin()
    killed.step(lambda: None, "identify")()
    killed._say({"step": "prepare", "at": ""})
    assert killed._kept is not None
    killed._kept.close()  # as the kernel does
    _ingest(home, alone)
    wait_until(lambda: _untold(home) == [])
    assert [state for _, state in sorted(_told(home, "flow_run"))] == ["FAILED", "COMPLETED"]
    tasks = [(name.rpartition("-")[0], state) for name, state in _told(home, "task_run")]
    whole = [(name, "COMPLETED") for name in _STEPS]
    assert sorted(tasks) == sorted([*whole, ("identify", "COMPLETED"), ("prepare", "FAILED")])
    assert not fault_log(home).exists()


@pytest.mark.prefect
@pytest.mark.slow
def test_a_home_can_be_removed_while_its_loads_are_told(home: Home, alone: dict[str, str]) -> None:
    _ingest(home, alone)
    wait_until(lambda: (engine_folder(home) / "prefect.db").exists())
    telling = [pid for pid in os.listdir("/proc") if pid.isdigit() and _is_about(pid, home)]
    assert len(telling) == 1
    shutil.rmtree(home.root)
    wait_until(lambda: not any(_is_about(pid, home) for pid in telling))
    assert not home.root.exists()


@pytest.mark.parametrize(("when", "steps_back"), [(AT_ONCE, False), ("", True)])
def test_who_tells_leaves_the_processor_to_others_unless_it_is_wanted_at_once(
    home: Home, alone: dict[str, str], when: str, steps_back: bool
) -> None:
    code = (
        "import os, sys\n"
        "from rangeledger.pipelines.running.telling import main\n"
        "before = os.nice(0)\n"
        "main()\n"
        "print(os.nice(0) > before)\n"
    )
    words = [sys.executable, "-c", code, str(home.root)]
    environment = alone | {WHEN_VARIABLE: when}
    ran = subprocess.run(words, check=True, env=environment, capture_output=True, text=True)
    assert ran.stdout.split() == [str(steps_back)]


def _is_about(pid: str, home: Home) -> bool:
    try:
        words = Path(f"/proc/{pid}/cmdline").read_text().split("\0")
    except OSError:
        return False
    return "rangeledger.pipelines.running.telling" in words and str(home.root) in words


@pytest.mark.prefect
@pytest.mark.slow
def test_a_service_tells_what_commands_have_kept(
    home: Home, alone: dict[str, str], shared_engine: SharedEngine
) -> None:
    _ingest(home, alone | {WHEN_VARIABLE: "later"})
    (path,) = kept_accounts(home)
    began = json.loads(path.read_text().splitlines()[0])["at"]
    assert not engine_folder(home).exists()
    shared_engine.begin(home)
    words = [sys.executable, "-m", "rangeledger", "--home", str(home.root), "watch", "--quiet"]
    with subprocess.Popen(words, env=alone) as watch:
        wait_until(lambda: _untold(home) == [])
        watch.terminate()
    assert (f"load of {began}", "COMPLETED") in _told(home, "flow_run")


@pytest.mark.usefixtures("alone")
def test_an_account_that_can_not_be_kept_is_noted_and_holds_up_no_load(home: Home) -> None:
    home.accounts.write_text("no folder")
    account = Account(home)
    account.begin()
    assert account.step(lambda: 42, "prepare")() == 42
    account.artifact("Load 1", "text")
    account.end()
    assert fault_log(home).read_text().count("keeping the flow engine's account of a load") == 1
