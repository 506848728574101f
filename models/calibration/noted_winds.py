"""Noted winds on the scale of the ball: what each shot met of a wind that somebody wrote down."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
import polars as pl
from rangeledger.models.air.wind_profile import ball_wind_factor, head_and_cross, noted_profile
from rangeledger.models.arrays import BoolArray, FloatArray
from rangeledger.models.frame_arrays import numbers, texts

# What a noted wind may be off by, 0.5 m/s and three parts in ten: a reading at one place and
# moment, often from the forecast. Common practice, no source.
NOTED_WIND_SD_MPS: Final = 0.5
NOTED_WIND_SD_RELATIVE: Final = 0.30
# A ball without a measured apex flies as high as full shots do, a short one lower in proportion.
# Common practice, no source; a third more or less moves the factor by 5 %.
USUAL_APEX_M: Final = 27.0
APEX_PER_CARRY: Final = 0.25


class NotedWind(NamedTuple):
    """Winds of shots as the ball meets them; arrays of one length, zero where none is stated."""

    stated: BoolArray
    head_wind_mps: FloatArray
    cross_wind_mps: FloatArray
    sd_mps: FloatArray


def wind_is_stated(shots: pl.DataFrame) -> BoolArray:
    """Whether the wind of a shot is known: its speed and origin, or that it was calm.

    Parameters
    ----------
    shots : polars.DataFrame
        Shots with canonical columns.

    Returns
    -------
    ndarray
        True where it is known [no unit], one a shot.
    """
    speed, origin = numbers(shots, "wind_speed_mps"), numbers(shots, "wind_from_deg")
    return np.asarray(~np.isnan(speed) & (~np.isnan(origin) | (speed == 0.0)))


def noted_wind(shots: pl.DataFrame) -> NotedWind:
    """Wind of each shot as it was noted, brought to the uniform wind that the ball meets.

    Parameters
    ----------
    shots : polars.DataFrame
        Shots with canonical columns; a wind without `wind_height` is taken as the ball meets it.

    Returns
    -------
    NotedWind
        Head and cross wind and the standard deviation of each [m/s].
    """
    stated = wind_is_stated(shots)
    speed = np.where(stated, numbers(shots, "wind_speed_mps"), 0.0) * height_factor(shots)
    origin = np.nan_to_num(numbers(shots, "wind_from_deg"))
    head, cross = head_and_cross(speed, origin)
    sd = NOTED_WIND_SD_MPS + NOTED_WIND_SD_RELATIVE * speed
    return NotedWind(stated, np.asarray(head), np.asarray(cross), sd)


def height_factor(shots: pl.DataFrame) -> FloatArray:
    """What each shot meets of a wind of 1 m/s at the height where its wind was noted.

    Parameters
    ----------
    shots : polars.DataFrame
        Shots; `wind_height`, `apex_m` and `carry_m` where known.

    Returns
    -------
    ndarray
        Factor on the noted wind [1], one a shot.
    """
    carry = np.nan_to_num(numbers(shots, "carry_m"), nan=USUAL_APEX_M / APEX_PER_CARRY)
    apex = numbers(shots, "apex_m")
    apex = np.where(apex > 0.0, apex, np.minimum(APEX_PER_CARRY * carry, USUAL_APEX_M))
    height = texts(shots, "wind_height", "ball")
    factor = np.ones(shots.height)
    for name in ("weather", "player"):
        factor = np.where(height == name, ball_wind_factor(apex, noted_profile(name)), factor)
    return factor
