"""Air, wind and ball of each shot, from what the shots, the session and the calibration say."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final, NamedTuple

import numpy as np
import polars as pl
from rangeledger.models.air.air_conditions import air_density_of
from rangeledger.models.arrays import BoolArray, FloatArray
from rangeledger.models.calibration.measurement_noise import LAUNCH
from rangeledger.models.calibration.noted_winds import noted_wind
from rangeledger.models.flight.flight_sensitivity import FlightInputs
from rangeledger.models.frame_arrays import group_numbers, numbers

# Uncertainty of what is known of the air; common practice, no source. A stated wind is a reading
# at one place and moment; a wind nobody stated is like a day's wind at a sheltered ground.
UNKNOWN_WIND_SD_MPS: Final = 2.5
_UNKNOWN_TEMP_SD: Final = 0.024  # of the density: 7 K
_UNKNOWN_PRESSURE_SD: Final = 0.02  # of the density: 170 m of altitude and the weather

CALIBRATION_KEYS: Final = ("player", "club", "ball")


class DayAir(NamedTuple):
    """Air and wind of each shot; arrays of one length."""

    air_density_kgm3: FloatArray
    density_sd: FloatArray  # relative
    head_wind_mps: FloatArray
    cross_wind_mps: FloatArray
    head_sd_mps: FloatArray
    cross_sd_mps: FloatArray
    wind_stated: BoolArray
    wind_recovered: BoolArray
    air_stated: BoolArray


def day_air(shots: pl.DataFrame, session_wind: pl.DataFrame | None = None) -> DayAir:
    """Air and wind of each shot with their uncertainty.

    Parameters
    ----------
    shots : polars.DataFrame
        Shots with canonical columns.
    session_wind : polars.DataFrame or None
        Winds by `session_id` as `recover_wind` gives them.

    Returns
    -------
    DayAir
        Density [kg/m3] and its relative sd [1], head and cross wind as the ball meets it and their
        sd [m/s], and what is stated. A shot's own noted wind is moved by as much as the session's
        flights say that the session's noted winds are off.
    """
    names = ("air_temp_c", "air_pressure_hpa", "humidity_pct", "altitude_m")
    temp, pressure, humidity, altitude = (numbers(shots, name) for name in names)
    density = np.asarray(air_density_of(temp, pressure, humidity, altitude).air_density_kgm3)
    no_pressure = np.isnan(pressure) & np.isnan(altitude)
    density_sd = np.hypot(
        np.where(np.isnan(temp), _UNKNOWN_TEMP_SD, 0.002),
        np.where(no_pressure, _UNKNOWN_PRESSURE_SD, 0.005),
    )
    noted = noted_wind(shots)
    stated = noted.stated
    own = (noted.head_wind_mps, noted.cross_wind_mps)
    wind = _session_columns(shots, session_wind)
    from_session = ~np.isnan(wind[0])
    moved = _session_means(shots, stated, own) if from_session.any() else own
    head, cross = (
        np.where(stated, noted_part + np.where(from_session, session - mean, 0.0), session)
        for noted_part, session, mean in zip(own, wind[:2], moved, strict=True)
    )
    head, cross = np.nan_to_num(head), np.nan_to_num(cross)
    head_sd, cross_sd = (
        np.where(from_session, sd, np.where(stated, noted.sd_mps, UNKNOWN_WIND_SD_MPS))
        for sd in wind[2:]
    )
    from_session &= ~stated
    recovered = from_session & ((head != 0.0) | (cross != 0.0))  # else assumed calm
    air_stated = ~(np.isnan(temp) & no_pressure)
    return DayAir(
        density, density_sd, head, cross, head_sd, cross_sd, stated, recovered, air_stated
    )


def _session_means(
    shots: pl.DataFrame, stated: BoolArray, winds: tuple[FloatArray, ...]
) -> tuple[FloatArray, ...]:
    """Mean of the noted winds of each shot's session."""
    session, sessions = group_numbers(shots, ["session_id"])
    count = np.maximum(np.bincount(session, weights=stated, minlength=sessions.height), 1.0)
    return tuple(
        np.bincount(session, weights=part, minlength=sessions.height)[session] / count[session]
        for part in winds
    )


def _session_columns(shots: pl.DataFrame, session_wind: pl.DataFrame | None) -> list[FloatArray]:
    """Head, cross and their standard deviations by session; NaN where there is none."""
    names = ["head_wind_mps", "cross_wind_mps", "head_wind_se_mps", "cross_wind_se_mps"]
    if session_wind is None or "session_id" not in shots.columns:
        return [np.full(shots.height, np.nan)] * len(names)
    table = session_wind.select("session_id", *names).unique("session_id")
    joined = shots.select("session_id").join(
        table, on="session_id", how="left", maintain_order="left"
    )
    return [numbers(joined, name) for name in names]


def ball_scales(
    shots: pl.DataFrame,
    calibration: pl.DataFrame | None,
    keys: Sequence[str] = CALIBRATION_KEYS,
) -> tuple[FloatArray, FloatArray]:
    """Logarithms of drag and lift scale of each shot.

    Parameters
    ----------
    shots : polars.DataFrame
        Shots with canonical columns.
    calibration : polars.DataFrame or None
        Scales by group as `calibrate_ball` gives them.
    keys : sequence of str
        Columns that make a group.

    Returns
    -------
    tuple of ndarray
        Logarithms of drag and of lift scale [1]; 0 where there is no calibration.
    """
    if calibration is None or calibration.is_empty():
        return np.zeros(shots.height), np.zeros(shots.height)
    table = calibration.select(*keys, "drag_scale", "lift_scale").unique(list(keys))
    joined = shots.select(keys).join(
        table, on=list(keys), how="left", nulls_equal=True, maintain_order="left"
    )
    drag, lift = numbers(joined, "drag_scale"), numbers(joined, "lift_scale")
    return np.log(np.where(np.isnan(drag), 1.0, drag)), np.log(np.where(np.isnan(lift), 1.0, lift))


def flight_inputs(
    shots: pl.DataFrame, air: DayAir, scales: tuple[FloatArray, FloatArray], launch: Any = None
) -> FlightInputs:
    """Inputs of the flights of shots in their day's air.

    Parameters
    ----------
    shots : polars.DataFrame
        Shots with canonical columns.
    air : DayAir
        Air and wind of the shots [units by name].
    scales : tuple of ndarray
        Logarithms of drag and lift scale [1].
    launch : ndarray or None
        Launch [units of LAUNCH], shape (shots, 5); the measured one if not given.

    Returns
    -------
    FlightInputs
        Inputs [units by name].
    """
    if launch is None:
        launch = np.stack([numbers(shots, name) for name in LAUNCH], axis=-1)
    speed, angle, direction, spin, axis = np.ascontiguousarray(launch.T)
    wind = (air.head_wind_mps, air.cross_wind_mps)
    return FlightInputs(speed, angle, direction, spin, axis, air.air_density_kgm3, *wind, *scales)
