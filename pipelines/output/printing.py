"""How results reach a person or a program: tables, CSV, JSON, Parquet."""

from __future__ import annotations

import io
import math
import os
import sys
from collections.abc import Sequence
from datetime import date, time
from decimal import Decimal
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rangeledger.schemas.errors import StorageError, UsageError
from rangeledger.schemas.units import counted

if TYPE_CHECKING:
    import polars as pl
    from rich.console import Console


# A number too small for these decimals is nothing to a person who reads a table.
_MOST_DECIMALS = 6
# Width of a table where no terminal says one: for any columns, and for sentences to be read.
_WIDE, READABLE = 240, 120
# Texts longer than this are folded where a table is wide.
_FOLDED = 20


class Format(StrEnum):
    """Formats of rows on standard output."""

    TABLE = "table"
    CSV = "csv"
    JSON = "json"
    PARQUET = "parquet"


def to_stdout(wide: int = _WIDE) -> Console:
    """Console for results; so wide when not a terminal, where nobody can widen it."""
    from rich.console import Console

    class Output(Console):
        """Leaves it to the command line to end quietly when the reader has gone."""

        def on_broken_pipe(self) -> None:
            raise BrokenPipeError

    known = sys.stdout.isatty() or "COLUMNS" in os.environ
    return Output(width=None if known else wide, highlight=False)


def to_stderr() -> Console:
    """Console for progress and messages."""
    from rich.console import Console

    return Console(stderr=True, highlight=False)


def print_message(sentence: str) -> None:
    """Tell a person something on standard error, unbroken so that paths can be copied."""
    to_stderr().print(sentence, markup=False, soft_wrap=True)


def print_rows(
    rows: pl.DataFrame, form: Format, title: str | None = None, wide: int = _WIDE
) -> None:
    """Print rows to standard output.

    Parameters
    ----------
    rows : polars.DataFrame
    form : Format
        Parquet goes to standard output as bytes.
    title : str, optional
        Heading of a table.
    wide : int
        Width of a table where standard output is no terminal; long texts are folded [characters].
    """
    if form is Format.TABLE:
        _print_table(rows, title, wide)
    elif form is Format.PARQUET:
        if sys.stdout.isatty():
            raise UsageError("Parquet is not for reading: send it to a file with > rows.parquet.")
        sys.stdout.buffer.write(rows_as(rows, form))
    else:
        sys.stdout.write(rows_as(rows, form).decode())


def rows_as(rows: pl.DataFrame, form: Format) -> bytes:
    """Rows in a format for programs."""
    if form is Format.PARQUET:
        written = io.BytesIO()
        rows.write_parquet(written)
        return written.getvalue()
    text = _as_csv(rows) if form is Format.CSV else _as_json(rows) + "\n"
    return text.encode()


def write_result(path: Path, content: bytes) -> Path:
    """Write a result to a file that the user named, and its folder if that is missing.

    Raises
    ------
    StorageError
        If it can't be written there.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    except OSError as error:
        raise StorageError(
            f"{path} can't be written: {error.strerror}. Name another place."
        ) from error
    return path


def _as_csv(rows: pl.DataFrame) -> str:
    """CSV, with lists and structs as JSON in their cells."""
    import polars as pl

    flat = [
        pl.Series(column.name, [_json_cell(value) for value in column.to_list()], pl.String)
        for column in rows.iter_columns()
        if column.dtype.is_nested() or column.dtype == pl.Binary
    ]
    return rows.with_columns(flat).write_csv()


def _json_cell(value: object) -> str | None:
    import json

    plain = _plain(value)
    return (
        plain if plain is None or isinstance(plain, str) else json.dumps(plain, ensure_ascii=False)
    )


def _as_json(rows: pl.DataFrame) -> str:
    """A JSON array of objects: what is no number is null, times are ISO 8601."""
    import json

    columns = [_json_values(column) for column in rows.iter_columns()]
    plain = [dict(zip(rows.columns, values, strict=True)) for values in zip(*columns, strict=True)]
    return json.dumps(plain, ensure_ascii=False, indent=1)


def _json_values(column: pl.Series) -> list[Any]:
    """Values of a column as JSON knows them; those of plain columns need no look at each."""
    import polars as pl

    if column.dtype.is_float():
        finite = pl.when(pl.col(column.name).is_finite()).then(pl.col(column.name))
        return column.to_frame().select(finite).to_series().to_list()
    if column.dtype.is_integer() or column.dtype in (pl.String, pl.Boolean):
        return column.to_list()
    return [_plain(value) for value in column.to_list()]


def _plain(value: object) -> Any:
    """A value as JSON knows it."""
    if value is None or isinstance(value, bool | int | str):
        return value
    if isinstance(value, float | Decimal):
        is_integer = isinstance(value, Decimal) and value == value.to_integral_value()
        return (int(value) if is_integer else float(value)) if math.isfinite(value) else None
    if isinstance(value, dict):
        return {str(key): _plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(inner) for inner in value]
    if isinstance(value, bytes):
        return value.hex()
    return value.isoformat() if isinstance(value, date | time) else str(value)


def _print_table(rows: pl.DataFrame, title: str | None, wide: int) -> None:
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
    columns = [_cells(column) for column in rows.iter_columns()]
    console = to_stdout(wide)
    fitting = _fitting(rows, columns, console.width)
    for column in rows.iter_columns():
        if len(table.columns) < fitting:
            is_number = column.dtype.is_numeric()
            table.add_column(column.name, justify="right" if is_number else "left", overflow="fold")
    for cells in zip(*columns[:fitting], strict=True):
        table.add_row(*map(escape, cells))
    console.print(table)
    if fitting < rows.width:
        console.print(
            f"and {counted(rows.width - fitting, 'more column')}: name those that you want to see, "
            "or take --format csv, which has them all",
            markup=False,
        )


def _cells(column: pl.Series) -> list[str]:
    decimals = decimals_of(column)
    return [cell_text(value, decimals) for value in column.to_list()]


def _fitting(rows: pl.DataFrame, columns: Sequence[Sequence[str]], width: int) -> int:
    """How many columns can be read beside each other; long texts are folded."""
    used = 1
    for number, (name, cells) in enumerate(zip(rows.columns, columns, strict=True)):
        longest = max(map(len, cells), default=0)
        if rows.dtypes[number].is_nested() or not rows.dtypes[number].is_numeric():
            longest = min(longest, _FOLDED)
        used += max(longest, len(name)) + 2
        if used > width + 2 and number:
            return number
    return rows.width


def decimals_of(column: pl.Series) -> int:
    """Decimals that all numbers of a column are shown with, so that they line up.

    Parameters
    ----------
    column : polars.Series

    Returns
    -------
    int
        One; three where no value is above 1; more, to six, where a value would vanish.
    """
    import polars as pl

    if not column.dtype.is_float():
        return 1
    sizes = column.filter(column.is_finite()).abs()
    sizes = sizes.filter(sizes > 0.0)
    if sizes.is_empty():
        return 1
    least, most = sizes.to_frame("size").select(least=pl.min("size"), most=pl.max("size")).row(0)
    if most > 1.0:
        return 1
    return min(max(3, -math.floor(math.log10(least))), _MOST_DECIMALS)


def cell_text(value: object, decimals: int = 1) -> str:
    """A value as a person reads it: '-' for nothing, times to the minute."""
    if value is None:
        return "-"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return number_text(value, f".{decimals}f")
    if hasattr(value, "strftime"):
        return str(value)[:16]
    if isinstance(value, list):
        return f"[{', '.join(cell_text(inner, decimals) for inner in value)}]"
    if isinstance(value, dict):
        pairs = (f"{name}: {cell_text(inner, decimals)}" for name, inner in value.items())
        return f"{{{', '.join(pairs)}}}"
    return value.hex() if isinstance(value, bytes) else str(value)


def number_text(value: float, form: str) -> str:
    """A number in a form, without a sign where it rounds to nothing."""
    text = format(value, form)
    return text.lstrip("+-") if not text.strip("+-0.") else text
