"""Local levels averaged over what is not known: wander, drift, and a step not long ago.

A grid of assumptions, each weighted by how well it explains the series, in place of one best
guess: short series, and series just after an abrupt change, would otherwise look surer than they
are.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from rangeledger.models.arrays import FloatArray
from rangeledger.models.statistics.local_level import filter_level, smooth_level
from scipy.special import ndtr

# Wander of the level for each session [1], and spread of a session about the level [1].
WANDER_GRID: Final = np.array([0.0002, 0.001, 0.002, 0.004, 0.008, 0.016, 0.032])
DRIFT_GRID: Final = np.array([0.006, 0.010, 0.015, 0.022, 0.033])
# Prior medians and log spreads: common practice, no source.
WANDER_PRIOR: Final = (0.004, 1.5)
DRIFT_PRIOR: Final = (0.015, 0.4)
# The level may have taken a step at one of the last sessions: how many are considered, the
# weight of a step at each against none, and its spread [1]. The weight is set by simulation: of
# those tried, the least with which the interval holds 3 of 4 new levels two sessions after a 4 %
# step, while steady ones keep their 90 %.
RECENT: Final = 6
STEP_CHANCE: Final = 0.10
STEP_SD: Final = 0.05
# An interval leaves this share of the average's probability out at either end [1].
TAIL: Final = 0.05
HALVINGS: Final = 14


@dataclass(frozen=True, slots=True)
class Series:
    """Series of session means, time along the first axis, one series a column.

    Attributes
    ----------
    observed : array, shape (times, series)
        ln of each session's mean [1]; NaN where a series has ended.
    sampling_variance : array, shape (times, series)
        Variance of the mean given the session [1]: spread within squared over shots.
    gap : array, shape (times, series)
        Sessions of the player since the one before [1]; 0 at the start and past the end.
    """

    observed: FloatArray
    sampling_variance: FloatArray
    gap: FloatArray

    def gridded(self, steps: int) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return observations, noise and growth with axes for step and wander, and drift.

        Parameters
        ----------
        steps : int
            How many of the last sessions may hold a step [1].

        Returns
        -------
        observed, noise, growth : array, shape (times, series, (1 + steps) wanders, drifts)
            In the unit of the series, and squared.
        """
        sessions = np.isfinite(self.observed).sum(axis=0)
        place = np.arange(len(self.observed))[:, None]
        stepped = [(place == sessions - 1 - back) * STEP_SD**2 for back in range(steps)]
        step = np.stack([np.zeros(self.observed.shape), *stepped], axis=-1)
        growth = self.gap[..., None, None] * WANDER_GRID**2 + step[..., None]
        growth = growth.reshape(*self.observed.shape, -1, 1)
        noise = self.sampling_variance[..., None, None] + DRIFT_GRID**2
        shape = np.broadcast_shapes(growth.shape, noise.shape)
        observed = np.broadcast_to(self.observed[..., None, None], shape)
        return observed, np.broadcast_to(noise, shape), np.broadcast_to(growth, shape)


@dataclass(frozen=True, slots=True)
class AverageLevel:
    """Levels averaged over the grid.

    Attributes
    ----------
    level, variance : array, shape (times, series)
        ln level [1] and its variance.
    low, high : array, shape (times, series)
        Ends of the 90 % interval of the ln level [1].
    change, change_variance : array, shape (times, series)
        Last level less the level at each time, and its variance.
    """

    level: FloatArray
    variance: FloatArray
    low: FloatArray
    high: FloatArray
    change: FloatArray
    change_variance: FloatArray


def grid_weights(log_likelihood: FloatArray) -> FloatArray:
    """Return how much each assumption counts.

    Parameters
    ----------
    log_likelihood : array, shape (series, (1 + steps) wanders, drifts)
        Log likelihood under each assumption [1].

    Returns
    -------
    array of the same shape
        Weights that add up to 1 for each series [1].

    Notes
    -----
    Likelihood times the chance of a step and lognormal priors of wander and drift.
    """
    steps = log_likelihood.shape[1] // len(WANDER_GRID) - 1
    step: FloatArray = np.log(np.array([1.0, *[STEP_CHANCE] * steps]))
    rows = np.add.outer(step, _log_prior(WANDER_GRID, WANDER_PRIOR)).ravel()
    score = log_likelihood + rows[:, None] + _log_prior(DRIFT_GRID, DRIFT_PRIOR)
    weight: FloatArray = np.exp(score - score.max(axis=(-2, -1), keepdims=True))
    total: FloatArray = weight.sum(axis=(-2, -1), keepdims=True)
    return weight / total


def _log_prior(grid: FloatArray, prior: tuple[float, float]) -> FloatArray:
    """Return the log of a lognormal prior at a grid even in the logarithm."""
    steps: FloatArray = np.log(grid / prior[0])
    return -0.5 * (steps / prior[1]) ** 2


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


def average_level(series: Series) -> AverageLevel:
    """Return the level of each series at each time, given all of it.

    Parameters
    ----------
    series : Series
        Session means.

    Returns
    -------
    AverageLevel
        Levels and changes up to now.

    Notes
    -----
    Just after a surprising session some assumptions follow it and some do not. The ends of the
    interval are points of that mixture, not a normal's: they reach for the new level sooner, and
    are narrower where all assumptions agree.

    References
    ----------
    [durbin2012]
    """
    observed, noise, growth = series.gridded(RECENT)
    filtered = filter_level(observed, noise, growth)
    smoothed = smooth_level(filtered, growth)
    weight = grid_weights(filtered.log_likelihood)
    level, variance = averaged(weight, smoothed.level, smoothed.variance)
    low, high = (
        averaged_quantile(weight, smoothed.level, smoothed.variance, share)
        for share in (TAIL, 1.0 - TAIL)
    )
    last, last_variance = smoothed.level[-1], smoothed.variance[-1]
    spread = smoothed.variance + last_variance - 2.0 * smoothed.covariance_with_last
    change, change_variance = averaged(weight, last - smoothed.level, np.maximum(spread, 0.0))
    return AverageLevel(level, variance, low, high, change, change_variance)
