"""The servers beside the tests answer, and none outlives a session that was killed."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
from contextlib import ExitStack
from pathlib import Path

import pytest

from tests.pipelines.service.running import wait_until
from tests.services.dask_cluster import SharedDaskCluster
from tests.services.extensions import load_extension
from tests.services.object_store import ObjectStore
from tests.services.postgres import Postgres, running_postgres

pytestmark = pytest.mark.fleet


def test_what_postgres_holds_outlives_its_restart() -> None:
    import psycopg

    with running_postgres() as server:
        name = server.new_database()
        server.do("CREATE TABLE kept (what text)", name)
        server.do("INSERT INTO kept VALUES ('this')", name)
        before = server.service.pid
        server.service.restart()
        assert server.service.pid != before
        with psycopg.connect(server.conninfo(name)) as connection:
            assert connection.execute("SELECT what FROM kept").fetchall() == [("this",)]


def test_postgres_wants_a_password(postgres: Postgres) -> None:
    import psycopg

    words = postgres.conninfo().replace(postgres.password, "another")
    with pytest.raises(psycopg.OperationalError, match="password authentication failed"):
        psycopg.connect(words)


def test_a_dask_worker_does_what_it_is_sent(dask_cluster: SharedDaskCluster) -> None:
    import distributed

    with distributed.Client(dask_cluster.address) as client:
        assert client.submit(os.getpid).result(60.0) in {w.pid for w in dask_cluster.workers}
        assert len(client.scheduler_info()["workers"]) == 2


def test_a_bucket_takes_a_file_and_gives_it_back(object_store: ObjectStore) -> None:
    import duckdb

    bucket = object_store.new_bucket()
    with duckdb.connect() as connection:
        load_extension(connection, "httpfs")
        connection.execute(
            f"CREATE SECRET (TYPE s3, KEY_ID '{object_store.key_id}', SECRET "
            f"'{object_store.secret}', ENDPOINT '{object_store.endpoint}', USE_SSL false, "
            "URL_STYLE 'path')"
        )
        connection.execute(f"COPY (SELECT 7 AS n) TO 's3://{bucket}/a/b.parquet'")
        assert connection.execute(f"FROM 's3://{bucket}/a/*.parquet'").fetchall() == [(7,)]
    assert (object_store.folder / bucket / "a" / "b.parquet").exists()


_SESSION = """
import sys, time
from pathlib import Path
from tests.services.dask_cluster import running_cluster
from tests.services.object_store import running_object_store
from tests.services.postgres import running_postgres
place = Path(sys.argv[1])
with running_cluster(place) as dask, running_object_store(place) as store:
    with running_postgres() as postgres:
        running = (dask.scheduler, *dask.workers, store.service, postgres.service)
        print(postgres.folder, *(service.pid for service in running), flush=True)
        time.sleep(600)
"""


def test_no_server_outlives_a_session_that_was_killed(
    tmp_path: Path, postgres: Postgres, object_store: ObjectStore, dask_cluster: SharedDaskCluster
) -> None:
    words = [sys.executable, "-c", _SESSION, str(tmp_path)]
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True) as session:
        assert session.stdout is not None
        folder, *servers = session.stdout.readline().split()
        os.kill(session.pid, signal.SIGKILL)
    assert len(servers) == 5
    wait_until(lambda: not any(Path(f"/proc/{number}").exists() for number in servers))
    shutil.rmtree(folder)


_HOLDER = """
import sys, time
from pathlib import Path
from tests.once import held_by_all
from tests.services.object_store import start_shared_object_store
class Factory:
    def getbasetemp(self):
        return Path(sys.argv[1])
with held_by_all(Factory(), "objects", start_shared_object_store) as store:
    print(store.service.pid, flush=True)
    time.sleep(600)
"""


def test_a_server_for_all_runs_until_the_last_that_holds_it_is_killed(
    tmp_path: Path, object_store: ObjectStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("PYTEST_XDIST_WORKER", raising=False)
    words = [sys.executable, "-c", _HOLDER, str(tmp_path)]
    with ExitStack() as running:
        first, second, third = (
            running.enter_context(subprocess.Popen(words, stdout=subprocess.PIPE, text=True))
            for _ in range(3)
        )
        held, *others = (_first_line(one) for one in (first, second, third))
        assert others == [held, held]
        server = Path(f"/proc/{held}")
        for one in (first, second):
            one.kill()
            one.wait()
        assert server.exists()
        third.kill()
        wait_until(lambda: not server.exists())
        again = running.enter_context(subprocess.Popen(words, stdout=subprocess.PIPE, text=True))
        assert _first_line(again) != held
        again.kill()


def _first_line(process: subprocess.Popen[str]) -> str:
    assert process.stdout is not None
    return process.stdout.readline().strip()
