"""Mixtures of normals: their moments and their quantiles."""

from __future__ import annotations

from typing import Final

import numpy as np
from rangeledger.models.arrays import FloatArray
from scipy.special import ndtr

HALVINGS: Final = 14


def averaged(
    weight: FloatArray, mean: FloatArray, variance: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return mean and variance of a mixture over the last two axes.

    Parameters
    ----------
    weight : array, shape (series, rows, columns)
        Weights [1] that add up to 1.
    mean, variance : array, shape (..., series, rows, columns)
        Moments under each assumption [any unit, and squared].

    Returns
    -------
    mean, variance : array, shape (..., series)
        Moments of the mixture [unit of `mean`, and squared]: sum w m;
        sum w (v + m^2) - (sum w m)^2.
    """
    centre = (weight * mean).sum(axis=(-2, -1))
    rest = mean - centre[..., None, None]
    return centre, (weight * (variance + rest**2)).sum(axis=(-2, -1))


def averaged_quantile(
    weight: FloatArray, mean: FloatArray, variance: FloatArray, share: float
) -> FloatArray:
    """Return the value below which a share of a mixture of normals lies.

    Parameters
    ----------
    weight : array, shape (series, rows, columns)
        Weights [1] that add up to 1.
    mean, variance : array, shape (..., series, rows, columns)
        Moments under each assumption [any unit, and squared].
    share : float
        Share below the value [1], above 0 and below 1.

    Returns
    -------
    array, shape (..., series)
        The value [unit of `mean`].

    Notes
    -----
    Halves the range between the mixture's mean less and plus sd sqrt((1 - p) / p), p the smaller
    tail, which by Cantelli's inequality holds the value whatever the mixture's shape. The columns
    of a row, drifts that nearly agree on the level, count as one normal of their moments: that
    moves the value by a few hundredths of the mixture's standard deviation.
    """
    centre, spread = averaged(weight, mean, variance)
    weight, mean, variance = _rows(weight, mean, variance)
    tail = min(share, 1.0 - share)
    reach = np.sqrt(spread * (1.0 - tail) / tail)
    low, high = centre - reach, centre + reach
    scale = 1.0 / np.sqrt(variance)
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        below = (weight * ndtr((middle[..., None] - mean) * scale)).sum(axis=-1)
        low, high = np.where(below < share, middle, low), np.where(below < share, high, middle)
    return np.asarray(0.5 * (low + high), dtype=np.float64)


def _rows(
    weight: FloatArray, mean: FloatArray, variance: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return weight and moments of each row of a mixture, its columns taken together."""
    total = weight.sum(axis=-1)
    share = weight / np.where(total > 0.0, total, 1.0)[..., None]
    centre = (share * mean).sum(axis=-1)
    rest = mean - centre[..., None]
    spread = (share * (variance + rest**2)).sum(axis=-1)
    return total, centre, np.where(total > 0.0, spread, 1.0)
