"""Wind of a session from its own shots, where nobody wrote it down.

A ball of known launch that lands elsewhere than in still air tells of the wind: short, high and
steep of a head wind, sideways of a cross wind. What else could move it must be weighed against
that: the ball's drag and lift (known as well as its calibration says, shared in part by all clubs
of the day), the model's idea of apex and descent, a device whose spin axis is off.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import polars as pl
from numpy.typing import NDArray
from rangeledger.models.arrays import FloatArray, IntArray
from rangeledger.models.calibration._flight_fit import (
    APEX,
    AXIS,
    BALL_OF_THE_DAY_SD,
    CROSS,
    DEPARTURES,
    DESCENT,
    DRAG,
    HANG,
    HEAD,
    LIFT,
    SHAPE_SD,
    FlightData,
    FlightFit,
    fit_flights,
)
from rangeledger.models.calibration.ball_calibration import FITTED
from rangeledger.models.calibration.ball_prior import ball_uncertainty
from rangeledger.models.calibration.day_air import (
    CALIBRATION_KEYS,
    ball_scales,
    day_air,
    flight_inputs,
)
from rangeledger.models.calibration.launch_filling import GROUP_KEYS, OWN, fill_launch
from rangeledger.models.calibration.measurement_noise import DEFAULT_NOISE, LAUNCH, MeasurementNoise
from rangeledger.models.calibration.noted_winds import wind_is_stated
from rangeledger.models.calibration.session_winds import LEAST_SHOTS, TELLING_WIND_MPS, SessionWinds
from rangeledger.models.calibration.true_launch import probable_launch
from rangeledger.models.flight.aerodynamics import DEFAULT, Aerodynamics
from rangeledger.models.flight.flight_sensitivity import OBSERVABLES
from rangeledger.models.frame_arrays import group_numbers, numbers, texts, thinned
from rangeledger.models.statistics.two_level_fit import Levels

MOST_SHOTS: Final = 48  # of a session that enter the fit, evenly spaced over it
MOST_SHOTS_NOTED: Final = 16  # the same where the wind was noted

AXIS_SD_DEG: Final = 0.5  # of a device's spin axis from day to day; common practice, no source
# How far a player's usual tilt of the spin axis may lie from none where an export never measured
# it, and from the group's middle where it did on other days. Common practice, no source.
TILT_NEVER_SEEN_SD_DEG, TILT_OF_OTHER_DAYS_SD_DEG = 8.0, 3.0
# What the flight law may be off by, in the logarithms of drag and lift, where no ball was fitted in
# known wind. Published laws lie so far apart; tuned so that calm days under them stay calm.
FLIGHT_LAW_SD: Final = (0.12, 0.25)
# Of the density of the air at a height that nobody states: a place 900 m up is one of these away.
UNSTATED_HEIGHT_SD: Final = 0.10
# Part of the variance of balls and shapes that all clubs of a session share.
SHARED: Final = 0.7
_FLAT_WIND_SD_MPS: Final = 30.0
_UNITS: Final = ("session_id", "player", "club", "ball")


def recover_wind(
    shots: pl.DataFrame,
    calibration: pl.DataFrame | None = None,
    *,
    noise: MeasurementNoise = DEFAULT_NOISE,
    aerodynamics: Aerodynamics = DEFAULT,
    flight_law_sd: tuple[float, float] = FLIGHT_LAW_SD,
) -> pl.DataFrame:
    """Wind of each session: recorded, recovered from its shots, or assumed calm.

    Parameters
    ----------
    shots : polars.DataFrame
        Shots with canonical columns; `session_id`, `player`, `club` and `ball` at least.
    calibration : polars.DataFrame or None
        Drag and lift scales with their uncertainty, as `calibrate_ball` gives them.
    noise : MeasurementNoise
        Standard deviations of one measurement, gusts among them.
    aerodynamics : Aerodynamics
        Set of drag and lift coefficients.
    flight_law_sd : tuple of float
        What that set may be off by where no ball was fitted, in ln drag and ln lift [1].

    Returns
    -------
    polars.DataFrame
        A row a session: `session_id`, `wind_source`, `wind_speed_mps`, `wind_from_deg`,
        `head_wind_mps` (against positive) and `cross_wind_mps` (to the right positive) as to be
        used, their standard errors `..._se_mps`; the bare estimates `..._estimate_mps` with
        `..._estimate_se_mps` and 90 % limits `..._low_mps`, `..._high_mps`, null where nothing
        was fitted; `fit_probability` [1], `flights_tracked`, `shots_used` and
        `wind_reason` in plain words.

    Notes
    -----
    A constant wind is fitted by robust, weighted Gauss-Newton steps to carry, side, apex, descent
    and hang time, as many as there are. The standard errors contain gusts and measurement noise
    (scaled to the scatter found), the ball's uncertainty and that of the air's density. A wind
    that chi-squared calls significant at 5 % counts as recovered; one of its components that
    stays within its own noise and has a standard error above 1 m/s is used as zero. Where ball, air
    and shape of flight would have to be stranger than their priors allow (`fit_probability` below
    2 %), no wind is recovered: such a session has another fault. Where no ball was fitted in known
    wind the flight law may be off besides (`FLIGHT_LAW_SD`), and a wind below 2 m/s is not claimed.
    Where neither pressure nor altitude is stated the air may be thin, which must not look like a
    helping wind. A recorded wind is a prior where the flights were tracked: what is used weighs it,
    0.5 m/s and 30 % unsure, with what they say. The recovered wind is the
    uniform wind that explains the flights, not a wind at any one height. Where an export does not
    say whether its flights were tracked, `flights_tracked` is what they show: true if they answer
    to the recorded wind (or a wind was recovered from them), false if they fly as in calm air,
    null if that can't be told. Where no spin axis was measured, a player's slice and a cross wind
    look alike: the tilt that all shots of a club may share then widens the cross wind's error.
    """
    session, sessions = group_numbers(shots, ["session_id"])
    stated = wind_is_stated(shots)
    recorded = np.bincount(session, weights=stated, minlength=sessions.height) > 0
    usable, fills = _usable(shots, calibration)
    tracked = texts(shots, "flight_basis", "unknown") == "measured"
    usable &= ~recorded[session] | tracked | _doubtful(shots, stated)
    counts = np.bincount(session, weights=usable, minlength=sessions.height).astype(float)
    rows = np.flatnonzero(usable & (counts[session] >= LEAST_SHOTS))
    rows = rows[_enough(session[rows], recorded)]
    fitted, group = np.unique(session[rows], return_inverse=True)
    table = SessionWinds.empty(sessions.height)
    table.record(shots, session, stated, recorded)
    table.explain(shots, session, recorded, counts)
    if len(rows):
        law = (noise, aerodynamics, flight_law_sd)
        fit = _fit(shots[rows], fills[rows], group, calibration, *law)
        tracked_any = np.bincount(group, weights=tracked[rows]) > 0
        table.judge(
            fitted,
            fit,
            np.bincount(group),
            tracked_any,
            _calibrated(shots[rows], group, calibration),
        )
    return table.frame(sessions)


def _enough(session: IntArray, recorded: NDArray[np.bool_]) -> IntArray:
    """Places of the shots that enter the fit: fewer where a noted wind says much already."""
    noted = recorded[session]
    places = np.arange(len(session))
    parts = [
        places[chosen][thinned(session[chosen], most)]
        for chosen, most in ((~noted, MOST_SHOTS), (noted, MOST_SHOTS_NOTED))
    ]
    return np.sort(np.concatenate(parts))


def _calibrated(
    shots: pl.DataFrame, session: IntArray, calibration: pl.DataFrame | None
) -> NDArray[np.bool_]:
    """Whether most shots of each session are of a ball that was fitted in known wind."""
    share = np.bincount(session, weights=_of_fitted_ball(shots, calibration))
    return np.asarray(share >= 0.5 * np.bincount(session))


def _of_fitted_ball(rows: pl.DataFrame, calibration: pl.DataFrame | None) -> NDArray[np.bool_]:
    """Whether the ball of each row was fitted in known wind, or the flight law stands alone."""
    if calibration is None or calibration.is_empty():
        return np.zeros(rows.height, dtype=bool)
    fitted = pl.col("basis") == FITTED if "basis" in calibration.columns else pl.lit(True)
    table = calibration.select(*CALIBRATION_KEYS, fitted=fitted)
    joined = rows.select(CALIBRATION_KEYS).join(
        table, on=list(CALIBRATION_KEYS), how="left", nulls_equal=True, maintain_order="left"
    )
    return np.array(joined["fitted"].fill_null(value=False).to_numpy(), dtype=bool)


def _height_unknown(shots: pl.DataFrame) -> NDArray[np.bool_]:
    """Whether neither pressure nor altitude says how thin the air may be."""
    return np.asarray(
        np.isnan(numbers(shots, "air_pressure_hpa")) & np.isnan(numbers(shots, "altitude_m"))
    )


def _doubtful(shots: pl.DataFrame, stated: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Shots of an unknown kind of flight in a stated wind that would show in a tracked one."""
    unknown = texts(shots, "flight_basis", "unknown") == "unknown"
    return np.asarray(stated & unknown & (numbers(shots, "wind_speed_mps") >= TELLING_WIND_MPS))


def _usable(
    shots: pl.DataFrame, calibration: pl.DataFrame | None
) -> tuple[NDArray[np.bool_], FloatArray]:
    """Shots that can tell of the wind, and the standard deviations of their launch."""
    air, scales = day_air(shots), ball_scales(shots, calibration)
    launches = fill_launch(shots, flight_inputs(shots, air, scales), GROUP_KEYS)
    own = (launches.basis == OWN) & ~np.isnan(numbers(shots, "ball_speed_mps"))
    flew = (texts(shots, "flight_basis", "unknown") != "modelled") & (
        texts(shots, "club", "unknown") != "putter"
    )
    carry = numbers(shots, "carry_m")
    # A side without its own start direction would be read as a cross wind.
    directed = np.isnan(numbers(shots, "carry_side_m")) | ~np.isnan(
        numbers(shots, "launch_direction_deg")
    )
    return own & flew & directed & (carry > 5.0), np.concatenate(
        [launches.values, launches.sd], axis=1
    )


def _fit(
    shots: pl.DataFrame,
    fills: FloatArray,
    session: IntArray,
    calibration: pl.DataFrame | None,
    noise: MeasurementNoise,
    aerodynamics: Aerodynamics,
    flight_law_sd: tuple[float, float],
) -> FlightFit:
    """Fit all sessions of the shots at once."""
    calm = np.zeros(shots.height)  # the wind is fitted from nothing, recorded or not
    air = day_air(shots)._replace(head_wind_mps=calm, cross_wind_mps=calm)
    measured = np.stack([numbers(shots, name) for name in OBSERVABLES], axis=-1)
    unit, units = group_numbers(shots, _UNITS)
    launch, launch_sd = probable_launch(fills[:, : len(LAUNCH)], fills[:, len(LAUNCH) :], unit)
    inputs = flight_inputs(shots, air, ball_scales(shots, calibration), launch)
    group_of_unit = np.zeros(units.height, dtype=np.int64)
    group_of_unit[unit] = session
    # Where a wind was noted the flights are held against it, and law and air against each other.
    # A ball that was fitted, at a height as little known, has taken that up.
    law = ~wind_is_stated(shots) & ~_of_fitted_ball(shots, calibration)
    thin = np.where(law & _height_unknown(shots), UNSTATED_HEIGHT_SD, 0.0)
    ball_sd = [
        np.hypot(np.hypot(sd, BALL_OF_THE_DAY_SD)[unit], law * off)
        for sd, off in zip(ball_uncertainty(units, calibration), flight_law_sd, strict=True)
    ]
    group_map, unit_map = _maps(ball_sd, np.hypot(air.density_sd, thin))
    _widen_unseen_tilts(shots, group_map, unit_map)
    group_precision = np.ones((session.max() + 1, group_map.shape[2]))
    group_precision[:, :2] = _FLAT_WIND_SD_MPS**-2
    unit_precision = np.ones((units.height, unit_map.shape[2]))
    return fit_flights(
        FlightData(inputs, measured, launch_sd),
        Levels(unit, group_of_unit, group_precision, unit_precision),
        group_map,
        unit_map,
        noise,
        aerodynamics,
    )


def _maps(ball_sd: list[FloatArray], density_sd: FloatArray) -> tuple[FloatArray, FloatArray]:
    """How head, cross and standardised errors make up the departures of each shot.

    Columns of the session: head, cross, axis, density, then drag, lift, apex, descent, hang time;
    columns of the club in it: the last five, and the axis.
    """
    group_map = np.zeros((len(density_sd), len(DEPARTURES), 9))
    unit_map = np.zeros((len(density_sd), len(DEPARTURES), 6))
    group_map[:, HEAD, 0] = group_map[:, CROSS, 1] = 1.0
    group_map[:, AXIS, 2] = AXIS_SD_DEG
    group_map[:, DRAG, 3] = group_map[:, LIFT, 3] = density_sd
    spreads = (*ball_sd, *SHAPE_SD)
    for k, (row, sd) in enumerate(zip((DRAG, LIFT, APEX, DESCENT, HANG), spreads, strict=True)):
        group_map[:, row, 4 + k] = sd * np.sqrt(SHARED)
        unit_map[:, row, k] = sd * np.sqrt(1.0 - SHARED)
    return group_map, unit_map


def _widen_unseen_tilts(shots: pl.DataFrame, group_map: FloatArray, unit_map: FloatArray) -> None:
    """Add the tilt that shots without a measured spin axis share, of the session and the club."""
    unseen = np.isnan(numbers(shots, "spin_axis_deg"))
    if not unseen.any():
        return
    group, groups = group_numbers(shots, [key for key in GROUP_KEYS if key in shots.columns])
    seen = np.bincount(group, weights=~unseen, minlength=groups.height) > 0
    of_tilt = np.where(seen[group], TILT_OF_OTHER_DAYS_SD_DEG, TILT_NEVER_SEEN_SD_DEG)
    sd = np.where(unseen, of_tilt, 0.0)
    group_map[:, AXIS, 2] = np.hypot(AXIS_SD_DEG, sd * np.sqrt(SHARED))
    unit_map[:, AXIS, 5] = sd * np.sqrt(1.0 - SHARED)
