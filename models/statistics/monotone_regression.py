"""Values moved as little as possible so that they rise along one order, or along two at once."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt
from rangeledger.models.arrays import FloatArray
from scipy.optimize import isotonic_regression

ROUNDS: Final = 60


def rising(values: FloatArray, weights: FloatArray) -> FloatArray:
    """Return the rising sequence nearest to a sequence.

    Parameters
    ----------
    values : array, shape (n,)
        What should rise [any unit].
    weights : array, shape (n,)
        Weight of each value [1], > 0.

    Returns
    -------
    array, shape (n,)
        Never falling [unit of `values`], with the least weighted sum of squared moves.

    Notes
    -----
    Pool adjacent violators [barlow1972], as SciPy has it.

    References
    ----------
    [barlow1972]
    """
    return np.asarray(isotonic_regression(values, weights=weights).x, dtype=np.float64)


def rising_both_ways(values: FloatArray, weights: FloatArray) -> FloatArray:
    """Return the table nearest to a table that rises down its columns and along its rows.

    Parameters
    ----------
    values : array, shape (rows, columns)
        What should rise [any unit]; NaN where there is no value.
    weights : array, shape (rows, columns)
        Weight of each value [1], > 0 where there is one.

    Returns
    -------
    array, shape (rows, columns)
        Never falling along either order [unit of `values`], NaN where there was no value.

    Notes
    -----
    Rows and columns are projected in turn, each with the correction that makes the limit the
    nearest table and not just any [dykstra1986]. A gap is skipped, so that its neighbours are
    compared with each other.

    References
    ----------
    [dykstra1986]
    """
    seen = np.isfinite(values)
    table = np.where(seen, values, 0.0)
    corrections = [np.zeros_like(table), np.zeros_like(table)]
    for _ in range(ROUNDS):
        before = table
        for turned, correction in enumerate(corrections):
            start = table + correction
            table = _each_row(start, weights, seen, turned=bool(turned))
            correction[...] = start - table
        if np.abs(table - before).max(initial=0.0) < 1e-12:
            break
    return np.where(seen, table, np.nan)


def _each_row(
    table: FloatArray, weights: FloatArray, seen: npt.NDArray[np.bool_], *, turned: bool
) -> FloatArray:
    """Return the table with each row, or each column if turned, made to rise."""
    if turned:
        return _each_row(table.T, weights.T, seen.T, turned=False).T
    out = table.copy()
    for row in range(len(table)):
        chosen = seen[row]
        if chosen.sum() > 1:
            out[row, chosen] = rising(table[row, chosen], weights[row, chosen])
    return out
