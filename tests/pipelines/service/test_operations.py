"""What stands in the folder of operations works: units, compose file, backup and its restore."""

from __future__ import annotations

import configparser
import os
import re
import shlex
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import duckdb
import pytest
import yaml
from rangeledger.pipelines import service

from tests.services.extensions import load_extension
from tests.services.object_store import ObjectStore
from tests.services.postgres import Postgres, running_postgres

FOLDER = Path(service.__file__).parent / "operations"
COMPOSE = yaml.safe_load((FOLDER / "compose.yaml").read_text())


def commands() -> Iterator[tuple[str, list[str]]]:
    """Every command of our own programs that a unit, the compose or the container file runs."""
    for unit in FOLDER.glob("*.service"):
        (line,) = re.findall(r"^ExecStart=(.*)$", unit.read_text(), re.MULTILINE)
        yield unit.name, shlex.split(line)
    for name, one in COMPOSE["services"].items():
        if "command" in one:
            yield f"compose.yaml, {name}", one["command"]
    (line,) = re.findall(r"^CMD \[(.*)\]$", (FOLDER / "Containerfile").read_text(), re.MULTILINE)
    yield "Containerfile", [word.strip(' "') for word in line.split(",")]


@pytest.mark.parametrize(("place", "words"), list(commands()), ids=lambda value: str(value)[:40])
def test_every_option_of_a_command_exists(place: str, words: list[str]) -> None:
    program, part = Path(words[0]).name, words[1]
    asked = subprocess.run(
        [sys.executable, "-m", program, part, "--help"],
        capture_output=True, text=True, check=True, env={**os.environ, "COLUMNS": "200"},
    )  # fmt: skip
    options = [word for word in words if word.startswith("--")]
    assert options, place
    assert [option for option in options if option not in asked.stdout] == []


def test_workers_start_as_the_check_at_the_start_wants_them() -> None:
    for place, words in commands():
        if words[1] == "worker":
            assert "--no-nanny" in words, place
            assert words[words.index("--nthreads") + 1] == "1", place


def test_the_store_is_tidied_by_a_timer_and_every_other_unit_starts_by_itself() -> None:
    timed = {path.stem for path in FOLDER.glob("*.timer")}
    assert "rangeledger-tidy" in timed
    for unit in FOLDER.glob("*.service"):
        kind = configparser.ConfigParser(strict=False, interpolation=None)
        kind.read(unit)
        assert (unit.stem in timed) == (kind.get("Service", "Type", fallback="") == "oneshot")
        assert (unit.stem in timed) != kind.has_section("Install"), unit.name
    assert COMPOSE["services"]["tidy"]["command"][:3] == ["rangeledger", "store", "tidy"]
    assert COMPOSE["services"]["tidy"]["volumes"] == COMPOSE["services"]["range"]["volumes"]


def test_the_compose_file_names_what_exists() -> None:
    for name, one in COMPOSE["services"].items():
        assert set(one.get("depends_on", ())) <= set(COMPOSE["services"]), name
    dockerfile = COMPOSE["x-own"]["build"]["dockerfile"]
    assert dockerfile.endswith("operations/Containerfile")
    assert (FOLDER / "compose.yaml").parent.joinpath(*[".."] * 3, dockerfile).exists()
    text = (FOLDER / "compose.yaml").read_text()
    told = (FOLDER / "OPERATIONS.md").read_text()
    assert {name for name in re.findall(r"\$\{(\w+)", text) if name not in told} == set()


@pytest.mark.fleet
def test_an_academy_comes_back_from_its_backup(tmp_path: Path, object_store: ObjectStore) -> None:
    bucket = object_store.new_bucket()
    with running_postgres() as server:
        database = server.new_database()
        environment = _environment(server, object_store, database, bucket)
        _run("new-academy.sh", environment)
        with _lake(server, object_store, database, bucket) as lake:
            lake.execute("CREATE TABLE shots AS SELECT range AS shot_id FROM range(500)")
        _run("backup.sh", environment, tmp_path / "kept")
        with _lake(server, object_store, database, bucket) as lake:
            lake.execute("INSERT INTO shots SELECT range FROM range(500, 800)")
        _run("backup.sh", environment, tmp_path / "kept")

        server.do("DROP SCHEMA academy_one CASCADE", database)
        purge = ["rclone", "purge", f":s3:{bucket}/academy_one"]
        subprocess.run(purge, env=environment, check=True, capture_output=True)
        assert not list((object_store.folder / bucket).rglob("*.parquet"))
        _run("restore.sh", environment, tmp_path / "kept")
        with _lake(server, object_store, database, bucket) as lake:
            found = lake.execute("SELECT count(*), sum(shot_id) FROM shots").fetchone()
            lake.execute("INSERT INTO shots VALUES (800)")  # its owner may write as before
        assert found == (800, sum(range(800)))


@pytest.mark.fleet
def test_an_academys_role_sees_no_other_academy() -> None:
    import psycopg

    with running_postgres() as server:
        database = server.new_database()
        for name in ("academy_one", "academy_two"):
            _run("new-academy.sh", {
                **os.environ, **_pg(server, database), "ACADEMY": name, "ACADEMY_PASSWORD": name,
            })  # fmt: skip
        server.do("CREATE TABLE academy_two.others (n int)", database)
        words = server.conninfo(database).replace(server.password, "academy_one")
        words = words.replace(f"user={server.user}", "user=academy_one")
        with psycopg.connect(words, autocommit=True) as one:
            one.execute("CREATE TABLE academy_one.own (n int)")
            with pytest.raises(psycopg.errors.InsufficientPrivilege):
                one.execute("SELECT * FROM academy_two.others")


def _pg(server: Postgres, database: str) -> dict[str, str]:
    return {
        "PGHOST": server.host, "PGPORT": str(server.port), "PGUSER": server.user,
        "PGPASSWORD": server.password, "PGDATABASE": database,
    }  # fmt: skip


def _environment(
    server: Postgres, objects: ObjectStore, database: str, bucket: str
) -> dict[str, str]:
    return {
        **os.environ, **_pg(server, database),
        "PATH": f"{Path(sys.executable).parent}:{server.programs}:{os.environ['PATH']}",
        "ACADEMY": "academy_one", "ACADEMY_PASSWORD": "correct'horse\"1", "BUCKET": bucket,
        "RCLONE_CONFIG": os.devnull, "RCLONE_S3_PROVIDER": "Other",
        "RCLONE_S3_ENDPOINT": f"http://{objects.endpoint}",
        "RCLONE_S3_ACCESS_KEY_ID": objects.key_id, "RCLONE_S3_SECRET_ACCESS_KEY": objects.secret,
    }  # fmt: skip


def _run(script: str, environment: dict[str, str], *words: Path) -> None:
    done = subprocess.run(
        ["bash", str(FOLDER / script), *map(str, words)],
        env=environment, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr


def _lake(
    server: Postgres, objects: ObjectStore, database: str, bucket: str
) -> duckdb.DuckDBPyConnection:
    """An academy's lake, attached as its role."""
    connection = duckdb.connect()
    for extension in ("httpfs", "postgres_scanner", "ducklake"):
        load_extension(connection, extension)
    connection.execute(
        f"CREATE SECRET (TYPE s3, KEY_ID '{objects.key_id}', SECRET '{objects.secret}', "
        f"ENDPOINT '{objects.endpoint}', USE_SSL false, URL_STYLE 'path')"
    )
    connection.execute(
        f"CREATE SECRET catalog (TYPE postgres, HOST '{server.host}', PORT {server.port}, "
        f"DATABASE '{database}', USER 'academy_one', PASSWORD 'correct''horse\"1')"
    )
    connection.execute(
        "ATTACH 'ducklake:postgres:' AS lake (META_SECRET 'catalog', METADATA_SCHEMA "
        f"'academy_one', DATA_PATH 's3://{bucket}/academy_one/', DATA_INLINING_ROW_LIMIT 0)"
    )
    connection.execute("USE lake")
    return connection
