"""Keeping a shared lake small: files merged, what no reader needs expired, orphans removed.

It may run beside loads, which append. Two of it on one lake would get in each other's way, so it
holds a lock of its own.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from rangeledger.warehouse.database import transaction
from rangeledger.warehouse.stores.layout import shown_tables

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

# How long former snapshots stay, so that a reader in the midst of a question keeps its files.
KEEP_HOURS = 24


class Tidied(NamedTuple):
    """What a tidying did."""

    files_before: int
    files_after: int
    snapshots_expired: int
    files_removed: int


def drop_former_publications(connection: DuckDBPyConnection) -> None:
    """Delete the rows of publications that newer ones have replaced; to be called alone."""
    with transaction(connection):
        for _, table in [*shown_tables(connection), ("", "digests")]:
            connection.execute(
                f"DELETE FROM shown.{table} AS t USING shown.newest AS n "
                "WHERE n.player = t.player AND t.publication < n.publication"
            )
        connection.execute(
            "DELETE FROM shown.publications "
            "WHERE publication < (SELECT max(publication) FROM shown.publications)"
        )


def tidy_lake(connection: DuckDBPyConnection, keep_hours: float = KEEP_HOURS) -> Tidied:
    """Merge small files, expire former snapshots, and remove files that nothing needs.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        The lake.
    keep_hours : float
        How long [h] former snapshots, and files of interrupted loads, stay.
    """
    before = _files(connection)
    connection.execute("CALL ducklake_merge_adjacent_files('lake')")
    expired, removed = _expire(connection, keep_hours)
    orphans = connection.execute(
        "CALL ducklake_delete_orphaned_files('lake', "
        f"older_than => now() - INTERVAL '{keep_hours * 3600:.0f} seconds')"
    ).fetchall()
    return Tidied(before, _files(connection), expired, removed + len(orphans))


def purge_lake(connection: DuckDBPyConnection) -> None:
    """Rewrite the files that still hold deleted rows, and remove every former version at once."""
    connection.execute("CALL ducklake_rewrite_data_files('lake', delete_threshold => 0)")
    _expire(connection, 0.0)


def _expire(connection: DuckDBPyConnection, keep_hours: float) -> tuple[int, int]:
    since = f"now() - INTERVAL '{keep_hours * 3600:.0f} seconds'"
    expired = connection.execute(
        f"CALL ducklake_expire_snapshots('lake', older_than => {since})"
    ).fetchall()
    removed = connection.execute(
        f"CALL ducklake_cleanup_old_files('lake', older_than => {since})"
    ).fetchall()
    return len(expired), len(removed)


def _files(connection: DuckDBPyConnection) -> int:
    rows = connection.execute("SELECT sum(file_count) FROM ducklake_table_info('lake')").fetchall()
    return int(rows[0][0] or 0)
