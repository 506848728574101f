"""Loads and decisions of a shared lake: written in one transaction, brought into a home's lake."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import polars as pl
from rangeledger.schemas.arrow import COMPANION_SCHEMAS, shots_polars_schema
from rangeledger.schemas.errors import BusyError
from rangeledger.warehouse import lake
from rangeledger.warehouse.database import offer_row
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.stores.catalog import unreachable

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

# Loads are brought in pieces of about so many rows, which bounds the memory.
_ROWS_AT_ONCE = 500_000

ADDED_MEANWHILE = "Another home added to the shared store at the same time; try again."


@dataclass(frozen=True, slots=True)
class Head:
    """How far a store is: numbers of its last load, decision and removal."""

    batch: int
    decision: int
    removal: int


def read_head(connection: DuckDBPyConnection) -> Head:
    """How far the store is now."""
    return Head(
        *connection.execute("SELECT batch, decision, removal FROM loads.head").fetchall()[0]
    )


@contextmanager
def adding(connection: DuckDBPyConnection, known: Head, becomes: Head) -> Iterator[None]:
    """Add to the loads in one transaction, or nothing of it.

    The lock keeps others out. Should it be lost, as when the server starts anew, the row of the
    head does: of two transactions that replace it the second is refused.

    Raises
    ------
    BusyError
        If another home added something since `known`.
    StorageError
        If the store refuses.
    """
    import duckdb

    try:
        connection.execute("BEGIN")
        if read_head(connection) != known:
            raise BusyError(ADDED_MEANWHILE)
        yield
        connection.execute("DELETE FROM loads.head")
        connection.execute(
            "INSERT INTO loads.head VALUES (?, ?, ?)",
            [becomes.batch, becomes.decision, becomes.removal],
        )
        connection.execute("COMMIT")
    except duckdb.Error as error:
        _roll_back(connection)
        raise unreachable(error) from error
    except BaseException:
        _roll_back(connection)
        raise


def _roll_back(connection: DuckDBPyConnection) -> None:
    import duckdb

    with suppress(duckdb.Error):  # a refused commit has rolled back
        connection.execute("ROLLBACK")


def insert_batch(
    connection: DuckDBPyConnection, batch: lake.Batch, rows: Mapping[str, pl.DataFrame]
) -> None:
    """Insert a load, inside `adding`.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
    batch : Batch
    rows : mapping of str to polars.DataFrame
        Rows of `shots` and of each kind of `COMPANION_SCHEMAS`.
    """
    connection.execute(
        "INSERT INTO loads.batches SELECT ?, ?::TIMESTAMP", [batch.number, batch.loaded_at]
    )
    offers = [offer_row(batch, *numbered) for numbered in enumerate(batch.offers, start=1)]
    if offers:
        _insert(connection, "offers", pl.DataFrame(offers, infer_schema_length=None))
    for table, frame in rows.items():
        if frame.height:
            _insert(connection, table, frame.with_columns(batch=pl.lit(batch.number, pl.Int32)))


def _insert(connection: DuckDBPyConnection, table: str, frame: pl.DataFrame) -> None:
    # A frame's name must be no relation's, which would be read in its place.
    connection.register("rows_to_add", frame.to_arrow())
    try:
        described = connection.execute(f"DESCRIBE loads.{table}").fetchall()
        kept = ", ".join(f'CAST("{c[0]}" AS {c[1]}) AS "{c[0]}"' for c in described)
        connection.execute(f"INSERT INTO loads.{table} BY NAME SELECT {kept} FROM rows_to_add")
    finally:
        connection.unregister("rows_to_add")


def pull_batches(connection: DuckDBPyConnection, home: Home) -> int:
    """Write the loads that a home's lake lacks into it; how many there were.

    All is read of one state of the store: of a load that another home commits meanwhile, the
    offers would be missing otherwise, and its shots there.
    """
    with _one_state(connection):
        return _pull(connection, home)


@contextmanager
def _one_state(connection: DuckDBPyConnection) -> Iterator[None]:
    """Read the store as it is at the first query, whatever is added meanwhile."""
    connection.execute("BEGIN")
    try:
        yield
    finally:
        _roll_back(connection)  # nothing was written


def _pull(connection: DuckDBPyConnection, home: Home) -> int:
    # By a join: a list would be gone through once for every load of the store.
    there = [lake.batch_numbers(home)]
    offers = connection.execute(
        "SELECT * FROM loads.offers WHERE batch NOT IN (SELECT unnest($1::INTEGER[])) "
        "ORDER BY batch, place",
        there,
    ).pl()
    loads = connection.execute(
        "SELECT batch, strftime(loaded_at, '%Y-%m-%dT%H:%M:%S.%g') FROM loads.batches "
        "WHERE batch NOT IN (SELECT unnest($1::INTEGER[])) ORDER BY batch",
        there,
    ).fetchall()
    by_batch = offers.partition_by("batch", as_dict=True)
    batches = []
    for number, loaded_at in loads:
        part = by_batch.get((number,), offers.clear())
        batches.append(lake.Batch(number, loaded_at, tuple(map(offer_of, part.to_dicts()))))
    for piece in _pieces(batches):
        _pull_chunk(connection, home, piece)
    return len(batches)


def offer_of(row: Mapping[str, Any]) -> lake.Offer:
    """The offer that a row of `loads.offers` states."""
    names = ("file_name", "source_file", "state", "reason", "shots", "rejected", "mapping",
             "seconds", "other_lines", "remarks")  # fmt: skip
    stated = {name: row[name] for name in names}
    return lake.Offer(**stated, details=json.loads(row["details"]))


def _pieces(batches: Sequence[lake.Batch]) -> Iterator[list[lake.Batch]]:
    piece: list[lake.Batch] = []
    rows = 0
    for batch in batches:
        piece.append(batch)
        rows += sum(o.shots + o.rejected + (o.other_lines or 0) for o in batch.offers)
        if rows >= _ROWS_AT_ONCE:
            yield piece
            piece, rows = [], 0
    if piece:
        yield piece


def _pull_chunk(connection: DuckDBPyConnection, home: Home, piece: Sequence[lake.Batch]) -> None:
    span = [piece[0].number, piece[-1].number]
    schemas = {"shots": shots_polars_schema(), **COMPANION_SCHEMAS}
    found = {table: _rows_between(connection, table, span, schemas[table]) for table in schemas}
    for batch in piece:
        rows = {table: found[table].get((batch.number,), pl.DataFrame(schema=schemas[table]))
                for table in schemas}  # fmt: skip
        lake.write_batch(home, batch, rows["shots"], *(rows[kind] for kind in COMPANION_SCHEMAS))


def _rows_between(
    connection: DuckDBPyConnection, table: str, span: Sequence[int], schema: pl.Schema
) -> dict[tuple[Any, ...], pl.DataFrame]:
    order = "shot_id" if table == "shots" else "ALL"
    rows = connection.execute(
        f"SELECT * FROM loads.{table} WHERE batch BETWEEN ? AND ? ORDER BY {order}", list(span)
    ).pl()
    columns = [_as_in_a_lake(name, kind) for name, kind in schema.items()]
    return {
        key: part.select(columns)
        for key, part in rows.partition_by("batch", as_dict=True, maintain_order=True).items()
    }


def _as_in_a_lake(name: str, kind: pl.DataType) -> pl.Expr:
    column = pl.col(name)
    if isinstance(kind, pl.Datetime):
        column = column.dt.replace_time_zone("UTC")
    return column.cast(kind)


def insert_decision(
    connection: DuckDBPyConnection, number: int, decided: Mapping[str, Any]
) -> None:
    """Insert a decision, inside `adding`."""
    connection.execute(
        "INSERT INTO loads.decisions VALUES (?, ?)",
        [number, json.dumps(decided, ensure_ascii=False)],
    )


def pull_decisions(connection: DuckDBPyConnection, home: Home) -> int:
    """Write the decisions that a home's lake lacks into it; how many there were."""
    there = {number for number, _ in lake.decision_files(home)}
    rows = connection.execute("SELECT decision, said FROM loads.decisions ORDER BY decision")
    missing = [(int(number), str(text)) for number, text in rows.fetchall() if number not in there]
    for number, text in missing:
        lake.write_decision(home, json.loads(text), number)
    return len(missing)
