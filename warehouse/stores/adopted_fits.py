"""Fits that were made from the same shots elsewhere, taken over instead of made again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from rangeledger.warehouse.database import insert_fit, transaction

if TYPE_CHECKING:
    import polars as pl
    from duckdb import DuckDBPyConnection


def adopt_fits(connection: DuckDBPyConnection, former: Path) -> None:
    """Copy the fits of players whose shots and decisions are the same in another database.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        A database just made from the lake.
    former : Path
        A database of the same version.
    """
    if not former.exists():
        return
    quoted = str(former).replace("'", "''")
    connection.execute(f"ATTACH '{quoted}' AS former (READ_ONLY)")
    try:
        tables = connection.execute(
            "SELECT table_name FROM duckdb_tables() WHERE schema_name = 'fits' "
            "AND database_name = current_database() ORDER BY ALL"
        ).fetchall()
        unchanged = (
            "SELECT done.player FROM former.fits.players AS done "
            "INNER JOIN ledger.counted_players AS now ON now.player = done.player "
            "WHERE now.fingerprint = done.fingerprint AND now.batch = done.batch"
        )
        with transaction(connection):
            for (table,) in tables:
                connection.execute(
                    f"INSERT INTO fits.{table} BY NAME SELECT * FROM former.fits.{table} "
                    f"WHERE player IN ({unchanged})"
                )
    finally:
        connection.execute("DETACH former")


def unfitted_counts(connection: DuckDBPyConnection, model_version: str) -> pl.DataFrame:
    """What the fits of players who lack theirs are to be made from.

    Returns
    -------
    polars.DataFrame
        `player`, `batch` and `fingerprint`, as text: no frame that is scanned takes its numbers.
    """
    return connection.execute(
        "SELECT now.player, now.batch, now.fingerprint::VARCHAR AS fingerprint "
        "FROM ledger.counted_players AS now "
        "LEFT JOIN fits.players AS done ON done.player = now.player "
        "AND done.fingerprint = now.fingerprint AND done.model_version = ? "
        "WHERE done.player IS NULL ORDER BY ALL",
        [model_version],
    ).pl()


def put_fits(
    connection: DuckDBPyConnection, players: Sequence[str], fits: Mapping[str, pl.DataFrame]
) -> None:
    """Put the fits of some players in place of the earlier ones, in one transaction.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
    players : sequence of str
    fits : mapping of str to polars.DataFrame
        Rows by table of the schema `fits`, that of the players themselves too.
    """
    if not players:
        return
    with transaction(connection):
        for table, rows in fits.items():
            connection.execute(
                f"DELETE FROM fits.{table} WHERE list_contains($1, player)", [list(players)]
            )
            if rows.height:
                insert_fit(connection, table, rows)
