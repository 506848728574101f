"""Drag and lift of a player's ball, club by club, from flights in known wind.

Balls differ, and so do devices and the model's own idea of a wedge and a driver. Two factors, one
on the drag and one on the lift, take all that up. A draggy ball and a head wind look the same from
one direction, so factors are fitted only where the wind was stated, or where a session's shots
went in different directions; elsewhere the stated prior stands, and the result says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
import polars as pl
from rangeledger.models.arrays import BoolArray, FloatArray, IntArray
from rangeledger.models.calibration._flight_fit import (
    APEX,
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
from rangeledger.models.calibration.ball_prior import prior_sd
from rangeledger.models.calibration.day_air import (
    CALIBRATION_KEYS,
    DayAir,
    day_air,
    flight_inputs,
)
from rangeledger.models.calibration.launch_filling import OWN, fill_launch
from rangeledger.models.calibration.measurement_noise import DEFAULT_NOISE, MeasurementNoise
from rangeledger.models.calibration.noted_winds import wind_is_stated
from rangeledger.models.calibration.true_launch import probable_launch
from rangeledger.models.flight.aerodynamics import DEFAULT, Aerodynamics
from rangeledger.models.flight.flight_sensitivity import OBSERVABLES
from rangeledger.models.frame_arrays import group_numbers, numbers, texts, thinned
from rangeledger.models.statistics.two_level_fit import Levels
from rangeledger.schemas.units import counted

LEAST_SHOTS: Final = 5
MOST_SHOTS: Final = 96  # of a group that enter the fit, evenly spaced over it
FITTED: Final = "fitted"
PRIOR: Final = "prior"

# Bearings of a session's shots that lie this far apart tell a head wind from a draggy ball.
_OPPOSED_DEG: Final = 60.0
# A wind nobody stated, where the bearings show it; a stated one above this makes flights of an
# unknown kind useless, since they may be computed in calm air.
_UNSTATED_WIND_SD_MPS: Final = 5.0
_NEARLY_CALM_MPS: Final = 2.0

_WHY_NOT: Final = {
    "modelled": "The device computed the flights in calm air, so they say nothing of the ball.",
    "launch": "No shot has all of ball speed, launch angle, spin and a tracked carry.",
    "wind": (
        "No wind was stated, not even calm, and all shots went one way: a head wind and a "
        "draggy ball can't be told apart."
    ),
    "few": "Fewer than 5 shots with launch data, tracked carry and a stated wind.",
}


def calibrate_ball(
    shots: pl.DataFrame,
    *,
    keys: Sequence[str] = CALIBRATION_KEYS,
    noise: MeasurementNoise = DEFAULT_NOISE,
    aerodynamics: Aerodynamics = DEFAULT,
) -> pl.DataFrame:
    """Drag and lift scale of each group.

    Parameters
    ----------
    shots : polars.DataFrame
        Shots with canonical columns; `session_id` and the key columns at least. A column
        `target_bearing_deg`, the compass bearing of the target, is used where there is one.
    keys : sequence of str
        Columns that make a group, `ball` among them.
    noise : MeasurementNoise
        Standard deviations of one measurement.
    aerodynamics : Aerodynamics
        Set of drag and lift coefficients that is scaled.

    Returns
    -------
    polars.DataFrame
        A row a group: keys, `drag_scale`, `drag_scale_se`, `lift_scale`, `lift_scale_se` [1],
        `scale_correlation` [1], `shots_used`, `sessions_used`, `noise_scale` [1], `basis`
        (`fitted` or `prior`), `aerodynamics` and `reason` in plain words.

    Notes
    -----
    The logarithms of the scales are fitted to carry, apex, descent angle and hang time, as many
    as there are, by robust, weighted Gauss-Newton steps, with normal priors about 0 (`PRIOR_SD`
    of `ball_prior`). Each session adds its own error of wind, density and ball, and the model's
    errors in the shape of a flight have priors too, so many shots of one day do not make a sure
    scale. Without enough data the scales are 1 with the prior's standard error.
    """
    group, groups = group_numbers(shots, keys)
    use, why = _usable(shots, group, groups.height)
    rows = np.flatnonzero(use)
    rows = rows[thinned(group[rows], MOST_SHOTS)]
    drag_sd, lift_sd = prior_sd(texts(groups, "ball", "unknown"))
    log_scale = np.zeros((groups.height, 2))
    covariance = np.zeros((groups.height, 2, 2))
    covariance[:, 0, 0], covariance[:, 1, 1] = drag_sd**2, lift_sd**2
    scatter = np.full(groups.height, np.nan)
    if len(rows):
        fitted, member = np.unique(group[rows], return_inverse=True)
        fit = _fit(
            shots[rows], member, drag_sd[group[rows]], lift_sd[group[rows]], noise, aerodynamics
        )
        spread = np.stack([drag_sd, lift_sd], axis=-1)[fitted]
        log_scale[fitted] = fit.estimates.group[:, :2] * spread
        covariance[fitted] = (
            fit.estimates.group_covariance[:, :2, :2] * spread[:, :, None] * spread[:, None, :]
        )
        scatter[fitted] = fit.noise_scale[:, 0]
    return _table(
        groups, shots[rows], group[rows], log_scale, covariance, scatter, why, aerodynamics
    )


def _usable(shots: pl.DataFrame, group: IntArray, groups: int) -> tuple[BoolArray, list[str]]:
    """Shots that enter a fit, and for each group why not, if none does."""
    air = day_air(shots)
    launches = fill_launch(shots, flight_inputs(shots, air, (np.zeros(shots.height),) * 2))
    kind = texts(shots, "flight_basis", "unknown")
    tracked = (kind == "measured") | ((kind == "unknown") & _nearly_calm(shots))
    whole = (launches.basis == OWN) & ~np.isnan(numbers(shots, "ball_speed_mps"))
    whole &= (numbers(shots, "carry_m") > 5.0) & (texts(shots, "club", "unknown") != "putter")
    known = wind_is_stated(shots) | _opposed(shots)
    use = whole & tracked & known
    counts = np.bincount(group, weights=use, minlength=groups)
    use &= counts[group] >= LEAST_SHOTS

    def none(flag: BoolArray) -> BoolArray:
        return np.asarray(np.bincount(group, weights=flag, minlength=groups) == 0)

    order = (
        (none(kind != "modelled"), "modelled"),
        (none(whole), "launch"),
        (none(whole & known & (kind != "modelled")), "wind"),
        (counts < LEAST_SHOTS, "few"),
    )
    why = np.select([o[0] for o in order], [o[1] for o in order], "")
    return use, [_WHY_NOT.get(str(word), "") for word in why]


def _nearly_calm(shots: pl.DataFrame) -> BoolArray:
    """Shots with a stated wind too small to matter."""
    return np.asarray(numbers(shots, "wind_speed_mps") <= _NEARLY_CALM_MPS)


def _opposed(shots: pl.DataFrame) -> BoolArray:
    """Shots of a session that were played in clearly different directions."""
    bearing = np.radians(numbers(shots, "target_bearing_deg"))
    session, sessions = group_numbers(shots, ["session_id"])
    with_bearing = ~np.isnan(bearing)
    size = np.maximum(np.bincount(session, weights=with_bearing, minlength=sessions.height), 1.0)
    east, north = (
        np.bincount(session, weights=np.nan_to_num(f(bearing)), minlength=sessions.height) / size
        for f in (np.sin, np.cos)
    )
    # The mean of unit vectors shortens to cos(half the angle) when two directions share the shots.
    spread = np.hypot(east, north) < np.cos(np.radians(_OPPOSED_DEG / 2.0))
    return np.asarray(spread[session] & with_bearing)


def _fit(
    shots: pl.DataFrame,
    member: IntArray,
    drag_sd: FloatArray,
    lift_sd: FloatArray,
    noise: MeasurementNoise,
    aerodynamics: Aerodynamics,
) -> FlightFit:
    """Fit all groups at once; `member` is the group of each shot."""
    air = day_air(shots)
    nominal = (np.zeros(shots.height),) * 2
    launches = fill_launch(shots, flight_inputs(shots, air, nominal))
    day = shots.select("session_id").with_columns(pl.Series("member", member))
    unit, units = group_numbers(day, ["member", "session_id"])
    launch, launch_sd = probable_launch(launches.values, launches.sd, unit)
    measured = np.stack([numbers(shots, name) for name in OBSERVABLES], axis=-1)
    measured[:, OBSERVABLES.index("carry_side_m")] = np.nan  # the side tells of the axis only
    group_map = np.zeros((shots.height, len(DEPARTURES), 5))
    spreads: tuple[FloatArray | float, ...] = (drag_sd, lift_sd, *SHAPE_SD)
    for k, (row, sd) in enumerate(zip((DRAG, LIFT, APEX, DESCENT, HANG), spreads, strict=True)):
        group_map[:, row, k] = sd
    unit_map = _session_map(shots, air)
    group_of_unit = np.asarray(units.get_column("member").to_numpy(), dtype=np.int64)
    ones = np.ones((member.max() + 1, 5)), np.ones((units.height, unit_map.shape[2]))
    return fit_flights(
        FlightData(flight_inputs(shots, air, nominal, launch), measured, launch_sd),
        Levels(unit, group_of_unit, *ones),
        group_map,
        unit_map,
        noise,
        aerodynamics,
    )


def _session_map(shots: pl.DataFrame, air: DayAir) -> FloatArray:
    """What a session may add to every shot of it: two winds, density, the ball of the day."""
    stated = wind_is_stated(shots)
    wind_sd = np.where(stated, air.head_sd_mps, _UNSTATED_WIND_SD_MPS)
    bearing = np.where(stated, 0.0, np.radians(np.nan_to_num(numbers(shots, "target_bearing_deg"))))
    unit_map = np.zeros((shots.height, len(DEPARTURES), 4))
    unit_map[:, HEAD, 0] = unit_map[:, CROSS, 1] = wind_sd * np.cos(bearing)
    unit_map[:, HEAD, 1], unit_map[:, CROSS, 0] = (
        -wind_sd * np.sin(bearing),
        wind_sd * np.sin(bearing),
    )
    unit_map[:, DRAG, 2] = unit_map[:, LIFT, 2] = air.density_sd
    unit_map[:, DRAG, 3] = BALL_OF_THE_DAY_SD
    return unit_map


def _table(
    groups: pl.DataFrame,
    used: pl.DataFrame,
    group: IntArray,
    log_scale: FloatArray,
    covariance: FloatArray,
    scatter: FloatArray,
    why: list[str],
    aerodynamics: Aerodynamics,
) -> pl.DataFrame:
    """Assemble the tidy result."""
    scale = np.exp(log_scale)
    se = np.sqrt(np.diagonal(covariance, axis1=1, axis2=2))
    shots = np.bincount(group, minlength=groups.height)
    session, _ = group_numbers(used, ["session_id"])
    pairs = np.unique(np.stack([group, session], axis=-1), axis=0)
    sessions = np.bincount(pairs[:, 0], minlength=groups.height) if len(pairs) else 0 * shots
    reason = [
        word
        or f"Fitted on {counted(int(shots[k]), 'shot')} of "
        f"{counted(int(sessions[k]), 'session')} with known wind."
        for k, word in enumerate(why)
    ]
    columns = {
        "drag_scale": scale[:, 0],
        "drag_scale_se": scale[:, 0] * se[:, 0],
        "lift_scale": scale[:, 1],
        "lift_scale_se": scale[:, 1] * se[:, 1],
        "scale_correlation": covariance[:, 0, 1] / (se[:, 0] * se[:, 1]),
        "shots_used": shots,
        "sessions_used": sessions,
        "noise_scale": scatter,
        "basis": [PRIOR if word else FITTED for word in why],
        "aerodynamics": [aerodynamics.name] * groups.height,
        "reason": reason,
    }
    frame = pl.DataFrame(columns).with_columns(pl.col("noise_scale").fill_nan(None))
    return pl.concat([groups, frame], how="horizontal")
