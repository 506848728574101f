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
    values = frame.get_column(column)
    if values.dtype != pl.Float64:
        values = values.cast(pl.Float64)
    return np.array(values.to_numpy(), dtype=np.float64)  # null becomes NaN


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
    values = frame.get_column(column)
    if values.dtype != pl.String or values.has_nulls():
        values = values.cast(pl.String).fill_null(otherwise)
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
    rows = frame.select(keys).with_row_index("__row")
    groups = rows.group_by(keys, maintain_order=True).agg("__row")
    of_group = groups.get_column("__row")
    numbered = np.empty(frame.height, dtype=np.int64)
    numbered[of_group.explode().to_numpy()] = np.repeat(
        np.arange(groups.height), of_group.list.len().to_numpy()
    )
    return numbered, groups.drop("__row")


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
