"""Centre and spread that a few wild values can't move: median, MAD and Huber's mean.

All functions work on many groups at once: `index` says which group each value belongs to.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from rangeledger.models.arrays import FloatArray, IntArray
from rangeledger.models.clubs.shot_groups import sum_by

# 1 / Phi^-1(3/4): makes the MAD of a normal its standard deviation.
MAD_TO_SD: Final = 1.4826022185056018
# Huber's k: 95 % efficient at the normal [huber1981].
HUBER_K: Final = 1.345
# Huber's mean is found when no centre moves farther than this, in its scale.
CLOSE: Final = 1e-9
ROUNDS: Final = 40


def group_median(values: FloatArray, index: IntArray, count: int) -> FloatArray:
    """Return the median of each group.

    Parameters
    ----------
    values : array, shape (n,)
        What is summed up [any unit], no NaN.
    index : array of int, shape (n,)
        Group of each value, 0 to `count` - 1.
    count : int
        Number of groups.

    Returns
    -------
    array, shape (count,)
        Medians [unit of `values`]; NaN for a group without values.
    """
    order = np.lexsort((values, index))
    ordered = values[order]
    size = np.bincount(index, minlength=count)
    first = np.cumsum(size) - size
    middle = np.full(count, np.nan)
    some = size > 0
    low, high = first + (size - 1) // 2, first + size // 2
    middle[some] = 0.5 * (ordered[low[some]] + ordered[high[some]])
    return middle


def group_mad(values: FloatArray, index: IntArray, count: int) -> FloatArray:
    """Return the median absolute deviation of each group as a standard deviation.

    Parameters
    ----------
    values : array, shape (n,)
        What is summed up [any unit], no NaN.
    index : array of int, shape (n,)
        Group of each value.
    count : int
        Number of groups.

    Returns
    -------
    array, shape (count,)
        1.4826 median |x - median| [unit of `values`]; NaN for a group without values.
    """
    middle = group_median(values, index, count)
    return MAD_TO_SD * group_median(np.abs(values - middle[index]), index, count)


def huber_mean(
    values: FloatArray,
    index: IntArray,
    count: int,
    scale: FloatArray,
    k: float = HUBER_K,
) -> FloatArray:
    """Return Huber's mean of each group.

    Parameters
    ----------
    values : array, shape (n,)
        What is summed up [any unit], no NaN.
    index : array of int, shape (n,)
        Group of each value.
    count : int
        Number of groups.
    scale : array, shape (count,)
        Standard deviation of each group [unit of `values`]; where it is 0 the median is returned.
    k : float
        Values farther than k scales from the centre count less [1].

    Returns
    -------
    array, shape (count,)
        The centre m [unit of `values`] with sum psi((x - m) / s) = 0, psi(z) = clip(z, -k, k); NaN
        for a group without values.

    Notes
    -----
    Solved by weights min(1, k s / |x - m|) from the median on [huber1981, section 7.8].

    References
    ----------
    [huber1981]
    """
    centre = group_median(values, index, count)
    reach = (k * scale)[index]
    close = CLOSE * scale
    for _ in range(ROUNDS):
        before = centre
        distance = np.abs(values - centre[index])
        weight = np.where(distance > reach, reach / np.maximum(distance, 1e-300), 1.0)
        total = sum_by(index, weight, count)
        moved = sum_by(index, weight * values, count) / np.where(total > 0.0, total, 1.0)
        centre = np.where(total > 0.0, moved, centre)
        if not np.any(np.abs(centre - before) > close):  # NaN where there are no values
            break
    return centre
