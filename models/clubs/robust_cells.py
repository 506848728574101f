"""Means of clean strikes, club by club and visit by visit, that mishits can't move."""

from __future__ import annotations

from typing import Final

import numpy as np
from rangeledger.models.arrays import FloatArray, IntArray
from rangeledger.models.clubs.robust_location import HUBER_K, group_median, huber_mean

# The usual spread counts as so many shots; Huber's mean wastes a little.
SPREAD_WEIGHT: Final = 10.0
HUBER_LOSS: Final = 1.05
# Median step between two normal shots, in their spread: sqrt(2) Phi^-1(3/4); and how much less a
# median step tells than a sum of squares.
MEDIAN_STEP: Final = 0.9538725524
STEP_EFFICIENCY: Final = 0.4
# Share of normal shots within Huber's k spreads of their centre: 2 Phi(1.345) - 1.
WITHIN_REACH: Final = 0.8213732


def spread_of_shots(
    value: FloatArray, cell: IntArray, club: IntArray, clubs: int, usual: float
) -> FloatArray:
    """Return the spread of each club's shots within visits, from one shot to the next.

    Parameters
    ----------
    value : array, shape (shots,)
        A quantity of each shot [any unit], shots of one cell in a row and in order.
    cell, club : array of int, shape (shots,)
        Cell and club of each shot.
    clubs : int
        How many clubs there are.
    usual : float
        Usual spread [unit of `value`].

    Returns
    -------
    array, shape (clubs,)
        Standard deviations [unit of `value`].
    """
    follows = np.flatnonzero(cell[1:] == cell[:-1])
    step = np.abs(value[follows + 1] - value[follows])
    own = group_median(step, club[follows], clubs) / MEDIAN_STEP
    weight = STEP_EFFICIENCY * np.bincount(club[follows], minlength=clubs)
    squares = SPREAD_WEIGHT * usual**2 + weight * np.nan_to_num(own) ** 2
    return np.asarray(np.sqrt(squares / (SPREAD_WEIGHT + weight)), dtype=np.float64)


def robust_means(
    value: FloatArray, cell: IntArray, spread: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the robust mean of each cell and its sampling variance.

    Parameters
    ----------
    value : array, shape (shots,)
        A quantity of each shot [any unit], no NaN.
    cell : array of int, shape (shots,)
        Cell of each shot.
    spread : array, shape (cells,)
        Spread of the shots of each cell [unit of `value`].

    Returns
    -------
    mean, variance : array, shape (cells,)
        Huber's mean [unit of `value`], NaN for a cell without shots, and its variance [unit of
        `value`, squared].
    """
    count = np.bincount(cell, minlength=len(spread)).astype(np.float64)
    mean = huber_mean(value, cell, len(spread), spread)
    return mean, HUBER_LOSS * spread**2 / np.maximum(count, 1.0)


def one_step_means(
    value: FloatArray, cell: IntArray, around: IntArray, spread: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return robust means of cells that share a centre from which shots are judged.

    Parameters
    ----------
    value : array, shape (shots,)
        A quantity of each shot [any unit], no NaN.
    cell, around : array of int, shape (shots,)
        Cell of each shot, and the wider cell whose median it is judged from.
    spread : array, shape (cells,)
        Spread of the shots of each cell [unit of `value`].

    Returns
    -------
    mean, variance : array, shape (cells,)
        Mean [unit of `value`] and its variance [unit of `value`, squared].

    Notes
    -----
    One step of Huber's mean from the median of the wider cell: m = c + sum psi((x - c) / s) s /
    (n (2 Phi(k) - 1)). A mishit then pulls a cell of two shots as far, on average, as one of many,
    where a mean of its own would resist it in the larger cell alone.

    References
    ----------
    [huber1981]
    """
    cells = len(spread)
    centre = group_median(value, around, int(around.max(initial=-1)) + 1)[around]
    reach = HUBER_K * spread[cell]
    moved = np.bincount(cell, weights=np.clip(value - centre, -reach, reach), minlength=cells)
    count = np.bincount(cell, minlength=cells).astype(np.float64)
    middle = np.bincount(cell, weights=centre, minlength=cells) / count
    return middle + moved / (count * WITHIN_REACH), HUBER_LOSS * spread**2 / count
