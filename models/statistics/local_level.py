"""A level that wanders slowly, seen through noise: filter and smoother.

y_t = level_t + e_t with known variance of e_t; the level moves by independent normal steps.
All functions work on many series at once and on a grid of assumptions in further axes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from rangeledger.models.arrays import FloatArray

LOG_TWO_PI = float(np.log(2.0 * np.pi))


@dataclass(frozen=True, slots=True)
class Filtered:
    """Result of the filter; time is the first axis.

    Attributes
    ----------
    level, variance : array, shape (times, ...)
        Level and its variance given the observations up to each time.
    log_likelihood : array, shape (...)
        Sum over all surprises.
    """

    level: FloatArray
    variance: FloatArray
    log_likelihood: FloatArray


@dataclass(frozen=True, slots=True)
class Smoothed:
    """Result of the smoother; time is the first axis.

    Attributes
    ----------
    level, variance : array, shape (times, ...)
        Level and its variance given all observations.
    covariance_with_last : array, shape (times, ...)
        Covariance of the level with the last level.
    """

    level: FloatArray
    variance: FloatArray
    covariance_with_last: FloatArray


def filter_level(observed: FloatArray, noise: FloatArray, growth: FloatArray) -> Filtered:
    """Return the level as known at each time.

    Parameters
    ----------
    observed : array, shape (times, ...)
        Observations [any unit]; NaN where there is none.
    noise : array, shape (times, ...)
        Variance of each observation [unit squared].
    growth : array, shape (times, ...)
        Variance that the level gains between the time before and this one [unit squared].

    Returns
    -------
    Filtered
        Levels, variances and likelihood. Nothing is assumed of the first level: it
        is the first observation, which adds nothing to the likelihood.

    Notes
    -----
    P <- P + growth; F = P + R; K = P / F; a <- a + K (y - a); P <- P (1 - K);
    log L -= (ln 2 pi F + v^2 / F) / 2 [durbin2012, eqs 2.15, 2.55].

    References
    ----------
    [durbin2012]
    """
    observed, noise, growth = np.broadcast_arrays(observed, noise, growth)
    level, variance = np.zeros(observed.shape[1:]), np.full(observed.shape[1:], np.inf)
    shape = observed.shape
    out = Filtered(np.empty(shape), np.empty(shape), np.zeros(shape[1:]))
    for time in range(shape[0]):
        seen = np.isfinite(observed[time])
        value = np.where(seen, observed[time], 0.0)
        ahead = variance + growth[time]
        known = np.isfinite(ahead)
        spread = np.where(known & seen, ahead + noise[time], np.inf)
        surprise = np.where(known & seen, value - level, 0.0)
        gain = np.where(known, ahead, 0.0) / spread
        first = seen & ~known
        level = np.where(first, value, level + gain * surprise)
        variance = np.where(first, noise[time], ahead * np.where(known, 1.0 - gain, 1.0))
        counted = known & seen
        log_spread = np.log(np.where(counted, spread, 1.0))
        out.log_likelihood[...] -= 0.5 * np.where(
            counted, LOG_TWO_PI + log_spread + surprise**2 / spread, 0.0
        )
        out.level[time], out.variance[time] = level, variance
    return out


def smooth_level(filtered: Filtered, growth: FloatArray) -> Smoothed:
    """Return the level at each time given all observations.

    Parameters
    ----------
    filtered : Filtered
        Result of `filter_level`.
    growth : array, shape (times, ...)
        The growth that was filtered with [unit squared].

    Returns
    -------
    Smoothed
        Levels, variances and covariance with the last level.

    Notes
    -----
    J = P_t / (P_t + growth); a_t <- a_t + J (a_{t+1} - a_t);
    P_t <- P_t + J^2 (P_{t+1} - P_t - growth); C_t = J C_{t+1} [durbin2012, section 4.4].

    References
    ----------
    [durbin2012]
    """
    level, variance = filtered.level.copy(), filtered.variance.copy()
    growth = np.broadcast_to(growth, level.shape)
    covariance = variance.copy()
    for time in range(len(level) - 2, -1, -1):
        ahead = variance[time] + growth[time + 1]
        known = np.isfinite(ahead)
        pull = np.where(known, variance[time], 1.0) / np.where(known, ahead, 1.0)
        later = variance[time + 1]
        level[time] = np.where(
            known, level[time] + pull * (level[time + 1] - level[time]), level[time + 1]
        )
        smoothed = np.where(known, variance[time], 0.0) + pull**2 * (
            later - np.where(known, ahead, 0.0)
        )
        # Before the first observation: the first known level, and the growth back to it.
        variance[time] = np.where(known, smoothed, later + growth[time + 1])
        covariance[time] = pull * covariance[time + 1]
    return Smoothed(level, variance, covariance)
