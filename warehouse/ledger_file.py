"""The file of the writer's database: opening it, and what to do when it can't be used.

It holds nothing that the lake does not, so a damaged one is set aside and made anew.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from rangeledger.schemas.errors import BusyError, RangeledgerError, StorageError
from rangeledger.warehouse.system.durable_files import sync_folder

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

# What the database says when the machine is at fault, not the file.
_MACHINE_FAULTS = ("no space", "permission denied", "read-only", "too many open", "cannot open",
                   "out of memory", "input/output error", "file too large", "quota")  # fmt: skip


def connect(target: Path) -> DuckDBPyConnection:
    """Open a database file for writing; a damaged one is set aside and begun anew.

    Raises
    ------
    BusyError
        If another process has it open.
    StorageError
        If the machine refuses.
    """
    import duckdb

    try:
        return duckdb.connect(str(target))
    except duckdb.Error as error:
        message = str(error).lower()
        if "lock" in message and "conflict" in message:
            raise BusyError(
                f"Another program has {target} open: {first_line(error)}. It belongs to "
                "rangeledger alone; open the published database instead."
            ) from error
        if any(phrase in message for phrase in _MACHINE_FAULTS) or not target.exists():
            raise storage_error(target, error) from error
    set_apart(target)
    try:
        return duckdb.connect(str(target))
    except duckdb.Error as error:
        raise storage_error(target, error) from error


def close(connection: DuckDBPyConnection, target: Path) -> None:
    """Close a database, which writes its log out into its file.

    Raises
    ------
    StorageError
        If the machine refuses.
    """
    import duckdb

    try:
        connection.close()
    except duckdb.Error as error:
        raise storage_error(target, error) from error


def set_apart(target: Path) -> None:
    """Rename a damaged database out of the way; one such file is kept."""
    os.replace(target, target.with_name(f"{target.name}.damaged"))
    log = target.with_name(f"{target.name}.wal")
    log.unlink(missing_ok=True)


def remove(target: Path) -> None:
    """Remove a database file and its write-ahead log."""
    target.unlink(missing_ok=True)
    target.with_name(f"{target.name}.wal").unlink(missing_ok=True)


def put_in_place(built: Path, target: Path) -> None:
    """Let a database that was closed take the place of another, durably.

    Should the machine stop in between, the lake has what a lost log held.
    """
    target.with_name(f"{target.name}.wal").unlink(missing_ok=True)
    os.replace(built, target)
    sync_folder(target.parent)


def storage_error(target: Path, error: BaseException) -> RangeledgerError:
    """Sentence for a machine that refused while the database was opened or written."""
    message = str(error).lower()
    if ("corrupt" in message or "checksum" in message) and target.exists():
        set_apart(target)
        return StorageError(
            f"The database {target.name} was damaged ({first_line(error)}). It is set aside; "
            "run the same command again and it is made anew from the lake."
        )
    if isinstance(error, OSError) and error.filename:
        problem = f"The machine refused: {error.strerror} ({error.filename})"
    else:
        problem = f"The machine refused while {target.name} was used: {first_line(error)}"
    return StorageError(
        f"{problem}. Free space or permission is needed; nothing that was offered is lost."
    )


def first_line(error: BaseException) -> str:
    """First line of an error's text, without its full stop."""
    return str(error).strip().splitlines()[0].rstrip(".!") if str(error).strip() else "no detail"
