"""The rows of a query as a frame, whatever types the database answers with."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import TYPE_CHECKING

import polars as pl

if TYPE_CHECKING:
    import pyarrow as pa
    from duckdb import DuckDBPyConnection, DuckDBPyRelation

# Types that frames don't know, alone or inside a list or struct: such columns become text.
_UNKNOWN = re.compile(r"\b(INTERVAL|UNION|BIGNUM|VARIANT|GEOMETRY)\b")
_MOST_WHOLE = 2**63 - 1
# Types that a frame takes over as they are, without the libraries that others need.
_PLAIN = {
    "BOOLEAN", "TINYINT", "SMALLINT", "INTEGER", "BIGINT", "UTINYINT", "USMALLINT", "UINTEGER",
    "UBIGINT", "FLOAT", "DOUBLE", "VARCHAR", "DATE", "TIMESTAMP",
}  # fmt: skip


def plain_rows(relation: DuckDBPyRelation) -> pl.DataFrame | None:
    """Rows of a query whose types are all plain, without importing what the others need.

    Parameters
    ----------
    relation : duckdb.DuckDBPyRelation

    Returns
    -------
    polars.DataFrame or None
        As `query_rows` gives it; None for other types, and where the database gives up amid the
        rows: it tells why when the query is executed otherwise.
    """
    types, names = {str(kind) for kind in relation.types}, relation.columns
    if not types <= _PLAIN or len(set(names)) < len(names):
        return None
    try:
        return pl.DataFrame(relation)
    except pl.exceptions.ComputeError:
        return None


def query_rows(connection: DuckDBPyConnection) -> pl.DataFrame:
    """Rows of the statement that was executed last.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection

    Returns
    -------
    polars.DataFrame
        A second column of one name gets a number. Spans of time are text such as '00:48:00', sums
        of whole numbers are whole numbers.
    """
    types = [str(column[1]) for column in connection.description or ()]
    table = connection.to_arrow_table()
    names = _apart(table.column_names)
    columns = [
        _text(column) if _UNKNOWN.search(kind) else column
        for column, kind in zip(table.columns, types, strict=True)
    ]
    rows = pl.DataFrame(
        {name: pl.from_arrow(column) for name, column in zip(names, columns, strict=True)}
    )
    return rows.with_columns(
        pl.col(name).cast(pl.Int64)
        for name, kind in zip(names, types, strict=True)
        if kind in ("HUGEINT", "UHUGEINT") and _is_small(rows[name])
    )


def _apart(names: list[str]) -> list[str]:
    """Names with a number where one comes again."""
    chosen: list[str] = []
    for name in names:
        new, number = name, 1
        while new in chosen:
            new, number = f"{name}_{number}", number + 1
        chosen.append(new)
    return chosen


def _text(column: pa.ChunkedArray) -> pa.ChunkedArray:
    """A column as the database itself writes it."""
    import duckdb
    import pyarrow as pa

    with duckdb.connect() as writer:
        relation = writer.from_arrow(pa.table({"told": column}))
        return relation.project("CAST(told AS VARCHAR) AS told").to_arrow_table().column("told")


def _is_small(column: pl.Series) -> bool:
    most = column.abs().max()
    return most is None or int(Decimal(str(most))) <= _MOST_WHOLE
