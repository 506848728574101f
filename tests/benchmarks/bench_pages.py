"""How long the pages of a large academy take on the server, page by page, against their bar.

    python -m tests.benchmarks.bench_pages [--quick] [--home HOME]

100 invented players with 500 sessions each; `--quick` makes 3 with 10, so that the script can't
rot. One player is fitted; the others are copies in the database, which is all that pages read.
`--home HOME` asks the pages of a home that is there, such as the demo's, whose bar is 100 ms.
"""

from __future__ import annotations

import argparse
import shutil
import statistics
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import duckdb
from rangeledger.pipelines.output.pages import file_word
from rangeledger.pipelines.pages_server.player_pages import SCREENS
from rangeledger.warehouse.home import Home
from starlette.testclient import TestClient

from tests.benchmarks.figures import JSON, Figure, json_s
from tests.made_home import make_home
from tests.pipelines.pages_server.browsing import client_of, come_in

LARGE_BAR_S, DEMO_BAR_S = 0.3, 0.1
FIRST = "Player 000"
# What tells a copied player's rows from the first one's.
OWN = ("shot_id", "session_id", "source_file", "by_shot")


@contextmanager
def large_home(players: int, sessions: int) -> Iterator[Home]:
    """A home of that many players with that many sessions of twenty shots, for reading alone."""
    folder = Path(tempfile.mkdtemp(prefix="rangeledger-bench-"))
    try:
        home = make_home(folder / "home", (FIRST,), sessions=sessions, each=2)
        with duckdb.connect(str(home.database)) as connection:
            for number in range(1, players):
                copy_player(connection, f"Player {number:03d}", f"{number:03d}")
        yield home
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def copy_player(connection: duckdb.DuckDBPyConnection, name: str, mark: str) -> None:
    """Give another player the first one's rows."""
    tables = connection.execute(
        "SELECT schema_name, table_name, list(column_name) FROM duckdb_columns() "
        "INNER JOIN duckdb_tables() USING (schema_name, table_name) "
        "GROUP BY ALL HAVING list_contains(list(column_name), 'player') ORDER BY ALL"
    ).fetchall()
    for schema, table, columns in tables:
        own = ", ".join(f"{c} || '{mark}' AS {c}" for c in OWN if c in columns)
        said = ", ".join(f"'{name}' AS {c}" for c in ("said",) if c in columns)
        changed = ", ".join(part for part in (f"'{name}' AS player", own, said) if part)
        connection.execute(
            f"INSERT INTO {schema}.{table} SELECT * REPLACE ({changed}) FROM {schema}.{table} "
            "WHERE player = ?", [FIRST],
        )  # fmt: skip


def seconds_of(client: TestClient, path: str, times: int) -> tuple[float, float, int]:
    """Median seconds from request to answer, of the clock and of processors, and its bytes."""
    taken, worked, size = [], [], 0
    for _ in range(times):
        begun, working = time.perf_counter(), time.process_time()
        answer = client.get(path)
        taken.append(time.perf_counter() - begun)
        worked.append(time.process_time() - working)
        assert answer.status_code == 200, (path, answer.status_code)
        size = len(answer.content)
    return statistics.median(taken), statistics.median(worked), size


def paths_of(home: Home) -> list[str]:
    """The pages that are asked: the players, the inbox, and all of the player hit most."""
    with duckdb.connect(str(home.database), read_only=True) as connection:
        row = connection.execute(
            "SELECT player FROM shots GROUP BY player ORDER BY count(*) DESC, player LIMIT 1"
        ).fetchone()
    assert row is not None
    base = f"/players/{file_word(str(row[0]))}"
    own = [f"{base}/{word}" if word else base for word in SCREENS]
    return ["/players", "/inbox", *own, f"{base}/card", f"{base}.json"]


def figures(quick: bool) -> Iterator[Figure]:
    """What each page takes."""
    players, sessions, times = (3, 10, 3) if quick else (100, 500, 7)
    with large_home(players, sessions) as home, come_in(client_of(home)) as client:
        beside = 1e3 * json_s()
        for path in paths_of(home):
            seconds, _, _ = seconds_of(client, path, times)
            yield Figure(f"page {path}", 1e3 * seconds, "ms", JSON, beside, 1e3 * LARGE_BAR_S)


def main() -> int:
    """Print the figures; return 1 if a bar is missed, but in quick mode always 0."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="3 players with 10 sessions each")
    parser.add_argument("--home", type=Path, help="a home that is there, not to be changed")
    words = parser.parse_args()
    if words.home:
        return print_seconds(Home(words.home), DEMO_BAR_S, 7)
    players, sessions, times = (3, 10, 1) if words.quick else (100, 500, 7)
    with large_home(players, sessions) as home:
        missed = print_seconds(home, LARGE_BAR_S, times)
    return 0 if words.quick else missed


def print_seconds(home: Home, bar_s: float, times: int) -> int:
    """Print what each page takes; 1 if one takes longer than the bar."""
    missed = 0
    with come_in(client_of(home)) as client:
        for path in paths_of(home):
            seconds, worked, size = seconds_of(client, path, times)
            missed |= seconds > bar_s
            print(
                f"{path:<34}{1000 * seconds:7.0f} ms{1000 * worked:7.0f} ms of processors"
                f"{size / 1000:8.0f} kB"
            )
    print(f"bar {1000 * bar_s:.0f} ms a page on two free cores")
    return missed


if __name__ == "__main__":
    sys.exit(main())
