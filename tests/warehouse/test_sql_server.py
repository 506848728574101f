"""SQL over the network: honest clients, hostile ones, and publications in between."""

from __future__ import annotations

import contextlib
import json
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import duckdb
import pytest
from rangeledger.pipelines.running.engine import _free_port
from rangeledger.schemas.errors import HomeError
from rangeledger.warehouse import database, publishing, sql_server
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.sql_server import (
    CAN_NOT_START,
    STATEMENT_TOO_LONG,
    Orders,
    extension_files,
)

from tests.shots import make_shots
from tests.warehouse.test_database import put

TOKEN = "a-token-for-tests-only"
LIMIT_S = 5.0

WRITES = (
    "INSERT INTO ledger.meta VALUES (9)",
    "WITH x AS (SELECT 9) INSERT INTO ledger.meta FROM x",
    "SELECT 1; INSERT INTO ledger.meta VALUES (9)",
    "EXPLAIN ANALYZE INSERT INTO ledger.meta VALUES (9)",
    "UPDATE ledger.meta SET database_version = 9",
    "DELETE FROM ledger.shots",
    "DROP VIEW shots",
    "CREATE TABLE mine (i INTEGER)",
    "CREATE TEMP TABLE mine (i INTEGER)",
    "CREATE OR REPLACE MACRO may_be_asked(a, b) AS true",
    "COPY (SELECT 1) TO '/tmp/rangeledger-hostile.csv'",
    "EXPORT DATABASE '/tmp/rangeledger-hostile'",
    "ATTACH '/tmp/rangeledger-hostile.duckdb' AS mine",
    "DETACH live",
    "INSTALL spatial",
    "LOAD json",
    "SET threads = 64",
    "SET GLOBAL quack_authorization_function = 'quack_nop_authorization'",
    "RESET memory_limit",
    "PRAGMA database_list",
    "CHECKPOINT",
    "CALL quack_stop('quack:localhost')",
    "PREPARE q AS SELECT 1",
    "BEGIN",
)
READS = (
    "FROM read_csv('/etc/passwd')",
    "FROM read_text('/etc/passwd')",
    "FROM read_blob('{home}/rangeledger.duckdb')",
    "FROM '/etc/passwd'",
    "FROM '/tmp/x.parquet'",
    "FROM glob('/*')",
    "FROM sniff_csv('/etc/passwd')",
    "FROM read_parquet('http://localhost:1/x')",
    "SELECT (SELECT content FROM read_text('/etc/passwd'))",
    "SELECT 1 FROM shots ORDER BY (SELECT 1 FROM glob('/*'))",
    "SELECT list_transform([1], lambda x: (SELECT count(*) FROM glob('/*')))",
    "FROM query('FROM read_text(''/etc/passwd'')')",
    "FROM json_execute_serialized_sql(json_serialize_sql('SELECT 1'))",
    "FROM duckdb_settings()",
    "FROM duckdb_secrets()",
    "FROM quack_active_connections()",
    "FROM quack_stop('quack:localhost')",
    "FROM enable_logging()",
    "SELECT sleep_ms(100000)",
    "SELECT Sleep_MS(100000)",
    "SELECT getenv('PATH')",
    "SELECT current_setting('quack_authorization_function')",
    "FROM arrow_scan(1, 2, 3)",
    "SELEC",
    "",
)


def publish(home: Home, batches: int) -> None:
    for number in range(1, batches + 1):
        if not (home.lake / "batches" / f"{number:08d}.json").exists():
            put(home, number, make_shots([140.0, 150.0], source_file=f"{number:064d}"))
    with database.open_ledger(home):
        pass
    publishing.publish(home)


@contextlib.contextmanager
def server(home: Home, limit_s: float = LIMIT_S) -> Iterator[tuple[subprocess.Popen[str], int]]:
    port = _free_port()
    orders = Orders(str(home.root), "localhost", port, TOKEN, 256, limit_s)
    process = subprocess.Popen(
        [sys.executable, "-m", "rangeledger.warehouse.sql_server"],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write(orders.as_line())
    process.stdin.flush()
    assert "ready" in json.loads(process.stdout.readline())
    try:
        yield process, port
    finally:
        process.communicate()


@contextlib.contextmanager
def client(port: int, token: str = TOKEN) -> Iterator[duckdb.DuckDBPyConnection]:
    with duckdb.connect() as connection:
        for extension in extension_files():
            connection.execute(f"LOAD '{extension}'")
        connection.execute(f"CREATE SECRET (TYPE quack, TOKEN '{token}')")
        connection.execute(f"ATTACH 'quack:localhost:{port}' AS range_home")
        yield connection


def ask(connection: duckdb.DuckDBPyConnection, sql: str) -> list[tuple[object, ...]]:
    return connection.execute("FROM quack_query_by_name('range_home', ?)", [sql]).fetchall()


def test_views_comments_and_macros_answer_and_follow_what_is_published(home: Home) -> None:
    publish(home, 1)
    with server(home) as (process, port), client(port) as honest:
        assert honest.execute("SELECT count(*) FROM range_home.shots").fetchone() == (2,)
        (counts,) = ask(
            honest, "SELECT count(*), count(DISTINCT (view_name, column_name)), "
            "count(*) FILTER (meaning IS NULL) FROM data_dictionary"
        )  # fmt: skip
        assert counts[0] == counts[1]
        assert counts[2] == 0
        assert ask(honest, "FROM carry_in('Ada Brook', '7-iron', headwind := 3)") == []
        publish(home, 3)
        assert process.stdout is not None
        assert "following" in json.loads(process.stdout.readline())
        assert ask(honest, "SELECT count(*) FROM shots") == [(6,)]
        with client(port) as newcomer:
            assert ask(newcomer, "SELECT count(*) FROM shots") == [(6,)]
        assert len(list((home.state / "served").glob("*.duckdb"))) == 2


@pytest.mark.parametrize("token", ["", "wrong", TOKEN[:-1], TOKEN + "x", "' OR 1=1 --"])
def test_a_wrong_token_opens_nothing(home: Home, token: str) -> None:
    publish(home, 1)
    with server(home) as (_, port):
        quoted = token.replace("'", "''")
        with pytest.raises(duckdb.Error), client(port, quoted) as connection:
            ask(connection, "SELECT 1")


@pytest.mark.parametrize(
    ("sql", "why"),
    [
        ("DROP VIEW shots", "Only SELECT statements"),
        ("SELEC 'it''s', $$'$$", "syntax error at or near"),
        ("FROM read_text('/etc/passwd')", "read_text is not allowed"),
        ("SELECT getenv('PATH'), a FROM glob('/*') t(a)", "getenv, glob is not allowed"),
        ("FROM \"x'); DROP\"('y')", "x'); drop is not allowed"),
    ],
)
def test_a_client_is_told_why_it_is_refused(home: Home, sql: str, why: str) -> None:
    publish(home, 1)
    with server(home) as (_, port), client(port) as asking:
        with pytest.raises(duckdb.Error) as refused:
            ask(asking, sql)
        assert "Only one statement that reads is answered here: " in str(refused.value)
        assert why in str(refused.value)
        assert ask(asking, "SELECT count(*) FROM shots") == [(2,)]


@pytest.mark.slow
def test_two_hundred_hostile_requests_change_nothing_and_the_honest_are_served(home: Home) -> None:
    publish(home, 1)
    before = home.database.read_bytes()
    through: list[str] = []
    faults: list[str] = []

    def hostile(port: int, requests: list[str]) -> None:
        with client(port) as connection:
            for sql in requests:
                with contextlib.suppress(duckdb.Error):
                    ask(connection, sql)
                    through.append(sql)

    def honest(port: int) -> None:
        try:
            with client(port) as connection:
                answers = [ask(connection, "SELECT count(*) FROM shots") for _ in range(25)]
                faults.extend(f"torn: {answer}" for answer in answers if answer != [(2,)])
        except duckdb.Error as error:
            faults.append(str(error))

    every = [sql.format(home=home.root) for sql in (*WRITES, *READS)]
    assert len(every) * 5 >= 200
    with server(home, limit_s=120.0) as (process, port):
        threads = [threading.Thread(target=hostile, args=(port, every)) for _ in range(5)]
        threads += [threading.Thread(target=honest, args=(port,)) for _ in range(16)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert process.poll() is None
    assert sorted(set(through)) == []
    assert faults == []
    assert home.database.read_bytes() == before
    assert not list(Path("/tmp").glob("rangeledger-hostile*"))


def test_giant_results_and_memory_end_in_an_error_or_a_stream_not_in_the_server(home: Home) -> None:
    publish(home, 1)
    with server(home, limit_s=120.0) as (process, port), client(port) as greedy:
        giant = greedy.execute(
            "FROM quack_query_by_name('range_home', 'FROM range(100_000_000_000)')"
        )
        assert giant.fetchone() == (0,)
        for sql in (
            "SELECT string_agg(range::VARCHAR || repeat('x', 50), '') FROM range(200_000_000)",
            "SELECT list(range) FROM range(2_000_000_000)",
        ):
            with pytest.raises(duckdb.Error):
                ask(greedy, sql)
        assert process.poll() is None
        with client(port) as honest:
            assert ask(honest, "SELECT count(*) FROM shots") == [(2,)]


def test_a_statement_that_never_ends_is_ended_and_told(home: Home) -> None:
    publish(home, 1)
    endless = (
        "SELECT count(*) FROM range(10000000) a, range(10000000) b WHERE a.range * b.range = 7"
    )
    with server(home, limit_s=2.0) as (process, port), client(port) as hostile:
        with pytest.raises(duckdb.Error):
            ask(hostile, endless)
        assert process.stdout is not None
        told = json.loads(process.stdout.readline())["problem"]
        assert told.startswith("A statement ran for over 2 s and was ended: SELECT count(*)")
        assert process.wait(timeout=30) == STATEMENT_TOO_LONG


def test_a_port_in_use_is_told_without_the_token(home: Home) -> None:
    publish(home, 1)
    with server(home) as (_, port):
        orders = Orders(str(home.root), "localhost", port, TOKEN, 256, 5.0)
        with subprocess.Popen(
            [sys.executable, "-m", "rangeledger.warehouse.sql_server"],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        ) as second:  # fmt: skip
            assert second.stdin is not None
            assert second.stdout is not None
            second.stdin.write(orders.as_line())
            second.stdin.flush()
            said = second.stdout.readline()
            second.wait(timeout=60)
    assert second.returncode == CAN_NOT_START
    assert f"can't listen at localhost:{port}" in said
    assert TOKEN not in said


def test_without_the_addition_one_sentence_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(sql_server, "_EXTENSIONS", {"quack": "no_such_package"})
    with pytest.raises(HomeError, match=r"pip install 'rangeledger\[network\]'"):
        extension_files()
