"""The files that are served: the published database, and for some players a database of their own.

A path can be opened only once by a process while it changes underneath, so each publication gets a
folder of its own with a link to the published file. Whoever may see some players only is given a
file that holds nothing else: a filter in a view would not do, since a query can tell by its errors
and its time what a filter leaves out.
"""

from __future__ import annotations

import hashlib
import os
import shutil
from collections.abc import Sequence
from pathlib import Path

from rangeledger.warehouse.home import Home
from rangeledger.warehouse.statements import create_relations

DATABASE = "rangeledger"
# Tables of loads that name nobody; the others without player, session or shot stay empty.
_ABOUT_NOBODY = ("ledger.meta", "ledger.batches")
# Of whose rows a player's shots tell which are theirs, by the column that says so.
_KEYS = ("player", "session_id", "shot_id")
# A shot that was moved goes without the name under which it was recorded.
_COPY_SHOTS = """
    INSERT INTO ledger.shots BY NAME
    SELECT s.* REPLACE (w.player AS player)
    FROM source.ledger.shots AS s INNER JOIN wanted_shots AS w ON w.shot_id = s.shot_id"""


def served_folder(home: Home) -> Path:
    """Where the links and files that are served stand."""
    return home.state / "served"


def publication(home: Home) -> int | None:
    """What tells one publication from another; None where nothing is published."""
    try:
        return home.database.stat().st_ino
    except FileNotFoundError:
        return None


def scope_name(players: Sequence[str] | None) -> str:
    """Short name of a choice of players; 'all' for no choice."""
    if players is None:
        return "all"
    joined = "\0".join(sorted(players)).encode()
    return hashlib.sha256(joined).hexdigest()[:16]


def served_file(home: Home, number: int, players: Sequence[str] | None) -> Path:
    """The file to open for a choice of players and a publication, made if it is not there.

    Parameters
    ----------
    home : Home
    number : int
        Publication that the caller follows.
    players : sequence of str or None
        Players that may be seen; None for all.
    """
    folder = served_folder(home) / str(number)
    full_copy = folder / "all" / f"{DATABASE}.duckdb"
    if not full_copy.exists():
        _link(home, full_copy)
    if players is None:
        return full_copy
    part = folder / scope_name(players) / f"{DATABASE}.duckdb"
    if not part.exists():
        _extract(full_copy, part, players)
    return part


def _link(home: Home, target: Path) -> None:
    target.parent.mkdir(parents=True, exist_ok=True)
    unfinished = target.with_name(f".{os.getpid()}.link")
    try:
        os.link(home.database, unfinished)
    except OSError:  # another file system, or one that knows no links
        shutil.copyfile(home.database, unfinished)
    os.replace(unfinished, target)


def _extract(full_copy: Path, target: Path, players: Sequence[str]) -> None:
    """Copy what is known of some players into a database of the same tables and views."""
    import duckdb

    target.parent.mkdir(parents=True, exist_ok=True)
    unfinished = target.with_name(f".{os.getpid()}.duckdb")
    unfinished.unlink(missing_ok=True)
    with duckdb.connect(str(unfinished)) as connection:
        connection.execute("SET TimeZone = 'UTC'")
        create_relations(connection)
        quoted = str(full_copy).replace("'", "''")
        connection.execute(f"ATTACH '{quoted}' AS source (READ_ONLY)")
        # Shots stand under the names that exports gave, which may be other names of a player.
        connection.execute(
            "CREATE TEMP TABLE wanted AS SELECT unnest($1::VARCHAR[]) AS player UNION "
            "SELECT said FROM source.ledger.player_names WHERE list_contains($1, player)",
            [list(players)],
        )
        # Nor need an export say whose a shot is, where it was moved or a fuller one says it.
        connection.execute(
            "CREATE TEMP TABLE wanted_shots AS "
            "SELECT s.shot_id, s.session_id, coalesce(p.player, s.player) AS player "
            "FROM source.ledger.shots AS s "
            "LEFT JOIN source.ledger.placed_shots AS p ON p.shot_id = s.shot_id "
            "WHERE coalesce(p.player, s.player) IN (FROM wanted)"
        )
        _copy_tables(connection)
        connection.execute("DETACH source")
    os.replace(unfinished, target)


def _copy_tables(connection: object) -> None:
    from duckdb import DuckDBPyConnection

    assert isinstance(connection, DuckDBPyConnection)
    rows = connection.execute(
        "SELECT schema_name || '.' || table_name, list(column_name) FROM duckdb_columns() "
        "WHERE database_name = 'source' AND schema_name IN ('ledger', 'fits') "
        "AND table_name IN (SELECT table_name FROM duckdb_tables() "
        "WHERE database_name = 'source') GROUP BY ALL"
    ).fetchall()
    for table, columns in rows:
        if table == "ledger.shots":
            connection.execute(_COPY_SHOTS)
            continue
        condition = _rows_condition(str(table), columns)
        if condition:
            connection.execute(f"INSERT INTO {table} BY NAME FROM source.{table} WHERE {condition}")


def _rows_condition(table: str, columns: list[str]) -> str:
    """Condition on the rows of a table that belong to the wanted players; empty for none."""
    if table in _ABOUT_NOBODY:
        return "true"
    key = next((key for key in _KEYS if key in columns), None)
    if key is None:
        return ""
    if key == "player":
        return "player IN (FROM wanted)"
    return f"{key} IN (SELECT {key} FROM wanted_shots)"


def clear(home: Home, *keep: int) -> None:
    """Remove what was served before; files that are open stay readable for whoever has them."""
    try:
        folders = list(served_folder(home).iterdir())
    except FileNotFoundError:
        return
    for folder in folders:
        if folder.name not in map(str, keep):
            if folder.is_dir():
                shutil.rmtree(folder, ignore_errors=True)
            else:
                folder.unlink(missing_ok=True)
