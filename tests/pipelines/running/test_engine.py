from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
from collections import namedtuple
from contextlib import closing

import pytest
from rangeledger.pipelines.running import engine
from rangeledger.schemas.errors import HomeError, StorageError
from rangeledger.warehouse.home import Home

from tests.exports_text import seven_irons
from tests.pipelines.service.running import wait_until

TELLING = "rangeledger.pipelines.running.telling"


def runs(home: Home) -> int:
    with closing(sqlite3.connect(engine.engine_folder(home) / "prefect.db")) as database:
        return int(database.execute("SELECT count(*) FROM flow_run").fetchone()[0])


@pytest.mark.parametrize(("free", "told"), [(2**20, "1 MiB left"), (2**40, "engine.log says why")])
def test_an_engine_that_can_not_start_says_why(
    home: Home, monkeypatch: pytest.MonkeyPatch, free: int, told: str
) -> None:
    usage = namedtuple("usage", "total used free")
    monkeypatch.setattr("shutil.disk_usage", lambda _: usage(2**40, 0, free))
    monkeypatch.setattr(engine.sys, "executable", shutil.which("false"))
    with pytest.raises((StorageError, HomeError), match=told), engine.engine(home):
        engine.wait_for_engine()


@pytest.mark.long
@pytest.mark.prefect
def test_the_engine_forgets_runs_of_more_than_a_week_ago(
    home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PREFECT_SERVER_SERVICES_DB_VACUUM_LOOP_SECONDS", "1")  # not every hour
    (home.inbox / "a.csv").write_text(seven_irons())
    # A process of its own: this one may talk to the engine that other tests share.
    quiet = {k: v for k, v in os.environ.items() if not k.startswith("PREFECT_")}
    command = [sys.executable, "-m", "rangeledger", "--home", str(home.root), "ingest"]
    subprocess.run(command, check=True, env=quiet, capture_output=True)
    subprocess.run([sys.executable, "-m", TELLING, str(home.root)], check=True, env=quiet)
    assert runs(home) == 1
    with closing(sqlite3.connect(engine.engine_folder(home) / "prefect.db")) as database:
        database.execute("UPDATE flow_run SET end_time = '2020-01-01 00:00:00.000000'")
        database.commit()
    server = engine.Server(home)
    try:
        wait_until(lambda: runs(home) == 0)
    finally:
        server.stop()
