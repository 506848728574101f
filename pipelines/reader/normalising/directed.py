"""Sides that cells state, such as `12 L`, turned into signs."""

from __future__ import annotations

import polars as pl
from rangeledger.pipelines.reader.normalising.around_numbers import CLOSED, OPEN
from rangeledger.pipelines.reader.normalising.numbers import Numbers

_SIGNS = {"L": -1.0, "DOWN": -1.0, CLOSED: -1.0, "R": 1.0, "UP": 1.0, OPEN: 1.0}


def directed(numbers: Numbers, *, sign_of_right: int = 1) -> Numbers:
    """Numbers with their sides turned into signs, right (and up) positive.

    Parameters
    ----------
    numbers : Numbers
        As parsed.
    sign_of_right : int
        1 where bare signs mean right positive, -1 where the heading says left positive.

    Returns
    -------
    Numbers
        The same without `side`. In a column with sides, a sign that contradicts its side and a
        bare number other than zero are bad: which way they go can't be told.
    """
    if numbers.side is None:
        value = _no_negative_zero(numbers.value * float(sign_of_right))
        return Numbers(value, numbers.unit, None, numbers.missing, numbers.bad)
    frame = pl.DataFrame({"value": numbers.value, "side": numbers.side})
    sign = pl.col("side").replace_strict(_SIGNS, default=None, return_dtype=pl.Float64)
    by_side = pl.col("value").abs() * sign
    contradicts = (pl.col("value") < 0) & (sign > 0)
    bare = pl.when(pl.col("value") == 0).then(0.0)
    signed = frame.select(
        pl.when(sign.is_null()).then(bare).when(contradicts).then(None).otherwise(by_side)
    ).to_series()
    bad = numbers.bad | (signed.is_null() & numbers.value.is_not_null())
    signed = _no_negative_zero(signed.rename(numbers.value.name))
    return Numbers(signed, numbers.unit, None, numbers.missing, bad)


def _no_negative_zero(value: pl.Series) -> pl.Series:
    return value.set(value == 0.0, 0.0)
