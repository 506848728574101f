"""The published database, opened for reading."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from schemas.errors import NothingPublishedError

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

    from warehouse.home import Home


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
    NothingPublishedError
        If nothing has been published yet.
    """
    import duckdb

    if not home.database.exists():
        raise NothingPublishedError(
            f"There is no database in {home.root} yet. Run 'rangeledger ingest' or "
            "'rangeledger demo' first."
        )
    with duckdb.connect(str(home.database), read_only=True) as connection:
        yield connection
