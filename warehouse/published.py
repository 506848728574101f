"""The published database, opened for reading."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from rangeledger.schemas.errors import NothingPublishedError, OtherVersionError, StorageError
from rangeledger.warehouse.home import Home, refuse_file
from rangeledger.warehouse.ledger_file import first_line
from rangeledger.warehouse.statements import database_version

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

# As the engine names the file itself when it is opened by its path.
_CATALOG = "rangeledger"
OTHER_VERSION = (
    "The published database was made by another version of rangeledger; run 'rangeledger fit', "
    "which publishes it anew"
)


def is_of_this_version(connection: DuckDBPyConnection) -> bool:
    """Whether a database has the tables and views that this program makes."""
    rows = connection.execute("SELECT database_version FROM ledger.meta").fetchall()
    return rows == [(database_version(),)]


def opened(database: Path) -> DuckDBPyConnection:
    """Open a published database as it is at this moment.

    Parameters
    ----------
    database : pathlib.Path
        The published file.

    Returns
    -------
    duckdb.DuckDBPyConnection
        Reads the file, whose relations need no prefix.

    Raises
    ------
    StorageError
        If the file can't be opened or is damaged.

    Notes
    -----
    The engine keeps one instance a path and process: as long as any thread has the file open by
    its path, opening it again gives the copy of then, though another was published since. So each
    connection is an instance of its own, in memory, to which the file is attached.
    """
    import duckdb

    connection = duckdb.connect()
    try:
        path = str(database).replace("'", "''")
        connection.execute(f"ATTACH '{path}' AS {_CATALOG} (READ_ONLY)")
        connection.execute(f"USE {_CATALOG}")
    except duckdb.Error as error:
        connection.close()
        raise StorageError(
            f"The published database can't be opened: {first_line(error)}. Allow reading it, or "
            "make it anew from the lake with 'rangeledger rebuild'."
        ) from error
    return connection


@contextmanager
def published(home: Home) -> Iterator[DuckDBPyConnection]:
    """Open the published database of a home, read-only, and close it again.

    Parameters
    ----------
    home : Home
        Where the database is.

    Yields
    ------
    duckdb.DuckDBPyConnection

    Raises
    ------
    NoHomeError
        If there is a file where the home should be.
    NothingPublishedError
        If nothing has been published yet.
    StorageError
        If the file can't be opened or is damaged.
    HomeError
        If what is asked is not there because another version of the program made it.
    """
    import duckdb

    if not home.database.exists():
        refuse_file(home)
        raise NothingPublishedError(
            f"There is no database in {home.root} yet. Run 'rangeledger ingest' or "
            "'rangeledger demo' first."
        )
    connection = opened(home.database)
    with connection:
        try:
            yield connection
        except (duckdb.BinderException, duckdb.CatalogException) as error:
            if is_of_this_version(connection):
                raise
            raise OtherVersionError(f"{OTHER_VERSION}.") from error
