"""What a shared lake shows its readers: what a home works out from the loads, by player.

A publication appends the rows of those players for whom something changed, under its number. A
player's digest tells whether anything did: it is one number of all rows that go by the player.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl
from rangeledger.warehouse.database import transaction
from rangeledger.warehouse.published import opened
from rangeledger.warehouse.stores.layout import PLACED, shown_tables

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

_DIGESTS = f"""
    CREATE OR REPLACE TEMP TABLE ours_digests AS
    SELECT player, bit_xor(hash(part))::UBIGINT AS digest FROM (
        SELECT player, hash('counted', batch, shots, fingerprint) AS part
        FROM ours.ledger.counted_players
        UNION ALL SELECT player, hash('fitted', fingerprint, model_version, fitted_at)
        FROM ours.fits.players
        {
    "".join(
        f"UNION ALL SELECT player, hash('{table}', t) FROM ours.ledger.{table} AS t "
        for table in PLACED
    )
}
    ) GROUP BY player"""
_CHANGED = """
    SELECT coalesce(now.player, former.player)
    FROM ours_digests AS now
    FULL JOIN (
        SELECT d.player, d.digest FROM shown.digests AS d
        SEMI JOIN shown.newest AS n ON n.player = d.player AND n.publication = d.publication
        WHERE d.digest IS NOT NULL
    ) AS former ON former.player = now.player
    WHERE now.digest IS DISTINCT FROM former.digest ORDER BY ALL"""


@contextmanager
def _with_ours(connection: DuckDBPyConnection, database: Path) -> Iterator[None]:
    """Have a home's database at hand under the name `ours`."""
    quoted = str(database).replace("'", "''")
    connection.execute(f"ATTACH '{quoted}' AS ours (READ_ONLY)")
    try:
        yield
    finally:
        connection.execute("DETACH ours")


def changed_players(connection: DuckDBPyConnection) -> list[str]:
    """Players for whom a home's database, attached as `ours`, says something else than is shown."""
    connection.execute(_DIGESTS)
    return [str(row[0]) for row in connection.execute(_CHANGED).fetchall()]


def show(
    connection: DuckDBPyConnection,
    database: Path,
    loaded: int,
    decided: int,
) -> list[str]:
    """Show readers what a home's database says, in one transaction, alone.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        The lake.
    database : Path
        A database that was made from all loads and decisions of the store.
    loaded, decided : int
        Numbers of the last load and decision in it.

    Returns
    -------
    list of str
        Players for whom something changed.
    """
    with _with_ours(connection, database):
        players = changed_players(connection)
        with transaction(connection):
            _append(connection, players, loaded, decided)
            _replace_small(connection, database)
    return players


def _append(
    connection: DuckDBPyConnection, players: Sequence[str], loaded: int, decided: int
) -> None:
    number = newest_publication(connection) + 1
    connection.execute("INSERT INTO shown.publications VALUES (?, ?, ?)", [number, loaded, decided])
    if not players:
        return
    parameters = [list(players)]
    for schema, table in shown_tables(connection):
        connection.execute(
            f"INSERT INTO shown.{table} BY NAME SELECT {number}::INTEGER AS publication, t.* "
            f"FROM ours.{schema}.{table} AS t WHERE list_contains($1, t.player)", parameters,
        )  # fmt: skip
    connection.execute(
        f"INSERT INTO shown.digests SELECT {number}, p.player, d.digest "
        "FROM (SELECT unnest($1) AS player) AS p LEFT JOIN ours_digests AS d USING (player)",
        parameters,
    )


def _replace_small(connection: DuckDBPyConnection, database: Path) -> None:
    """Replace the few rows that go by no player, where they differ."""
    if not connection.execute("SELECT count(*) FROM shown.columns").fetchall()[0][0]:
        with opened(database) as ours:  # the dictionary is of all databases that are attached
            columns = ours.execute("FROM data_dictionary").pl().with_row_index("place")
        connection.register("columns_of_ours", columns.to_arrow())
        connection.execute("INSERT INTO shown.columns BY NAME FROM columns_of_ours")
        connection.unregister("columns_of_ours")
    differ = connection.execute(
        "SELECT count(*) FROM ((FROM ours.ledger.current_decisions EXCEPT "
        "FROM shown.current_decisions) UNION ALL (FROM shown.current_decisions EXCEPT "
        "FROM ours.ledger.current_decisions))"
    ).fetchall()[0][0]
    if differ:
        connection.execute("DELETE FROM shown.current_decisions")
        connection.execute("INSERT INTO shown.current_decisions FROM ours.ledger.current_decisions")


def newest_publication(connection: DuckDBPyConnection) -> int:
    """Number of the newest publication; 0 where there is none."""
    row = connection.execute("SELECT coalesce(max(publication), 0) FROM shown.publications")
    return int(row.fetchall()[0][0])


def shown_up_to(connection: DuckDBPyConnection) -> tuple[int, int]:
    """Numbers of the last load and decision that readers see."""
    rows = connection.execute(
        "SELECT batch, decision FROM shown.publications ORDER BY publication DESC LIMIT 1"
    ).fetchall()
    return (int(rows[0][0]), int(rows[0][1])) if rows else (0, 0)


def fits_of_other_homes(
    connection: DuckDBPyConnection, unfitted: pl.DataFrame, model_version: str
) -> tuple[list[str], dict[str, pl.DataFrame]]:
    """Fits that are shown of the very shots that some players have now.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        The lake.
    unfitted : polars.DataFrame
        `player`, `batch` and `fingerprint` (as text) of what counts now.
    model_version : str

    Returns
    -------
    players : list of str
        Those of whom there are such fits.
    fits : dict of str to polars.DataFrame
        Their rows by table of the schema `fits`.
    """
    connection.register("wanted_fits", unfitted.to_arrow())
    try:
        rows = connection.execute(
            "SELECT done.player FROM fits.players AS done INNER JOIN wanted_fits AS w "
            "ON w.player = done.player AND w.batch = done.batch "
            "AND w.fingerprint = done.fingerprint::VARCHAR "
            "WHERE done.model_version = ? ORDER BY ALL",
            [model_version],
        ).fetchall()
    finally:
        connection.unregister("wanted_fits")
    players = [str(row[0]) for row in rows]
    tables = [table for schema, table in shown_tables(connection) if players and schema == "fits"]
    filled = _filled(connection, tables, players)
    fits = {
        table: connection.execute(
            f"SELECT * FROM fits.{table} WHERE list_contains($1, player)", [players]
        ).pl()
        if table in filled
        else pl.DataFrame()
        for table in tables
    }
    return players, fits


def _filled(
    connection: DuckDBPyConnection, tables: Sequence[str], players: Sequence[str]
) -> set[str]:
    """Which of the tables of fits have rows of some players, asked at once: most have none."""
    asked = " UNION ALL ".join(
        f"SELECT '{table}' WHERE EXISTS (FROM fits.{table} WHERE list_contains($1, player))"
        for table in tables
    )
    rows = connection.execute(asked, [list(players)]).fetchall() if asked else []
    return {str(row[0]) for row in rows}
