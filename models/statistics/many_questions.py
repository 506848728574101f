"""Many questions asked of one set of data: which answers may be told at a stated rate of errors."""

from __future__ import annotations

import numpy as np
from rangeledger.models.arrays import BoolArray, FloatArray


def discoveries(probability: FloatArray, rate: float) -> BoolArray:
    """Return which questions are answered, wrongly for a stated share of the answers at most.

    Parameters
    ----------
    probability : array, shape (questions,)
        Chance of a result at least as unusual where there is nothing [1].
    rate : float
        Share of wrong answers among those told, on average [1]; where there is nothing at all it is
        the chance that anything is told.

    Returns
    -------
    array of bool, shape (questions,)
        Which are told.

    Notes
    -----
    The k smallest, k the largest with p_(k) <= k rate / m [benjamini1995]. Holds for questions that
    are independent or rise together.

    References
    ----------
    [benjamini1995]
    """
    order = np.argsort(probability, kind="stable")
    count = len(probability)
    under = probability[order] <= rate * np.arange(1, count + 1) / max(count, 1)
    discovered = np.zeros(count, dtype=bool)
    if under.any():
        discovered[order[: int(np.flatnonzero(under)[-1]) + 1]] = True
    return discovered
