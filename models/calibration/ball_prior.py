"""What is known of a ball's drag and lift before it is calibrated, or after."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
import polars as pl
from numpy.typing import NDArray
from rangeledger.models.arrays import FloatArray
from rangeledger.models.calibration.day_air import CALIBRATION_KEYS
from rangeledger.models.frame_arrays import numbers, texts

# Standard deviation of the logarithm of drag and lift scale by kind of ball. Premium: the carry
# of 13 balls spread over 18 m, which is 5 % of drag either way ([lyu2018]), and as much again
# for the model's own level club by club. The others are common practice, no source.
PRIOR_SD: Final[dict[str, tuple[float, float]]] = {
    "premium": (0.05, 0.08),
    "range": (0.10, 0.12),
    "limited-flight": (0.20, 0.20),
    "unknown": (0.07, 0.10),
}


def prior_sd(balls: NDArray[np.str_]) -> tuple[FloatArray, FloatArray]:
    """Standard deviations of the logarithm of drag and lift scale before calibration.

    Parameters
    ----------
    balls : ndarray of str
        Kinds of ball.

    Returns
    -------
    tuple of ndarray
        Of the drag and of the lift scale [1].

    References
    ----------
    [lyu2018]
    """
    table = np.array([PRIOR_SD.get(str(ball), PRIOR_SD["unknown"]) for ball in balls])
    table = table.reshape(-1, 2)
    return table[:, 0], table[:, 1]


def ball_uncertainty(
    groups: pl.DataFrame,
    calibration: pl.DataFrame | None,
    keys: Sequence[str] = CALIBRATION_KEYS,
) -> tuple[FloatArray, FloatArray]:
    """Standard deviations of the logarithm of drag and lift scale of groups.

    Parameters
    ----------
    groups : polars.DataFrame
        A row a group, with the key columns and `ball`.
    calibration : polars.DataFrame or None
        Scales as `calibrate_ball` gives them.
    keys : sequence of str
        Columns that make a group of the calibration.

    Returns
    -------
    tuple of ndarray
        Of the drag and of the lift scale [1], a group an element.
    """
    drag_sd, lift_sd = prior_sd(texts(groups, "ball", "unknown"))
    if calibration is None or calibration.is_empty():
        return drag_sd, lift_sd
    names = ("drag_scale", "drag_scale_se", "lift_scale", "lift_scale_se")
    table = calibration.select(*keys, *names).unique(list(keys))
    joined = groups.select(keys).join(
        table, on=list(keys), how="left", nulls_equal=True, maintain_order="left"
    )
    scale, se, lift, lift_se = (numbers(joined, name) for name in names)
    known = ~np.isnan(se)
    return np.where(known, se / scale, drag_sd), np.where(known, lift_se / lift, lift_sd)
