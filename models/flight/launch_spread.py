"""A player's launch with one club: its mean and how its parts vary together."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from rangeledger.models.arrays import FloatArray
from rangeledger.models.flight.day_flight import Launch

LAUNCH_COLUMNS = (
    "ball_speed_mps",
    "launch_angle_deg",
    "launch_direction_deg",
    "spin_rate_rpm",
    "spin_axis_deg",
)
# Spread of a clean strike where a player's own is unknown: share of ball speed, deg, deg, share
# of spin, deg. Common practice, no source.
USUAL_SPREAD = (0.018, 0.9, 2.0, 0.07, 4.0)
# Shots that the usual spread is worth, and from how many shots a club's own mean counts.
USUAL_WEIGHT = 10.0
LEAST_SHOTS = 5


@dataclass(frozen=True, slots=True)
class LaunchSpread:
    """Normal distribution of the launch of clean strikes.

    Parameters
    ----------
    stock : Launch
        Mean launch.
    covariance : ndarray, shape (5, 5)
        Covariance in the order and units of `LAUNCH_COLUMNS`.
    shots : int
        Shots that it rests on [1]; 0 where it is only usual.
    """

    stock: Launch
    covariance: FloatArray
    shots: int

    @property
    def mean(self) -> FloatArray:
        """Mean launch in the order of `LAUNCH_COLUMNS`."""
        return np.array([getattr(self.stock, name) for name in LAUNCH_COLUMNS])


def usual_spread(stock: Launch) -> LaunchSpread:
    """Usual spread about a stock launch.

    Parameters
    ----------
    stock : Launch
        Stock launch.

    Returns
    -------
    LaunchSpread
        Independent parts with the usual spreads (common practice, no source).
    """
    return LaunchSpread(stock, np.diag(_usual_scales(stock) ** 2), 0)


def launch_spread(launches: FloatArray, fallback: Launch) -> LaunchSpread:
    """Mean and covariance of a club's launches, steadied where there are few.

    Parameters
    ----------
    launches : ndarray, shape (n, 5)
        Launches of clean strikes [m/s, deg, deg, rpm, deg] in the order of `LAUNCH_COLUMNS`; NaN
        where a part was not recorded.
    fallback : Launch
        Usual launch, for parts that were hardly ever recorded; also gives the ball.

    Returns
    -------
    LaunchSpread

    Notes
    -----
    Means are medians of at least five shots, else the fallback's. The covariance of the complete
    shots is averaged with the usual spread, which counts as ten shots.
    """
    seen = np.isfinite(launches).sum(axis=0)
    usual = np.array([getattr(fallback, name) for name in LAUNCH_COLUMNS])
    mean = usual.copy()
    for part in np.flatnonzero(seen >= LEAST_SHOTS):
        mean[part] = np.nanmedian(launches[:, part])
    parts = dict(zip(LAUNCH_COLUMNS, mean.tolist(), strict=True))
    stock = Launch(**parts, drag_scale=fallback.drag_scale, lift_scale=fallback.lift_scale)
    complete = launches[np.isfinite(launches).all(axis=1)]
    squares = _trimmed_squares(complete - mean)
    prior = USUAL_WEIGHT * np.diag(_usual_scales(stock) ** 2)
    return LaunchSpread(stock, (prior + squares) / (USUAL_WEIGHT + len(complete)), len(complete))


def _trimmed_squares(deviations: FloatArray) -> FloatArray:
    """Sum of squares and products, each deviation held to four robust spreads."""
    if not len(deviations):
        return np.zeros((len(LAUNCH_COLUMNS), len(LAUNCH_COLUMNS)))
    limit = 4.0 * 1.4826 * np.median(np.abs(deviations), axis=0)
    held = np.clip(deviations, -limit, limit)
    return np.asarray(held.T @ held)


def _usual_scales(stock: Launch) -> FloatArray:
    """Usual standard deviations of the parts of a launch."""
    speed, angle, direction, spin, axis = USUAL_SPREAD
    return np.array(
        [speed * stock.ball_speed_mps, angle, direction, spin * stock.spin_rate_rpm, axis]
    )
