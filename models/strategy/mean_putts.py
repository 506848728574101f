"""Chance to hole a putt and mean putts, from how tightly a player starts and paces them."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from rangeledger.models.arrays import FloatArray
from rangeledger.models.constants import BALL_RADIUS_M
from scipy.special import ndtr, ndtri

HOLE_DIAMETER_M = 4.25 * 0.0254  # Rules of Golf, definition of "hole"

# Fitted to 1.07 million professional putts of 2016-18 [gelman2019].
START_LINE_SD_DEG = 1.0202
DISTANCE_SD_FRACTION = 0.0800
AIM_PAST_M = 0.3048
HOLED_WINDOW_M = 0.9144


def chance_to_hole(
    distance_m: npt.ArrayLike,
    start_line_sd_deg: float = START_LINE_SD_DEG,
    distance_sd_fraction: float = DISTANCE_SD_FRACTION,
) -> FloatArray:
    """Chance that one putt is holed, by the published two-parameter formula.

    Parameters
    ----------
    distance_m : array_like
        Length of the putt [m], any shape.
    start_line_sd_deg : float
        Standard deviation of the start line [deg], > 0.
    distance_sd_fraction : float
        Standard deviation of the distance rolled, as a fraction of the distance aimed for
        [1], > 0.

    Returns
    -------
    ndarray
        Chance [1], same shape.

    Notes
    -----
    The start line must meet the hole, and the putt, aimed one foot past, must stop between the
    hole and three feet past it. Level green.

    References
    ----------
    [gelman2002], [gelman2019]
    """
    x = np.asarray(distance_m, dtype=float)
    free = 0.5 * HOLE_DIAMETER_M - BALL_RADIUS_M
    with np.errstate(divide="ignore"):
        half_width = np.arcsin(np.minimum(free / np.maximum(x, 1e-12), 1.0))
    on_line = 2.0 * ndtr(half_width / np.radians(start_line_sd_deg)) - 1.0
    on_line = np.where(x <= free, 1.0, on_line)
    spread = (x + AIM_PAST_M) * distance_sd_fraction
    past = (HOLED_WINDOW_M - AIM_PAST_M) / spread
    return np.asarray(on_line * (ndtr(past) - ndtr(-AIM_PAST_M / spread)))


# Lengths at which the recursion of `mean_putts` is solved, and its quadrature (normal quantiles).
_LENGTHS_M = np.concatenate(([0.0], np.geomspace(0.05, 40.0, 80)))
_QUANTILES = (np.arange(32) + 0.5) / 32.0
_ROUNDS = 12


def mean_putts(
    distance_m: npt.ArrayLike,
    start_line_sd_deg: float = START_LINE_SD_DEG,
    distance_sd_fraction: float = DISTANCE_SD_FRACTION,
) -> FloatArray:
    """Mean putts to hole out for a player with these spreads.

    Parameters
    ----------
    distance_m : array_like
        Length of the first putt [m], any shape, from 0 to 40.
    start_line_sd_deg : float
        Standard deviation of the start line [deg], > 0.
    distance_sd_fraction : float
        Standard deviation of the distance rolled, as a fraction of the distance aimed for
        [1], > 0.

    Returns
    -------
    ndarray
        Mean putts [strokes], same shape; held constant beyond 40 m.

    Notes
    -----
    ``m(x) = 1 + E[m(leave); missed]``: the ball rolls to a normal distance about one foot past
    and starts at a normal angle; a miss leaves the straight distance back. It uses nothing but
    the formula of `chance_to_hole`, so a published table of mean putts is a check on it. Level
    green: real greens break, which adds to long putts.

    References
    ----------
    [gelman2002], [gelman2019]
    """
    normal = ndtri(_QUANTILES)
    x = _LENGTHS_M[:, None, None]
    angle = np.radians(start_line_sd_deg) * normal[None, :, None]
    rolled = (x + AIM_PAST_M) * (1.0 + distance_sd_fraction * normal[None, None, :])
    rolled = np.maximum(rolled, 0.0)
    leave = np.hypot(rolled * np.cos(angle) - x, rolled * np.sin(angle))
    putts = np.ones_like(_LENGTHS_M)
    holed = chance_to_hole(_LENGTHS_M, start_line_sd_deg, distance_sd_fraction)
    missed = ~_holed(x, angle, rolled)
    weight = missed / np.maximum(missed.sum(axis=(1, 2), keepdims=True), 1)
    for _ in range(_ROUNDS):
        second_putts = (np.interp(leave, _LENGTHS_M, putts) * weight).sum(axis=(1, 2))
        putts = 1.0 + (1.0 - holed) * np.maximum(second_putts, 1.0)
    return np.asarray(np.interp(np.asarray(distance_m, dtype=float), _LENGTHS_M, putts))


def _holed(x: FloatArray, angle: FloatArray, rolled: FloatArray) -> npt.NDArray[np.bool_]:
    """Whether a quadrature point of `mean_putts` meets the hole."""
    free = 0.5 * HOLE_DIAMETER_M - BALL_RADIUS_M
    on_line = x * np.abs(np.sin(angle)) <= free
    return on_line & (rolled >= x) & (rolled <= x + HOLED_WINDOW_M)
