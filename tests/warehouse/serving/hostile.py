"""Statements that mean harm, and a run of them against a server with an honest client beside.

    PYTHONPATH=.src:. python -m tests.warehouse.serving.hostile HOME [--seconds 120] [--clients 12]

It prints how long the honest clients waited and fails if one waited over five seconds, if the
server ended, or if a statement that must be refused was answered.
"""

from __future__ import annotations

import argparse
import contextlib
import itertools
import multiprocessing
import os
import random
import sys
import threading
import time
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

import duckdb
from rangeledger.warehouse.access_tokens import make_token
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.opening import open_home
from rangeledger.warehouse.serving.limits import Limits

from tests.warehouse.serving.clients import (
    PATIENCE_S,
    TOKEN,
    ask,
    attach,
    client,
    database_of_client,
    publish,
    server,
)

MOST_WAIT_S = 5.0
_CROWD_NICE = 10
# Statements that write, or reach out of the database: each must be refused.
REFUSED = (
    "INSERT INTO ledger.meta VALUES (9)",
    "WITH x AS (SELECT 9) INSERT INTO ledger.meta FROM x",
    "SELECT 1; INSERT INTO ledger.meta VALUES (9)",
    "EXPLAIN ANALYZE INSERT INTO ledger.meta VALUES (9)",
    "UPDATE ledger.meta SET database_version = 9",
    "DELETE FROM ledger.shots", "DROP VIEW shots", "CREATE TABLE mine (i INTEGER)",
    "CREATE TEMP TABLE mine (i INTEGER)", "CREATE OR REPLACE MACRO may_be_asked(a, b) AS true",
    "COPY (SELECT 1) TO '/tmp/rangeledger-hostile.csv'",
    "EXPORT DATABASE '/tmp/rangeledger-hostile'",
    "ATTACH '/tmp/rangeledger-hostile.duckdb' AS mine", "DETACH rangeledger", "INSTALL spatial",
    "LOAD json", "SET threads = 64",
    "SET GLOBAL quack_authorization_function = 'quack_nop_authorization'", "RESET memory_limit",
    "PRAGMA database_list", "CHECKPOINT", "CALL quack_stop('quack:localhost')",
    "PREPARE q AS SELECT 1", "BEGIN", "USE memory", "VACUUM", "CALL pragma_version()",
    "FROM read_csv('/etc/passwd')", "FROM read_text('/etc/passwd')", "FROM '/etc/passwd'",
    "FROM '/tmp/x.parquet'", "FROM glob('/*')", "FROM sniff_csv('/etc/passwd')",
    "FROM read_parquet('http://localhost:1/x')",
    "SELECT (SELECT content FROM read_text('/etc/passwd'))",
    "SELECT 1 FROM shots ORDER BY (SELECT 1 FROM glob('/*'))",
    "SELECT list_transform([1], lambda x: (SELECT count(*) FROM glob('/*')))",
    "FROM query('FROM read_text(''/etc/passwd'')')", "FROM query_table('pg_settings')",
    "FROM json_execute_serialized_sql(json_serialize_sql('SELECT 1'))",
    "FROM duckdb_settings()", "FROM duckdb_secrets()", "FROM quack_active_connections()",
    "FROM quack_stop('quack:localhost')", "FROM enable_logging()", "SELECT sleep_ms(100000)",
    "SELECT pg_sleep(300)", "SELECT Sleep_MS(100000)", "SELECT getenv('PATH')",
    "SELECT current_setting('quack_authorization_function')", "FROM arrow_scan(1, 2, 3)",
    "FROM pg_settings", "FROM pg_catalog.pg_settings", "FROM duckdb_databases",
    "FROM pragma_database_list", "FROM sqlite_master", "FROM duckdb_logs", "FROM whoami()",
    "FROM duckdb_memory()", "FROM duckdb_temporary_files()", "FROM duckdb_extensions()",
    "FROM histogram_values('pg_settings', name)", "SELECT nextval('s')", "SELECT write_log('x')",
    "FROM pg_settings, (WITH pg_settings AS (SELECT 1) FROM pg_settings)", "SELEC", "",
)  # fmt: skip
_TESTS = (
    "a.range * b.range = 7", "(a.range + b.range) % 7919 = 3", "hash(a.range, b.range) = 1",
    "md5(a.range::VARCHAR) = b.range::VARCHAR",
    "levenshtein(a.range::VARCHAR, b.range::VARCHAR) = 99",
    "sqrt(a.range) + cos(b.range) = 2.5", "a.range::VARCHAR LIKE '%' || b.range || '%x'",
    "regexp_matches(a.range::VARCHAR || b.range, '(1*)*2$')",
)  # fmt: skip
_ENDINGS = ("SELECT count(*)", "SELECT sum(a.range)", "SELECT max(a.range) - min(b.range)",
            "SELECT string_agg(a.range::VARCHAR, '')", "SELECT list(a.range)",
            "SELECT quantile_cont(a.range, 0.5)")  # fmt: skip
_GREEDY = (
    "SELECT string_agg(range::VARCHAR || repeat('x', 50), '') FROM range(200_000_000)",
    "SELECT list(range) FROM range(2_000_000_000)",
    "SELECT repeat('x', 2_000_000_000)", "SELECT range(3_000_000_000)",
    "FROM range(100_000_000_000)", "SELECT repeat('x', 100_000) FROM range(10_000_000)",
    "WITH RECURSIVE t AS (SELECT 1 a UNION ALL SELECT a + 1 FROM t) SELECT count(*) FROM t",
    "WITH RECURSIVE t AS (SELECT [1] a UNION ALL SELECT list_concat(a, a) FROM t) FROM t",
    "SELECT count(*) FROM range(1000000) a, range(1000000) b, range(1000) c "
    "WHERE a.range + b.range * c.range % 7 = 3",
    "SELECT a.range FROM range(100_000_000) a ORDER BY hash(a.range)",
    "SELECT count(DISTINCT hash(range)) FROM range(400_000_000)",
    "SELECT " + "+".join(["1"] * 50_000), "SELECT " + "abs(" * 20_000 + "1" + ")" * 20_000,
    "SELECT * FROM " + ", ".join(f"range(1000) t{n}" for n in range(60)),
)  # fmt: skip


def endless() -> list[str]:
    """Statements that compute for hours or take all memory, 200 and more."""
    joins = [
        f"{ending} FROM range({left}) a, range({right}) b WHERE {test}"
        for ending, left, right, test in itertools.product(
            _ENDINGS, (1_000_000, 50_000_000), (10_000_000, 900_000_000), _TESTS
        )
    ]
    return [*joins, *_GREEDY]


@dataclass
class Findings:
    """What a run showed."""

    waits_s: list[float] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    through: list[str] = field(default_factory=list)
    asked: int = 0
    served_s: list[tuple[float, float]] = field(default_factory=list)
    most_s: dict[str, float] = field(default_factory=dict)


def _hostile(port: int, token: str, statements: Iterator[str], found: Findings, end: float) -> None:
    latest = end + PATIENCE_S  # on a busy machine a crowd that yields gets no turn for long
    while time.monotonic() < (end if found.asked else latest):
        try:
            with client(port, token) as connection:
                while time.monotonic() < (end if found.asked else latest):
                    sql = next(statements)
                    found.asked += 1
                    try:
                        ask(connection, sql)
                    except duckdb.Error as error:
                        if "attach anew" in str(error):
                            break
                    else:
                        if sql in REFUSED:
                            found.through.append(sql)
        except duckdb.Error:
            time.sleep(0.2)


def _crowd(port: int, seconds: float, clients: int) -> Findings:
    """Hostile clients, in a process that yields: their own work is not what the server costs."""
    os.nice(_CROWD_NICE)
    statements = [*endless(), *REFUSED]
    random.Random(7).shuffle(statements)
    source = itertools.cycle(statements)
    lock = threading.Lock()

    def each() -> Iterator[str]:
        while True:
            with lock:
                sql = next(source)
            yield sql

    found, end = Findings(), time.monotonic() + seconds
    _together(
        threading.Thread(target=_hostile, args=(port, TOKEN, each(), found, end))
        for _ in range(clients)
    )
    return found


def _honest(port: int, token: str, found: Findings, end: float, *, anew: bool) -> None:
    with contextlib.ExitStack() as stack:
        connection = None
        while time.monotonic() < end:
            began = time.monotonic()
            try:
                if connection is None or anew:
                    stack.close()
                    connection = stack.enter_context(database_of_client())
                    began = time.monotonic()
                    attach(connection, port, token)
                    began = began if anew else time.monotonic()
                rows = ask(connection, "SELECT count(*) FROM shots")
                if rows != [(2,)]:
                    found.faults.append(f"torn: {rows}")
            except duckdb.Error as error:
                found.faults.append(str(error)[:200])
                connection = None
            waited_s = time.monotonic() - began
            found.waits_s.append(waited_s)
            who = "newcomer" if anew else "token of the crowd" if token == TOKEN else "own token"
            found.most_s[who] = max(found.most_s.get(who, 0.0), waited_s)
            time.sleep(1.0)


def _three_honest(port: int, seconds: float, tokens: tuple[str, str]) -> Findings:
    """One with the token of the crowd, one with a token of its own, one who attaches anew."""
    asking = ((TOKEN, False), (tokens[0], False), (tokens[1], True))
    found, end = Findings(), time.monotonic() + seconds
    _together(
        threading.Thread(target=_honest, args=(port, token, found, end), kwargs={"anew": anew})
        for token, anew in asking
    )
    return found


def _together(threads: Iterable[threading.Thread]) -> None:
    running = list(threads)
    for thread in running:
        thread.start()
    for thread in running:
        thread.join()


def run(home: Home, seconds: float, clients: int, limits: Limits) -> Findings:
    """Let hostile clients ask for some seconds while honest ones ask every second."""
    tokens = make_token(home, "honest", None), make_token(home, "newcomer", None)
    before = home.database.read_bytes()
    apart = multiprocessing.get_context("spawn")
    with server(home, limits) as running, ProcessPoolExecutor(2, mp_context=apart) as processes:
        crowd = processes.submit(_crowd, running.port, seconds, clients)
        honest = processes.submit(_three_honest, running.port, seconds, tokens)
        found = honest.result()
        found.asked, found.through = crowd.result().asked, crowd.result().through
        found.served_s = [
            (line["waited"], line["seconds"]) for line in running.all("audit")
            if line["token"] in ("honest", "newcomer")
        ]  # fmt: skip
        if running.process.poll() is not None:
            found.faults.append("the server ended")
        with client(running.port) as last:
            assert ask(last, "SELECT count(*) FROM shots") == [(2,)]
    if home.database.read_bytes() != before:
        found.faults.append("the published database changed")
    return found


def main() -> int:
    """Run it and print what it showed."""
    words = argparse.ArgumentParser()
    words.add_argument("home", type=Path)
    words.add_argument("--seconds", type=float, default=120.0)
    words.add_argument("--clients", type=int, default=12)
    given = words.parse_args()
    home = open_home(Home(given.home.absolute()))
    publish(home, 1)
    found = run(home, given.seconds, given.clients, Limits())
    waits = sorted(found.waits_s)
    print(
        f"{found.asked} hostile statements by {given.clients} clients ({len(endless())} kinds that "
        f"do not end, {len(REFUSED)} to be refused) in {given.seconds:.0f} s; honest asked "
        f"{len(waits)} times, waited {waits[len(waits) // 2]:.2f} s (median), {waits[-1]:.2f} s "
        f"(most: {', '.join(f'{who} {s:.2f}' for who, s in sorted(found.most_s.items()))}); with a "
        f"token of their own the server {max(map(sum, found.served_s)):.2f} s a statement, "
        f"{max(found.served_s)[0]:.2f} s of them without a worker; "
        f"{len(found.faults)} faults {sorted(set(found.faults))}, "
        f"{len(found.through)} got through {sorted(set(found.through))}"
    )
    return int(bool(found.faults or found.through or waits[-1] > MOST_WAIT_S))


if __name__ == "__main__":
    sys.exit(main())
