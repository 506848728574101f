"""How results reach a person or a program: tables, CSV, JSON, Parquet."""

from __future__ import annotations

import os
import sys
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import polars as pl
    from rich.console import Console


class Format(StrEnum):
    """Formats of rows on standard output."""

    TABLE = "table"
    CSV = "csv"
    JSON = "json"
    PARQUET = "parquet"


def to_stdout() -> Console:
    """Console for results; wide when not a terminal, so that no value is cut."""
    from rich.console import Console

    known = sys.stdout.isatty() or "COLUMNS" in os.environ
    return Console(width=None if known else 240, highlight=False)


def to_stderr() -> Console:
    """Console for progress and messages."""
    from rich.console import Console

    return Console(stderr=True, highlight=False)


def say(sentence: str) -> None:
    """Tell a person something on standard error, unbroken so that paths can be copied."""
    to_stderr().print(sentence, markup=False, soft_wrap=True)


def print_rows(rows: pl.DataFrame, form: Format, title: str | None = None) -> None:
    """Print rows to standard output.

    Parameters
    ----------
    rows : polars.DataFrame
    form : Format
        Parquet goes to standard output as bytes.
    title : str, optional
        Heading of a table.
    """
    if form is Format.CSV:
        sys.stdout.write(rows.write_csv())
    elif form is Format.JSON:
        sys.stdout.write(_as_json(rows) + "\n")
    elif form is Format.PARQUET:
        rows.write_parquet(sys.stdout.buffer)
    else:
        _print_table(rows, title)


def _as_json(rows: pl.DataFrame) -> str:
    import json

    return json.dumps(rows.to_dicts(), ensure_ascii=False, default=str, indent=1)


def _print_table(rows: pl.DataFrame, title: str | None) -> None:
    from rich import box
    from rich.markup import escape
    from rich.table import Table

    table = Table(
        title=title,
        title_justify="left",
        box=box.SIMPLE_HEAD,
        pad_edge=False,
        collapse_padding=True,
    )
    numeric = [dtype.is_numeric() for dtype in rows.dtypes]
    for name, is_number in zip(rows.columns, numeric, strict=True):
        table.add_column(name, justify="right" if is_number else "left", overflow="fold")
    for row in rows.iter_rows():
        table.add_row(*(escape(cell_text(value)) for value in row))
    to_stdout().print(table)


def cell_text(value: object) -> str:
    """A value as a person reads it: '-' for nothing, times to the minute."""
    if value is None:
        return "-"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return _number(value)
    if hasattr(value, "strftime"):
        return str(value)[:16]
    return str(value)


def _number(value: float) -> str:
    """Three significant digits where a number is small, one decimal elsewhere."""
    size = abs(value)
    if 0 < size < 0.001:
        return f"{value:.1e}"
    return f"{value:.3f}" if 0 < size < 1 else f"{value:.1f}"
