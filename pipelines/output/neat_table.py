"""Narrow tables for people: chosen columns, plain headings, numbers with the decimals they need."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from rangeledger.pipelines.output.printing import number_text, to_stdout

if TYPE_CHECKING:
    import polars as pl


@dataclass(frozen=True, slots=True)
class Shown:
    """How a column is shown.

    Parameters
    ----------
    column : str
        Its name in the rows.
    heading : str
        What stands above it.
    form : str
        Format of its values; empty for text.
    factor : float
        Number that values are multiplied with.
    """

    column: str
    heading: str
    form: str = ""
    factor: float = 1.0


def print_neat(rows: pl.DataFrame, shown: Sequence[Shown], title: str, most: int = 60) -> None:
    """Print chosen columns of rows as a table on standard output.

    Parameters
    ----------
    rows : polars.DataFrame
        Rows.
    shown : sequence of Shown
        Columns in order.
    title : str
        Heading of the table.
    most : int
        Rows printed at most; the others are counted below.
    """
    from rich import box
    from rich.table import Table

    table = Table(
        title=title, title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False,
        collapse_padding=True,
    )  # fmt: skip
    for column in shown:
        table.add_column(column.heading, justify="right" if column.form else "left")
    for row in rows.head(most).iter_rows(named=True):
        table.add_row(*(_cell(row[column.column], column) for column in shown))
    to_stdout().print(table)
    if rows.height > most:
        to_stdout().print(f"and {rows.height - most} more; --format csv has them all", markup=False)


def _cell(value: Any, column: Shown) -> str:
    from rich.markup import escape

    if value is None:
        return "-"
    if column.form:
        return number_text(column.factor * value, column.form)
    return escape(str(value))
