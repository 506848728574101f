"""The writer's database: loading batches, reading players' shots, keeping fits.

The lake is the truth; this database holds the same batches in the form that SQL wants, and the
fits. It is private to the writer, who works under `writer_lock`. What other tools open is a copy
that `publishing` puts in place.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rangeledger.schemas.arrow import COMPANION_SCHEMAS
from rangeledger.schemas.columns import NAMES
from rangeledger.schemas.errors import HomeError
from rangeledger.warehouse import lake, ledger_file
from rangeledger.warehouse.asking import query as query
from rangeledger.warehouse.counting.follow import follow, names_differ
from rangeledger.warehouse.counting.player_names import other_names
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.settings import read_other_names
from rangeledger.warehouse.statements import create_relations, database_version

if TYPE_CHECKING:
    import polars as pl
    from duckdb import DuckDBPyConnection

_FILES_AT_ONCE = 100


@contextmanager
def open_ledger(home: Home, path: Path | None = None) -> Iterator[DuckDBPyConnection]:
    """Open the writer's database, bring it up to the lake, and close it again.

    A database of another version, and one that can't be opened because it is damaged, is made
    anew from the lake.

    Raises
    ------
    HomeError
        If the database and the lake contradict each other.
    StorageError
        If the database file can't be opened or written.
    """
    import duckdb

    target = path or home.ledger
    connection = ledger_file.connect(target)
    try:
        if stored_version(connection) not in (None, database_version()):
            connection.close()
            ledger_file.remove(target)
            connection = ledger_file.connect(target)
        connection.execute("SET TimeZone = 'UTC'")
        _ensure_relations(connection)
        catch_up(home, connection)
        yield connection
    except (
        duckdb.OperationalError, duckdb.InternalError, duckdb.FatalException, OSError
    ) as error:  # fmt: skip
        raise ledger_file.storage_error(target, error) from error
    finally:
        ledger_file.close(connection, target)


@contextmanager
def transaction(connection: DuckDBPyConnection) -> Iterator[None]:
    """Commit what the block did, or nothing of it."""
    import duckdb

    connection.execute("BEGIN")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        with suppress(duckdb.Error):  # a database that a fatal error closed has rolled back
            connection.execute("ROLLBACK")
        raise


def stored_version(connection: DuckDBPyConnection) -> int | None:
    """Version of the tables in a database; None where it has none yet."""
    found = connection.execute(
        "SELECT count(*) FROM duckdb_tables() WHERE schema_name='ledger' AND table_name='meta'"
    ).fetchone()
    if not found or not found[0]:
        return None
    row = connection.execute("SELECT database_version FROM ledger.meta").fetchone()
    return int(row[0]) if row else None


def _ensure_relations(connection: DuckDBPyConnection) -> None:
    if stored_version(connection) == database_version():
        return
    with transaction(connection):
        connection.execute("CREATE SCHEMA IF NOT EXISTS ledger")
        create_relations(connection)
        connection.execute("INSERT INTO ledger.meta VALUES (?)", [database_version()])


def catch_up(home: Home, connection: DuckDBPyConnection) -> None:
    """Load the lake's batches and decisions that the database lacks.

    A batch counts from the moment its marker is in the lake. If the process dies between the
    lake and the database, this is where the load is completed.
    """
    rows = connection.execute("SELECT batch FROM ledger.batches").fetchall()
    loaded = {int(row[0]) for row in rows}
    there = lake.batch_numbers(home)
    if loaded - set(there):
        raise HomeError(
            f"The database of {home.root} knows loads that the lake does not have. "
            "Restore the lake, or run 'rangeledger rebuild' to follow the lake as it is."
        )
    missing = [number for number in there if number not in loaded]
    decisions = lake.read_decisions(home)
    decided = connection.execute("SELECT count(*) FROM ledger.decisions").fetchall()[0][0]
    others = read_other_names(home)
    changed = decided != len(decisions) or names_differ(connection, other_names(others, decisions))
    if missing or changed:
        with transaction(connection):
            _load_batches(home, connection, missing)
            follow(connection, missing, decisions, others)


def _load_batches(home: Home, connection: DuckDBPyConnection, numbers: Sequence[int]) -> None:
    """Insert batches of the lake, each exactly once.

    Raises
    ------
    HomeError
        If a Parquet file of a batch is missing: the counts must agree with the markers.
    """
    batches = [lake.read_batch(home, number) for number in numbers]
    if not batches:
        return
    _insert_markers(connection, batches)
    for paths in _in_pieces([str(path) for path in lake.shot_files(home, numbers)]):
        _insert_shots(connection, paths)
    for kind in COMPANION_SCHEMAS:
        for paths in _in_pieces([str(p) for p in lake.companion_files(home, kind, numbers)]):
            _insert_companions(connection, kind, paths)
    _check_counts(connection, batches)


def _in_pieces(paths: Sequence[str]) -> list[list[str]]:
    """Parts of a list of files: DuckDB keeps all that one statement reads open until its end."""
    starts = range(0, len(paths), _FILES_AT_ONCE)
    return [list(paths[start : start + _FILES_AT_ONCE]) for start in starts]


def _insert_markers(connection: DuckDBPyConnection, batches: Sequence[lake.Batch]) -> None:
    import polars as pl

    loads = pl.DataFrame(
        [(b.number, b.loaded_at) for b in batches], schema=["batch", "loaded_at"], orient="row"
    )
    offers = pl.DataFrame([offer_row(b, *numbered) for b in batches
                           for numbered in enumerate(b.offers, start=1)])  # fmt: skip
    connection.execute(
        "INSERT INTO ledger.batches SELECT batch, CAST(loaded_at AS TIMESTAMP) FROM loads"
    )
    if offers.height:
        connection.execute(
            "INSERT INTO ledger.offers BY NAME SELECT * REPLACE (zone::VARCHAR AS zone, "
            "exported_at::TIMESTAMP AS exported_at, modified_at::TIMESTAMP AS modified_at) "
            "FROM offers"
        )
    del loads, offers


def offer_row(batch: lake.Batch, place: int, offer: lake.Offer) -> dict[str, Any]:
    """An offer as a row of `ledger.offers`."""
    details = json.dumps(offer.details, ensure_ascii=False)
    known = {name: offer.details.get(name) for name in ("zone", "exported_at", "modified_at")}
    return {"batch": batch.number, "place": place} | asdict(offer) | known | {"details": details}


_NUMBER_OF_FILE = "CAST(regexp_extract(filename, '(\\d+)\\.parquet$', 1) AS INTEGER)"


def _insert_shots(connection: DuckDBPyConnection, paths: list[str]) -> None:
    """Insert files in batch order; a column that was not known when a file was written is NULL."""
    union = not set(NAMES) <= lake.columns_of(Path(paths[0]))
    connection.execute(
        f"INSERT INTO ledger.shots BY NAME SELECT {_NUMBER_OF_FILE} AS batch, * EXCLUDE (filename) "
        f"FROM read_parquet(?, filename=true, hive_partitioning=false, union_by_name={union})",
        [paths],
    )


def _insert_companions(connection: DuckDBPyConnection, kind: str, paths: list[str]) -> None:
    columns = ", ".join(COMPANION_SCHEMAS[kind])
    connection.execute(
        f"INSERT INTO ledger.{kind} BY NAME SELECT {_NUMBER_OF_FILE} AS batch, {columns} "
        "FROM read_parquet(?, filename=true, hive_partitioning=false)",
        [paths],
    )


def _check_counts(connection: DuckDBPyConnection, batches: Sequence[lake.Batch]) -> None:
    numbers = [batch.number for batch in batches]
    counts = [
        dict(
            connection.execute(
                f"SELECT batch, count(*) FROM ledger.{table} "
                "WHERE batch IN (SELECT unnest(?)) GROUP BY batch",
                [numbers],
            ).fetchall()
        )
        for table in ("shots", *COMPANION_SCHEMAS)
    ]
    for batch in batches:
        found = [counted.get(batch.number, 0) for counted in counts]
        stated = _stated_counts(batch)
        if found != stated:
            raise HomeError(
                f"Load {batch.name} of the lake should hold {_summary(stated)} but holds "
                f"{_summary(found)}. Restore its Parquet files from a backup."
            )


def _stated_counts(batch: lake.Batch) -> list[int]:
    """Shots, rejected rows, other lines and remarks that a marker states."""
    rows = [(o.shots, o.rejected, o.other_lines or 0, o.remarks or 0) for o in batch.offers]
    return [sum(column) for column in zip(*rows, strict=True)] if rows else [0] * 4


def _summary(counts: Sequence[int]) -> str:
    shots, rejected, lines, remarks = counts
    return f"{shots} shots, {rejected} rejected rows, {lines} other lines and {remarks} remarks"


def loaded_files(connection: DuckDBPyConnection, hashes: Sequence[str]) -> dict[str, str]:
    """File name under which each of some content hashes was loaded."""
    rows = connection.execute(
        "SELECT source_file, any_value(file_name) FROM ledger.offers "
        "WHERE source_file IN (SELECT unnest(?)) AND starts_with(state, 'loaded') GROUP BY ALL",
        [list(hashes)],
    ).fetchall()
    return {str(source): str(name) for source, name in rows}


def taken_out_files(connection: DuckDBPyConnection) -> dict[str, str]:
    """Content hash and file name of each export that was taken out: nothing of it counts."""
    rows = connection.execute(
        "SELECT DISTINCT s.source_file FROM ledger.replaced_shots AS r "
        "INNER JOIN ledger.shots AS s ON s.shot_id = r.shot_id WHERE r.by_shot IS NULL"
    ).fetchall()
    return loaded_files(connection, [str(source) for (source,) in rows])


def unfitted_players(connection: DuckDBPyConnection, model_version: str) -> list[str]:
    """Players whose shots, decisions or model are not those that their fits were made from, sorted.

    A player whose shots are all gone to others is among them as long as there are fits.
    """
    rows = connection.execute(
        """
        SELECT coalesce(now.player, done.player) AS player
        FROM ledger.counted_players AS now
        FULL JOIN fits.players AS done ON done.player = now.player
        WHERE now.player IS NULL OR done.player IS NULL
            OR done.fingerprint <> now.fingerprint OR done.model_version <> ?
        ORDER BY ALL
        """,
        [model_version],
    ).fetchall()
    return [str(row[0]) for row in rows]


def fingerprints(connection: DuckDBPyConnection) -> dict[str, int]:
    """Checksum of what each player's fits are to be made from."""
    rows = connection.execute("SELECT player, fingerprint FROM ledger.counted_players").fetchall()
    return {str(player): int(fingerprint) for player, fingerprint in rows}


def player_shots(connection: DuckDBPyConnection, player: str) -> pl.DataFrame:
    """All shots of a player that count, in a stable order, with columns `excluded` and `layout`.

    Of `extras` those of putts alone, in which a break may stand: others would only take memory.
    A shot that a newer export gives again is left out. The order (session, number, shot_id) does
    not depend on the order of loading.
    """
    return connection.execute(
        """
        WITH mine AS (
            SELECT shots.* EXCLUDE (batch) REPLACE (
                       CASE WHEN club = 'putter' THEN extras END AS extras
                   ),
                   coalesce(decided.excluded, false) AS excluded
            FROM ledger.counted_shots AS shots
            LEFT JOIN ledger.current_decisions AS decided USING (session_id)
            WHERE player = ?
        ),
        layouts AS (
            SELECT source_file, arg_max(details ->> '$.layout', batch) AS layout
            FROM ledger.offers
            WHERE starts_with(state, 'loaded')
                AND source_file IN (SELECT DISTINCT source_file FROM mine)
            GROUP BY source_file
        )
        SELECT mine.*, layouts.layout
        FROM mine
        LEFT JOIN layouts USING (source_file)
        ORDER BY struck_at, session_id, shot_number, shot_id
        """,
        [player],
    ).pl()


def replace_fits(
    connection: DuckDBPyConnection,
    player: str,
    fits: Mapping[str, pl.DataFrame],
    model_version: str,
) -> None:
    """Put a player's fits in place of the earlier ones, in one transaction.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
    player : str
    fits : mapping of str to polars.DataFrame
        Rows by table name in schema `fits`; columns are matched by name.
    model_version : str
    """
    with transaction(connection):
        earlier = _tables_with(connection, player, list(fits))
        for table, rows in fits.items():
            if table in earlier:
                connection.execute(f"DELETE FROM fits.{table} WHERE player = ?", [player])
            if rows.height:
                insert_fit(connection, table, rows)
        connection.execute("DELETE FROM fits.players WHERE player = ?", [player])
        connection.execute(
            "INSERT INTO fits.players SELECT c.player, c.batch, c.fingerprint, $2, b.loaded_at "
            "FROM ledger.counted_players AS c INNER JOIN ledger.batches AS b ON b.batch = c.batch "
            "WHERE c.player = $1",
            [player, model_version],
        )


def _tables_with(connection: DuckDBPyConnection, player: str, tables: Sequence[str]) -> set[str]:
    """Which of the tables of fits have rows of a player, asked at once: most have none."""
    asked = " UNION ALL ".join(
        f"SELECT '{table}' WHERE EXISTS (FROM fits.{table} WHERE player = $1)" for table in tables
    )
    return {row[0] for row in connection.execute(asked, [player]).fetchall()} if asked else set()


def drop_fits(connection: DuckDBPyConnection, player: str) -> None:
    """Remove the fits of a player who has no shots any more, in one transaction."""
    tables = connection.execute(
        "SELECT table_name FROM duckdb_tables() WHERE schema_name = 'fits' ORDER BY ALL"
    ).fetchall()
    with transaction(connection):
        for (table,) in tables:
            connection.execute(f"DELETE FROM fits.{table} WHERE player = ?", [player])


def insert_fit(connection: DuckDBPyConnection, table: str, rows: pl.DataFrame) -> None:
    """Insert rows by column name; a model's columns that the table does not keep are left out."""
    described = connection.execute(f"DESCRIBE fits.{table}").fetchall()
    kept = ", ".join(f'"{column[0]}"' for column in described if column[0] in rows.columns)
    connection.execute(f"INSERT INTO fits.{table} BY NAME SELECT {kept} FROM rows")
