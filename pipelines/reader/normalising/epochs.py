"""Times written as numbers: seconds since 1970 and their fractions, and spreadsheet days."""

from __future__ import annotations

import polars as pl
from rangeledger.pipelines.reader.normalising.missing import is_missing
from rangeledger.pipelines.reader.normalising.time_parts import DAY_MS

# Seconds since 1970 of 1990-01-01 and 2100-01-01, and their serial days counted from 1899-12-30.
_FIRST_EPOCH, _LAST_EPOCH = 631_152_000, 4_102_444_800
_FIRST_SERIAL, _LAST_SERIAL, _SERIAL_OF_1970 = 32_874, 73_051, 25_569
_PER_SECOND = (1, 10**3, 10**6, 10**9)


def numeric_cells(text: pl.Series) -> pl.Series | None:
    """A column as numbers, None unless all that is not missing is one.

    Parameters
    ----------
    text : pl.Series
        Cells as text; the decimal mark may be a point or a comma.

    Returns
    -------
    pl.Series or None
        Float64, null where missing.
    """
    number = pl.col("text").str.strip_chars().str.replace(",", ".", literal=True)
    value = text.to_frame("text").select(number.cast(pl.Float64, strict=False)).to_series()
    if value.null_count() == len(value):
        return None
    rest = text.filter(value.is_null() & text.is_not_null()).unique()
    return value if all(is_missing(cell) for cell in rest) else None


def _within(value: pl.Series, low: float, high: float) -> bool:
    return bool(value.drop_nulls().is_between(low, high).all())


def epoch_ms(text: pl.Series, value: pl.Series) -> pl.Series | None:
    """Milliseconds since 1970 from epoch seconds, ms, µs or ns.

    Parameters
    ----------
    text : pl.Series
        The cells, read exactly where they are whole numbers.
    value : pl.Series
        The same as `numeric_cells`.

    Returns
    -------
    pl.Series or None
        Int64; None where the range from 1990 to 2100 fits no scale.
    """
    for scale in _PER_SECOND:
        if not _within(value, _FIRST_EPOCH * scale, _LAST_EPOCH * scale):
            continue
        whole = text.str.strip_chars().cast(pl.Int64, strict=False)
        if whole.null_count() == value.null_count() and scale > 1:
            return whole // (scale // 1000)
        return (value * (1000.0 / scale)).round(0).cast(pl.Int64)
    return None


def are_serial_days(value: pl.Series) -> bool:
    """Whether all numbers lie in the range of spreadsheet days from 1990 to 2100."""
    return _within(value, _FIRST_SERIAL, _LAST_SERIAL)


def serial_ms(value: pl.Series) -> pl.Series:
    """Local milliseconds since 1970 of serial days counted from 1899-12-30.

    Parameters
    ----------
    value : pl.Series
        Days with their fraction.

    Returns
    -------
    pl.Series
        Int64.
    """
    return ((value - _SERIAL_OF_1970) * DAY_MS).round(0).cast(pl.Int64)


def serial_dates_as_text(text: pl.Series) -> pl.Series:
    """A column of serial days as ISO dates; any other column unchanged."""
    value = numeric_cells(text)
    if value is None or not are_serial_days(value):
        return text
    days = value.floor().cast(pl.Int32) - _SERIAL_OF_1970
    return days.cast(pl.Date).dt.to_string("%Y-%m-%d")
