"""What one more visit costs as a shared store grows, and what the store grows to.

    python -m tests.benchmarks.scale_store [--quick] [SHOTS ...]

Makes its own PostgreSQL and object store. Ten visits of a player are loaded as any, and copied by
SQL, under other names, until the store has so many shots (default 100,000 to 20,000,000): rows of
the catalog's tables, of the home's database, fits and markers; then the home publishes by itself.
The home's own Parquet of the copies is left out, which no step of a load reads. At each size a
process of its own loads further visits of 300 rows, from the file in the inbox to the answer of
the shared lake. `--quick` is small, so that the script can't rot; its numbers say nothing.
"""

from __future__ import annotations

import argparse
import json
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from rangeledger.pipelines.loading import inbox, load
from rangeledger.pipelines.loading.load_order import PLAIN, run_steps
from rangeledger.pipelines.running import fitting, ledger
from rangeledger.pipelines.stopwatch import step_times, timed
from rangeledger.schemas.arrow import COMPANION_SCHEMAS
from rangeledger.warehouse import database
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.settings import read_settings
from rangeledger.warehouse.stores import rows
from rangeledger.warehouse.stores.following import read_following, write_following
from rangeledger.warehouse.stores.steward import steward_of
from rangeledger.warehouse.stores.store import store_of

from tests.benchmarks.bench_service import export_text
from tests.services.object_store import running_object_store
from tests.services.postgres import running_postgres
from tests.services.shared_place import SharedPlace, lake_of

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

ROWS = 300
VISITS = 10
SIZES = (100_000, 1_000_000, 10_000_000, 20_000_000)
MEASURED = 3
_LOADED = ("batches", "offers", "shots", *COMPANION_SCHEMAS)
# How a column of a copy differs from the original's: `k` is the number of the copied player, whose
# loads come after that of the number `before`.
_OF_A_COPY = {
    "player": "'Player ' || k",
    "said": "'Player ' || k",
    "batch": "(t.batch + before)::INTEGER",
    "rank": "(t.rank + before)::INTEGER",
    "place": "(t.place + k)::INTEGER",
    "source_file": "sha256(k || t.source_file)",
    "shot_id": "printf('%016x', hash(k, left(t.shot_id, 16))) || substr(t.shot_id, 17)",
    "session_id": "left(sha256(k || t.session_id), 20)",
    "fingerprint": "hash(k, t.fingerprint)",
}
# Which rows of a table are copied, by the first of these columns that it has.
_ORIGINALS = {
    "player": "player = 'Player 0'",
    "said": "said = 'Player 0'",
    "batch": f"batch <= {VISITS}",
    "source_file": f"source_file IN (SELECT o.source_file FROM ledger.offers AS o "
    f"WHERE o.batch <= {VISITS})",
}


@dataclass(frozen=True, slots=True)
class Cost:
    """What was measured at one size."""

    shots: int
    filled_s: float
    visit_s: float
    processor_s: float
    bring_s: float
    steps: dict[str, float]
    catalog_rows: int
    catalog_mib: float
    files: int
    bucket_mib: float
    database_mib: float
    memory_mib: float


def measure(place: SharedPlace, home: Home, sizes: list[int]) -> Iterator[Cost]:
    """Grow a store from size to size, and measure at each."""
    for number in range(VISITS):
        _drop(home, number)
        ledger.load_plainly(home, inbox.waiting(home))
    ledger.complete(home)
    copied = 0
    for number, size in enumerate(sizes):
        began = time.monotonic()
        players = max(size // (VISITS * ROWS) - 1, copied)
        _copy(home, range(copied + 1, players + 1))
        copied = players
        ledger.complete(home)
        with steward_of(home) as steward:
            steward.tidy(0.0)
        filled = time.monotonic() - began
        for visit in range(1 + MEASURED):
            _drop(home, VISITS + number * (1 + MEASURED) + visit, 1)
        told = subprocess.run(
            [sys.executable, "-m", __spec__.name, "--load", str(home.root)],
            check=True, stdout=subprocess.PIPE, text=True,
        ).stdout  # fmt: skip
        yield Cost(size, filled, **json.loads(told), **_grown(place, home))


def _drop(home: Home, number: int, player: int = 0) -> None:
    text = export_text(ROWS, number, players=1).replace("Player 0", f"Player {player}")
    (home.inbox / f"{number:05d}.csv").write_text(text)


def _copy(home: Home, players: range) -> None:
    """Copy the first visits' loads, and all that follows from them, for more players."""
    if not players:
        return
    with store_of(home).turn():
        with database.open_ledger(home) as connection:
            added = _copy_in_the_home(connection, players)
        _copy_in_the_lake(home, added)
        for number in range(*added):
            marker = {"number": number, "loaded_at": "2026-01-01T00:00:00.000", "offers": []}
            (home.lake / "batches" / f"{number:08d}.json").write_text(json.dumps(marker))
        (home.state / "settled").write_text(str(added[1] - 1))


def _copy_in_the_home(connection: DuckDBPyConnection, players: range) -> tuple[int, int]:
    """Copy rows of the home's database; the numbers of the loads that were added."""
    first = connection.execute("SELECT max(batch) + 1 FROM ledger.batches").fetchall()[0][0]
    tables = connection.execute(
        "SELECT schema_name || '.' || table_name FROM duckdb_tables() "
        "WHERE schema_name IN ('ledger', 'fits') AND table_name <> 'meta' ORDER BY ALL"
    ).fetchall()
    with database.transaction(connection):
        for (table,) in tables:
            names = [row[0] for row in connection.execute(f"DESCRIBE {table}").fetchall()]
            which = next((_ORIGINALS[name] for name in _ORIGINALS if name in names), None)
            if which is None:
                continue
            said = {name: how for name, how in _OF_A_COPY.items() if name in names}
            if table != "ledger.player_names":
                said.pop("place", None)  # within a load or a line, not among players
            words = ", ".join(f"{how} AS {name}" for name, how in said.items())
            connection.execute(
                f"INSERT INTO {table} BY NAME SELECT t.* REPLACE ({words}) "
                f"FROM (FROM {table} WHERE {which}) AS t, (SELECT unnest(range("
                f"{players.start}, {players.stop})) AS k) AS copies, "
                f"(SELECT {first} + (k - {players.start}) * {VISITS} - 1) AS loads(before) "
                "ORDER BY k"
            )
    return first, first + len(players) * VISITS


def _copy_in_the_lake(home: Home, added: tuple[int, int]) -> None:
    shared = store_of(home)
    connection, known = shared.lake, rows.read_head(shared.lake)
    connection.execute(f"ATTACH '{home.ledger}' AS ours (READ_ONLY)")
    with rows.adding(connection, known, replace(known, batch=added[1] - 1)):
        for table in _LOADED:
            connection.execute(
                f"INSERT INTO loads.{table} BY NAME SELECT * FROM ours.ledger.{table} "
                f"WHERE batch >= {added[0]}"
            )
    connection.execute("DETACH ours")


def _load(home: Home) -> dict[str, object]:
    """Load what waits, visit by visit, until the lake says so; what that took."""
    waiting = inbox.waiting(home)
    taken, used, steps = [], [], []
    following = read_following(home)
    began = time.monotonic()
    write_following(home, replace(following, snapshot=-1))
    with store_of(home).turn():
        bring = time.monotonic() - began
    reader = lake_of(home)
    for one in waiting:
        before = _seen(reader)
        began, before_used = time.monotonic(), time.process_time()
        with step_times() as timing:
            _take_in(home, [one])
        while _seen(reader) != before + ROWS:
            pass
        taken.append(time.monotonic() - began)
        used.append(time.process_time() - before_used)
        steps.append(timing)
    return {
        "visit_s": statistics.median(taken[1:]),
        "processor_s": statistics.median(used[1:]),
        "bring_s": bring,
        "steps": {name: statistics.median(s[name] for s in steps[1:]) for name in steps[-1]},
        "memory_mib": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
    }


def _take_in(home: Home, batch: list[inbox.Offered]) -> None:
    """A load up to its publication, as the flow takes it, each step timed."""
    with store_of(home).turn():
        timed(load.recover, "recover")(home)
        with database.open_ledger(home) as connection:
            settings = read_settings(home)
            run_steps(PLAIN.wrapped(timed), home, connection, settings, batch)
            timed(fitting.fit_changed, "fit")(home, connection, settings)
        timed(store_of(home).publish, "publish")()


def _seen(reader: DuckDBPyConnection) -> int:
    question = "SELECT count(*) FROM shots WHERE player = 'Player 1'"
    return int(reader.execute(question).fetchall()[0][0])


def _grown(place: SharedPlace, home: Home) -> dict[str, float]:
    import psycopg

    with psycopg.connect(place.postgres.conninfo(place.database)) as connection:
        connection.execute("ANALYZE")
        found = connection.execute(
            "SELECT pg_database_size(current_database()), (SELECT sum(reltuples)::bigint "
            "FROM pg_class WHERE relname LIKE 'ducklake%' AND relkind = 'r' AND reltuples > 0)"
        ).fetchone()
    bucket = place.objects.folder / place.bucket
    files = [path for path in bucket.rglob("*") if path.is_file()]
    return {
        "catalog_rows": int(found[1]),
        "catalog_mib": found[0] / 2**20,
        "files": len(files),
        "bucket_mib": sum(path.stat().st_size for path in files) / 2**20,
        "database_mib": home.database.stat().st_size / 2**20,
    }


HEADINGS = (
    "shots", "visit s", "ratio", "processor s", "ratio", "of it store", "fit", "publish", "bring s",
    "catalog rows", "catalog MiB", "files", "bucket MiB", "database MiB", "memory MiB", "filled s",
)  # fmt: skip


def line(cost: Cost, first: Cost) -> str:
    """A line of the table."""
    cells = (
        f"{cost.shots:,}", f"{cost.visit_s:.2f}", f"{cost.visit_s / first.visit_s:.2f}",
        f"{cost.processor_s:.2f}", f"{cost.processor_s / first.processor_s:.2f}",
        *(f"{cost.steps[step]:.2f}" for step in ("store", "fit", "publish")),
        f"{cost.bring_s:.2f}", f"{cost.catalog_rows:,}", f"{cost.catalog_mib:.0f}",
        f"{cost.files:,}", f"{cost.bucket_mib:,.0f}", f"{cost.database_mib:,.0f}",
        f"{cost.memory_mib:,.0f}", f"{cost.filled_s:.0f}",
    )  # fmt: skip
    return "| " + " | ".join(cells) + " |"


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("sizes", nargs="*", type=int, default=SIZES)
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--load", type=Path)
    said = parser.parse_args()
    if said.load is not None:
        print(json.dumps(_load(Home(said.load))))
        return
    sizes = [6_000, 12_000] if said.quick else sorted(said.sizes)
    with (
        tempfile.TemporaryDirectory() as folder,
        running_postgres() as postgres,
        running_object_store(Path(folder)) as objects,
    ):
        place = SharedPlace(postgres, objects)
        with place.closing:
            home = place.home(Path(folder, "home"), place.academy())
            print("| " + " | ".join(HEADINGS) + " |", "|---" * len(HEADINGS) + "|", sep="\n")
            first = None
            for cost in measure(place, home, sizes):
                first = first or cost
                print(line(cost, first), flush=True)


if __name__ == "__main__":
    main()
