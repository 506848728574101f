"""From polars frames with canonical columns to the arrays that models compute on."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import polars as pl
from numpy.typing import NDArray
from rangeledger.models.arrays import FloatArray, IntArray


def numbers(frame: pl.DataFrame, column: str) -> FloatArray:
    """A numeric column as an array.

    Parameters
    ----------
    frame : polars.DataFrame
        Rows.
    column : str
        Name of the column; it may be absent.

    Returns
    -------
    ndarray
        Values [the column's unit], one a row; NaN where null or where the column is absent.
    """
    if column not in frame.columns:
        return np.full(frame.height, np.nan)
    values = frame.get_column(column).cast(pl.Float64).fill_null(float("nan"))
    return np.array(values.to_numpy(), dtype=np.float64)


def texts(frame: pl.DataFrame, column: str, otherwise: str) -> NDArray[np.str_]:
    """A text column as an array.

    Parameters
    ----------
    frame : polars.DataFrame
        Rows.
    column : str
        Name of the column; it may be absent.
    otherwise : str
        What stands for null and for an absent column.

    Returns
    -------
    ndarray
        Texts [no unit], one a row.
    """
    if column not in frame.columns:
        return np.full(frame.height, otherwise)
    values = frame.get_column(column).cast(pl.String).fill_null(otherwise)
    return np.array(values.to_numpy(), dtype=str) if frame.height else np.empty(0, dtype=str)


def group_numbers(frame: pl.DataFrame, keys: Sequence[str]) -> tuple[IntArray, pl.DataFrame]:
    """Number the groups of a frame in the order they first appear.

    Parameters
    ----------
    frame : polars.DataFrame
        Rows with the key columns.
    keys : sequence of str
        Key columns; nulls count as equal.

    Returns
    -------
    tuple
        The group of each row, counted from 0 [1], and the frame of the groups' keys.
    """
    groups = frame.select(keys).unique(maintain_order=True)
    numbered = groups.with_row_index("__group")
    joined = frame.select(keys).join(
        numbered, on=list(keys), how="left", nulls_equal=True, maintain_order="left"
    )
    return np.array(joined.get_column("__group").to_numpy(), dtype=np.int64), groups


def thinned(groups: IntArray, most: int) -> IntArray:
    """Rows that keep at most so many of every group, evenly spaced within it.

    Parameters
    ----------
    groups : ndarray
        Group of each row [1].
    most : int
        Greatest number kept of a group [1].

    Returns
    -------
    ndarray
        Kept rows in their order [1].
    """
    order = np.argsort(groups, kind="stable")
    sizes = np.bincount(groups) if len(groups) else np.zeros(0, dtype=np.int64)
    place = np.arange(len(groups)) - np.repeat(np.cumsum(sizes) - sizes, sizes)
    size = sizes[groups[order]]
    bucket, before = place * most // np.maximum(size, 1), (place - 1) * most // np.maximum(size, 1)
    keep = (size <= most) | (place == 0) | (bucket != before)
    return np.sort(order[keep])
