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
from scipy.special import stdtrit

from models._flight_fit import (
    APEX,
    AXIS,
    CROSS,
    DEPARTURES,
    DESCENT,
    DRAG,
    HANG,
    HEAD,
    LIFT,
    SCALE_PRIOR_SHOTS,
    FlightData,
    FlightFit,
    fit_flights,
)
from models.aerodynamics import DEFAULT, Aerodynamics
from models.ball_prior import ball_uncertainty
from models.day_air import (
    STATED_WIND_SD_MPS,
    STATED_WIND_SD_RELATIVE,
    UNKNOWN_WIND_SD_MPS,
    ball_scales,
    day_air,
    flight_inputs,
    wind_is_stated,
)
from models.flight_sensitivity import OBSERVABLES
from models.frame_arrays import group_numbers, numbers, texts, thinned
from models.launch_filling import GROUP_KEYS, OWN, fill_launch
from models.measurement_noise import DEFAULT_NOISE, LAUNCH, MeasurementNoise
from models.true_launch import probable_launch
from models.two_level_fit import Levels
from models.wind_profile import head_and_cross, speed_and_from

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

RECORDED: Final = "recorded"
RECOVERED: Final = "recovered"
ASSUMED_CALM: Final = "assumed-calm"

LEAST_SHOTS: Final = 5
MOST_SHOTS: Final = 48  # of a session that enter the fit, evenly spaced over it
SIGNIFICANT: Final = 5.99  # chi-squared with two degrees of freedom at 5 %

# What the model may get wrong in the shape of a flight, a device in its spin axis, and a ball from
# day to day, as standard deviations. Common practice, no source.
APEX_SD, DESCENT_SD_DEG, HANG_SD, AXIS_SD_DEG, BALL_OF_THE_DAY_SD = 0.03, 1.5, 0.02, 0.5, 0.01
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

    Returns
    -------
    polars.DataFrame
        A row a session: `session_id`, `wind_source`, `wind_speed_mps`, `wind_from_deg`,
        `head_wind_mps` (against positive) and `cross_wind_mps` (to the right positive) as to be
        used, their standard errors `..._se_mps`; the bare estimates `..._estimate_mps` with
        `..._estimate_se_mps` and 90 % limits `..._low_mps`, `..._high_mps`, null where nothing
        was fitted; `shots_used` and `wind_reason` in plain words.

    Notes
    -----
    A constant wind is fitted by robust, weighted Gauss-Newton steps to carry, side, apex, descent
    and hang time, as many as there are. The standard errors contain gusts and measurement noise
    (scaled to the scatter found), the ball's uncertainty and that of the air's density. A wind
    that chi-squared calls significant at 5 % counts as recovered; one of its components that
    stays within its own noise and has a standard error above 1 m/s is used as zero. The recovered
    wind is the uniform wind that explains the flights, not a wind at any one height.
    """
    session, sessions = group_numbers(shots, ["session_id"])
    stated = wind_is_stated(shots)
    recorded = np.bincount(session, weights=stated, minlength=sessions.height) > 0
    usable, fills = _usable(shots, calibration)
    usable &= ~recorded[session]
    counts = np.bincount(session, weights=usable, minlength=sessions.height).astype(float)
    rows = np.flatnonzero(usable & (counts[session] >= LEAST_SHOTS))
    rows = rows[thinned(session[rows], MOST_SHOTS)]
    fitted, group = np.unique(session[rows], return_inverse=True)
    table = _Winds.empty(sessions.height)
    table.record(shots, session, stated, recorded)
    table.explain(shots, session, recorded, counts)
    if len(rows):
        fit = _fit(shots[rows], fills[rows], group, calibration, noise, aerodynamics)
        table.judge(fitted, fit, np.bincount(group))
    return table.frame(sessions)


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
    return own & flew & (carry > 5.0), np.concatenate([launches.values, launches.sd], axis=1)


def _fit(
    shots: pl.DataFrame,
    fills: FloatArray,
    session: IntArray,
    calibration: pl.DataFrame | None,
    noise: MeasurementNoise,
    aerodynamics: Aerodynamics,
) -> FlightFit:
    """Fit all sessions of the shots at once."""
    air = day_air(shots)
    measured = np.stack([numbers(shots, name) for name in OBSERVABLES], axis=-1)
    unit, units = group_numbers(shots, _UNITS)
    launch, launch_sd = probable_launch(fills[:, : len(LAUNCH)], fills[:, len(LAUNCH) :], unit)
    inputs = flight_inputs(shots, air, ball_scales(shots, calibration), launch)
    group_of_unit = np.zeros(units.height, dtype=np.int64)
    group_of_unit[unit] = session
    group_map, unit_map = _maps(units, unit, air.density_sd, calibration)
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


def _maps(
    units: pl.DataFrame, unit: IntArray, density_sd: FloatArray, calibration: pl.DataFrame | None
) -> tuple[FloatArray, FloatArray]:
    """How head, cross and standardised errors make up the departures of each shot.

    Columns of the session: head, cross, axis, density, then drag, lift, apex, descent, hang time;
    columns of the club in it: the last five.
    """
    drag_sd, lift_sd = (
        np.hypot(sd, BALL_OF_THE_DAY_SD)[unit] for sd in ball_uncertainty(units, calibration)
    )
    group_map = np.zeros((len(unit), len(DEPARTURES), 9))
    unit_map = np.zeros((len(unit), len(DEPARTURES), 5))
    group_map[:, HEAD, 0] = group_map[:, CROSS, 1] = 1.0
    group_map[:, AXIS, 2] = AXIS_SD_DEG
    group_map[:, DRAG, 3] = group_map[:, LIFT, 3] = density_sd
    spreads = (drag_sd, lift_sd, APEX_SD, DESCENT_SD_DEG, HANG_SD)
    for k, (row, sd) in enumerate(zip((DRAG, LIFT, APEX, DESCENT, HANG), spreads, strict=True)):
        group_map[:, row, 4 + k] = sd * np.sqrt(SHARED)
        unit_map[:, row, k] = sd * np.sqrt(1.0 - SHARED)
    return group_map, unit_map


class _Winds:
    """The result while it is being put together: arrays with an element a session."""

    def __init__(self, size: int) -> None:
        self.source = np.full(size, ASSUMED_CALM, dtype=object)
        self.reason = np.full(size, "", dtype=object)
        self.shots_used = np.zeros(size, dtype=np.int64)
        self.wind = np.zeros((size, 2))
        self.se = np.full((size, 2), UNKNOWN_WIND_SD_MPS)
        self.estimate = np.full((size, 2), np.nan)
        self.estimate_se = np.full((size, 2), np.nan)

    @classmethod
    def empty(cls, size: int) -> _Winds:
        """All sessions assumed calm, no reasons yet."""
        return cls(size)

    def record(
        self,
        shots: pl.DataFrame,
        session: IntArray,
        stated: NDArray[np.bool_],
        recorded: NDArray[np.bool_],
    ) -> None:
        """Enter the mean stated wind of the sessions that have one."""
        origin = np.nan_to_num(numbers(shots, "wind_from_deg"))
        speed = np.where(stated, numbers(shots, "wind_speed_mps"), 0.0)
        shares = np.maximum(np.bincount(session, weights=stated, minlength=len(recorded)), 1.0)
        for k, part in enumerate(head_and_cross(speed, origin)):
            mean = np.bincount(session, weights=part, minlength=len(recorded)) / shares
            self.wind[recorded, k] = mean[recorded]
        size = np.hypot(self.wind[:, 0], self.wind[:, 1])
        sd = STATED_WIND_SD_MPS + STATED_WIND_SD_RELATIVE * size
        self.se[recorded] = sd[recorded, None]
        self.source[recorded] = RECORDED
        self.reason[recorded] = "The wind was recorded."

    def explain(
        self,
        shots: pl.DataFrame,
        session: IntArray,
        recorded: NDArray[np.bool_],
        counts: FloatArray,
    ) -> None:
        """Say why a session without a recorded wind can't be fitted."""
        tracked = texts(shots, "flight_basis", "unknown") != "modelled"
        any_tracked = np.bincount(session, weights=tracked, minlength=len(counts)) > 0
        for k in np.flatnonzero(~recorded & (counts < LEAST_SHOTS)):
            if not any_tracked[k]:
                self.reason[k] = "The device computed the flights in calm air."
                self.se[k] = 0.0
            elif counts[k] == 0:
                self.reason[k] = (
                    "No wind was recorded, and no shot has what it takes to tell: ball speed, "
                    "launch angle, spin and a tracked carry."
                )
            else:
                self.reason[k] = (
                    f"No wind was recorded, and {counts[k]:.0f} shots with launch and tracked "
                    f"carry are too few to tell it from; {LEAST_SHOTS} are needed."
                )

    def judge(self, fitted: IntArray, fit: FlightFit, used: IntArray) -> None:
        """Enter the fitted winds: recovered where significant, else calm, with the reason."""
        covariance = fit.estimates.group_covariance[:, :2, :2]
        wind = fit.estimates.group[:, :2]
        se = np.sqrt(np.diagonal(covariance, axis1=1, axis2=2))
        distance = np.einsum("ij,ijk,ik->i", wind, np.linalg.inv(covariance), wind)
        self.estimate[fitted], self.estimate_se[fitted], self.shots_used[fitted] = wind, se, used
        for k, at in enumerate(fitted):
            self._judge_one(int(at), wind[k], se[k], bool(distance[k] > SIGNIFICANT))

    def _judge_one(self, k: int, wind: FloatArray, se: FloatArray, significant: bool) -> None:
        """Decide what wind a session is to be used with."""
        found = (
            f"head {wind[0]:+.1f} ± {se[0]:.1f} m/s, cross {wind[1]:+.1f} ± {se[1]:.1f} m/s "
            f"from {self.shots_used[k]} shots"
        )
        lost = (np.abs(wind) < 1.96 * se) & (se > 1.0)
        use = np.where(lost | (not significant), 0.0, wind)
        self.wind[k] = use
        self.se[k] = np.where(use == 0.0, _calm_error(wind, se), se)
        if not significant:
            self.reason[k] = f"The shots show no wind beyond chance and the ball: {found}."
            return
        self.source[k] = RECOVERED
        self.reason[k] = f"Recovered: {found}."
        for part, name in enumerate(("head", "cross")):
            if lost[part]:
                what = "a draggy ball" if part == 0 else "a tilted spin axis"
                self.reason[k] += (
                    f" The {name} wind can't be told from {what} and is taken as none."
                )

    def _quantile(self) -> FloatArray:
        """Student's quantile of the 90 % interval, for the shots the noise was judged by."""
        return np.asarray(stdtrit(SCALE_PRIOR_SHOTS + np.maximum(self.shots_used, 1) - 1.0, 0.95))

    def frame(self, sessions: pl.DataFrame) -> pl.DataFrame:
        """The tidy result."""
        speed, origin = speed_and_from(self.wind[:, 0], self.wind[:, 1])
        columns: dict[str, object] = {
            "wind_source": pl.Series(self.source, dtype=pl.String),
            "wind_speed_mps": speed,
            "wind_from_deg": origin,
        }
        for k, name in enumerate(("head_wind", "cross_wind")):
            columns[f"{name}_mps"] = self.wind[:, k]
            columns[f"{name}_se_mps"] = self.se[:, k]
            columns[f"{name}_estimate_mps"] = self.estimate[:, k]
            columns[f"{name}_estimate_se_mps"] = self.estimate_se[:, k]
            reach = self._quantile() * self.estimate_se[:, k]
            columns[f"{name}_low_mps"] = self.estimate[:, k] - reach
            columns[f"{name}_high_mps"] = self.estimate[:, k] + reach
        columns["shots_used"] = self.shots_used
        columns["wind_reason"] = pl.Series(self.reason, dtype=pl.String)
        result = pl.DataFrame(columns).with_columns(pl.col(pl.Float64).fill_nan(None))
        return pl.concat([sessions, result], how="horizontal")


def _calm_error(wind: FloatArray, se: FloatArray) -> FloatArray:
    """Root mean square error of taking the wind as none, given what the shots say of it."""
    variance = 1.0 / (UNKNOWN_WIND_SD_MPS**-2 + se**-2)
    mean = variance * wind / se**2
    return np.sqrt(variance + mean**2)
