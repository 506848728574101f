"""Mean distance from a target to where the next shot lands, mishits included."""

from __future__ import annotations

from typing import Final

import numpy as np
import polars as pl
from rangeledger.models.arrays import FloatArray
from rangeledger.models.clubs.mishit_loss import loss_means
from rangeledger.models.clubs.shot_distribution import total_variance
from scipy import special

# Equally likely places that stand for the distributions.
RINGS, SPOKES, FALLS = 16, 16, 8


def _t3_means(parts: int) -> FloatArray:
    """Return the means of equally likely parts of Student's t with 3 degrees of freedom."""
    edge = special.stdtrit(3.0, np.arange(1, parts) / parts)
    # The integral of x f(x) beyond an edge is f(edge) (3 + edge^2) / 2.
    beyond = np.sqrt(3.0) / np.pi / (1.0 + edge**2 / 3.0)
    return np.asarray(-np.diff(beyond, prepend=0.0, append=0.0) * parts, dtype=np.float64)


ANGLES: Final = 2.0 * np.pi * (np.arange(SPOKES) + 0.5) / SPOKES
RING_CHANCES: Final = (np.arange(RINGS) + 0.5) / RINGS
FALL_LENGTHS: Final = loss_means(FALLS)
SIDES: Final = _t3_means(FALLS)


def expected_miss(parameters: pl.DataFrame, target_m: FloatArray) -> FloatArray:
    """Return the mean distance from each target to the next shot of each group.

    Parameters
    ----------
    parameters : polars.DataFrame
        Parameter frame of a carry model, one row a group.
    target_m : array, shape (targets,)
        Distances of the targets [m].

    Returns
    -------
    array, shape (groups, targets)
        Mean miss [m], length and side together. The player aims so that the pattern's centre
        lies on the target line.

    Notes
    -----
    E sqrt((x - T)^2 + y^2) over the next shot's distribution: sixteen rings of sixteen places
    for clean strikes, eight losses by eight sides for mishits. Within 1 % of the mean of draws.
    """
    carry, side, covariance = total_variance(parameters)
    value = {name: parameters[name].to_numpy()[:, None] for name in PARAMETERS}
    freedom = value["degrees_of_freedom"]
    # P(radius^2 <= q) = 1 - (1 + q / df)^(-df / 2) for a bivariate t.
    squared = freedom * np.expm1(-2.0 / freedom * np.log1p(-RING_CHANCES))
    radius = np.sqrt(squared)[:, :, None]
    first, second = radius * np.cos(ANGLES), radius * np.sin(ANGLES)
    slope = (covariance / np.sqrt(carry))[:, None, None]
    rest = np.sqrt(side[:, None, None] - slope**2)
    x = (np.sqrt(carry)[:, None, None] * first).reshape(len(carry), RINGS * SPOKES)
    y = (slope * first + rest * second).reshape(len(carry), RINGS * SPOKES)
    clean = _mean_distance(value["carry_m"] + x, y, target_m)
    long = value["mishit_long_share"]
    fall = value["mishit_shortfall_m"] * FALL_LENGTHS
    side = np.tile(value["mishit_side_scale_m"] * SIDES, (1, FALLS))
    short, far = (
        _mean_distance(
            np.maximum(value["carry_m"] + sign * np.repeat(fall, FALLS, axis=1), 0.0),
            side,
            target_m,
        )
        for sign in (-1.0, 1.0)
    )
    rate = value["mishit_rate"]
    return (1.0 - rate) * clean + rate * ((1.0 - long) * short + long * far)


PARAMETERS: Final = (
    "carry_m",
    "degrees_of_freedom",
    "mishit_rate",
    "mishit_shortfall_m",
    "mishit_long_share",
    "mishit_side_scale_m",
)


def _mean_distance(x: FloatArray, y: FloatArray, target_m: FloatArray) -> FloatArray:
    """Return the mean distance of equally likely places from each target."""
    miss = np.hypot(x[:, None, :] - target_m[:, None], y[:, None, :])
    return np.asarray(miss.mean(axis=-1), dtype=np.float64)
