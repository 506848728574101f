"""Publishing: the copy of the database that other tools open.

A reader never waits and never sees a part, because the copy takes the former one's place in one
rename; the writer never waits for a reader, because nobody else opens its own database.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Collection
from pathlib import Path

from rangeledger.schemas.errors import StorageError
from rangeledger.warehouse import database, lake, ledger_file
from rangeledger.warehouse.counting.follow import names_differ
from rangeledger.warehouse.counting.player_names import other_names
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.settings import read_other_names
from rangeledger.warehouse.statements import database_version
from rangeledger.warehouse.system.durable_files import clone, sync_folder


def publish(home: Home) -> None:
    """Put a copy of the writer's database in place of the published one, in one rename.

    Call it under the writer lock with the database closed. A reader that has the former copy
    open keeps it until it opens anew.

    Raises
    ------
    StorageError
        If the disk refuses; the former copy stays in place.
    """
    temporary = home.root / ".rangeledger.duckdb.tmp"
    _write_out_log(home.ledger)
    try:
        clone(home.ledger, temporary)
        if home.database.exists():  # who may read it stays as it was
            shutil.copymode(home.database, temporary)
        os.replace(temporary, home.database)
        sync_folder(home.root)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise StorageError(
            f"{home.database} can't be replaced ({error.strerror}). The shots are safe in the "
            "lake; free space or permission is needed, then run 'rangeledger fit'."
        ) from error


def _write_out_log(ledger: Path) -> None:
    """Have what a killed writer left in the write-ahead log written into the file."""
    if ledger.with_name(f"{ledger.name}.wal").exists():
        ledger_file.close(ledger_file.connect(ledger), ledger)


def unreadable(home: Home) -> str:
    """Why the published database can't be read to its end; empty if it can, or there is none."""
    import duckdb

    if not home.database.exists():
        return ""
    try:
        with duckdb.connect(str(home.database), read_only=True) as connection:
            rows = connection.execute(
                "SELECT schema_name || '.' || table_name FROM duckdb_tables() WHERE NOT internal"
            ).fetchall()
            for (table,) in rows:  # a sum over a hash of all columns reads every block
                connection.execute(f"SELECT sum(hash(t)) FROM {table} AS t").fetchall()
    except duckdb.Error as error:
        return ledger_file.first_line(error)
    return ""


def is_current(home: Home, model_version: str, failed: Collection[str] = ()) -> bool:
    """Whether the published database holds all loads and decisions of the lake, and their fits.

    Parameters
    ----------
    home : Home
    model_version : str
    failed : collection of str
        Players whose fits failed: to publish again would not mend them.
    """
    import duckdb

    decisions = lake.read_decisions(home)
    if not home.database.exists():
        return not lake.batch_numbers(home)
    try:
        with duckdb.connect(str(home.database), read_only=True) as connection:
            if database.stored_version(connection) != database_version():
                return False
            rows = connection.execute("SELECT batch FROM ledger.batches ORDER BY batch").fetchall()
            decided = connection.execute("SELECT count(*) FROM ledger.decisions").fetchone()
            unfitted = database.unfitted_players(connection, model_version)
            renamed = names_differ(connection, other_names(read_other_names(home), decisions))
    except duckdb.Error:
        return False
    return (
        [int(row[0]) for row in rows] == lake.batch_numbers(home)
        and decided == (len(decisions),)
        and not renamed
        and set(unfitted) <= set(failed)
    )
