"""Asking the published database; loads no more than that takes, so that a question starts soon."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rangeledger.schemas.errors import QueryError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.published import OTHER_VERSION, is_of_this_version, published

if TYPE_CHECKING:
    import polars as pl
    from duckdb import DuckDBPyConnection


def query(home: Home, sql: str) -> pl.DataFrame:
    """Answer an SQL query from the published database, read-only.

    Raises
    ------
    QueryError
        If the query is refused; the message is the database's own first line.
    NothingPublishedError
        If nothing has been published yet.
    """
    import duckdb
    from rangeledger.warehouse.query_rows import plain_rows, query_rows

    with published(home) as connection:
        try:
            rows = plain_rows(connection.sql(sql)) if _is_select(connection, sql) else None
            return query_rows(connection.execute(sql)) if rows is None else rows
        except duckdb.Error as error:
            unknown = isinstance(error, duckdb.BinderException | duckdb.CatalogException)
            other = unknown and not is_of_this_version(connection)
            hint = f". {OTHER_VERSION}" if other else ""
            raise QueryError(f"The query can't be answered: {_in_one_line(error)}{hint}") from error


def _is_select(connection: DuckDBPyConnection, sql: str) -> bool:
    """Refuse what is not one reading statement, and shut the files of the machine to it.

    Returns
    -------
    bool
        Whether it is one SELECT and nothing else.
    """
    parsed = connection.extract_statements(sql)
    # A PIVOT becomes several statements without a text of their own, of which the last one reads.
    parts = parsed[:-1] if all(not statement.query for statement in parsed) else []
    kinds = [statement.type.name for statement in parsed[len(parts) :]]
    if (
        len(kinds) != 1
        or kinds[0] not in ("SELECT", "EXPLAIN", "CALL", "PRAGMA")
        or any(statement.type.name != "CREATE" for statement in parts)
    ):
        raise QueryError(
            "The query can't be answered: it must be one statement that reads, such as "
            "'SELECT * FROM carry_by_club'."
        )
    connection.execute("SET enable_external_access = false; SET lock_configuration = true")
    return len(parsed) == 1 and kinds == ["SELECT"]


def _in_one_line(error: BaseException) -> str:
    """The database's message on one line, without the picture of where it stopped."""
    lines = str(error).split("\n\nLINE ")[0].split("\nLINE ")[0].splitlines()
    return " ".join(line.strip() for line in lines if line.strip())
