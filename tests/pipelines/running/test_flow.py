from __future__ import annotations

import json
import os
import re
import secrets
import subprocess
import sys
from base64 import b64encode
from contextlib import suppress
from multiprocessing import AuthenticationError
from multiprocessing.connection import Client
from pathlib import Path
from typing import Any
from urllib.error import HTTPError
from urllib.request import Request, urlopen

import pytest
from rangeledger.pipelines.faults import fault_log
from rangeledger.pipelines.main import app
from rangeledger.pipelines.running.account import Account, wait_for_accounts
from rangeledger.pipelines.running.engine import ACCOUNTS_VARIABLE, engine_secret
from rangeledger.warehouse.home import Home
from typer.testing import CliRunner

from tests.exports_text import seven_irons
from tests.pipelines.service.running import wait_until

pytestmark = pytest.mark.prefect


def _asked(page: str, sought: dict[str, Any]) -> Any:
    request = Request(page, data=json.dumps(sought).encode())
    request.add_header("Authorization", f"Basic {b64encode(engine_secret().encode()).decode()}")
    request.add_header("Content-Type", "application/json")
    with urlopen(request) as answer:
        return json.load(answer)


def _states(engine: str, word: str) -> dict[str, str]:
    """How the tasks ended whose names begin with a word, by the next word."""
    of_it = {"task_runs": {"name": {"like_": f"{word} "}}}
    tasks = _asked(f"{engine}/task_runs/filter", of_it)
    return {re.split("[ -]", str(one["name"]))[1]: str(one["state_type"]) for one in tasks}


def test_a_run_leaves_an_artifact_a_person_can_read(
    flow_home: Home, flow_engine: str, tmp_path: Path
) -> None:
    bad = seven_irons("Bo Lind").replace("110.0,17.6", "910.0,17.6")
    (tmp_path / "plain visit.csv").write_text(seven_irons())
    (tmp_path / "bad|<b>row.csv").write_text(bad)
    (tmp_path / "list.csv").write_text("a,b\n1,2\n")
    files = [str(path) for path in tmp_path.glob("*.csv")]
    answer = CliRunner().invoke(app, ["--home", str(flow_home.root), "ingest", *files])
    assert answer.exit_code == 1
    newest = {"sort": "CREATED_DESC", "artifacts": {"key": {"any_": ["load"]}}}
    found = _asked(f"{flow_engine}/artifacts/filter", newest)
    (text, *_) = [one["data"] for one in found if "visit" in one["data"]]
    assert "| plain visit.csv | loaded | 6 | 0 |" in text
    assert "loaded-with-rejects | 5 | 1 |" in text
    assert "list.csv | quarantined | 0 | 0 |" in text
    assert "| Ball speed (mph) | ball_speed_mps | mph |" in text
    assert "- 1 rows rejected: out-of-range" in text
    assert "<b>" not in text


def test_the_engine_answers_nobody_without_its_secret(flow_engine: str) -> None:
    """Other users of the machine reach the loopback address too."""
    for page in ("flow_runs/count", "admin/settings"):
        with pytest.raises(HTTPError) as refused:
            urlopen(Request(f"{flow_engine}/{page}", data=b"{}"))
        with refused.value as answer:  # it holds the socket until it is closed
            assert answer.code == 401


def test_who_loads_imports_nothing_of_the_engine(flow_home: Home, tmp_path: Path) -> None:
    """What the engine does for its account would hold up a load in the same process."""
    (tmp_path / "visit.csv").write_text(seven_irons())
    words = ["--home", str(flow_home.root), "ingest", str(tmp_path / "visit.csv")]
    code = (
        "import sys\n"
        "from rangeledger.pipelines.main import app\n"
        f"app({words!r}, standalone_mode=False)\n"
        "print('prefect' in sys.modules)\n"
    )
    ran = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert ran.stdout.splitlines()[-1] == "False"
    assert not fault_log(flow_home).exists()


@pytest.mark.parametrize("fails", [False, True])
def test_the_engine_is_told_of_each_step_and_how_it_ended(
    flow_home: Home, flow_engine: str, fails: bool
) -> None:
    def work() -> None:
        if fails:
            raise ValueError("no")

    account, word = Account(flow_home), secrets.token_hex(8)
    account.begin()
    with suppress(ValueError):
        account.step(lambda: None, f"{word} first")()
        account.step(work, f"{word} second")()
    account.end()
    wait_for_accounts()
    wanted = {"first": "COMPLETED", "second": "FAILED" if fails else "COMPLETED"}
    wait_until(
        lambda: _states(flow_engine, word) == wanted
    )  # the engine writes them down in bunches
    assert not fault_log(flow_home).exists()


def test_who_does_not_know_the_secret_can_not_tell_the_engine_anything(flow_engine: str) -> None:
    where = ("127.0.0.1", int(os.environ[ACCOUNTS_VARIABLE]))
    with pytest.raises(AuthenticationError):
        Client(where, authkey=b"another")
