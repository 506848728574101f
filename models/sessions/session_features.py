"""What each session says of ball flight: carry, side, launch, and carry given launch."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import polars as pl
from rangeledger.models.arrays import FloatArray, IntArray
from rangeledger.models.clubs.robust_cells import robust_means, spread_of_shots
from rangeledger.models.clubs.robust_location import group_median
from rangeledger.models.clubs.shot_groups import CARRY, SIDE
from rangeledger.models.flight.trajectory import fly
from rangeledger.models.statistics.prior_regression import regress


@dataclass(frozen=True, slots=True)
class Feature:
    """A quantity that a session may be unusual in.

    Attributes
    ----------
    name : str
        In words.
    kind : str
        `outcome`, `launch` or `residual` (given launch).
    drift : float
        Usual spread of a session's centre, all clubs together, in the unit of the feature.
    spread : float
        Usual spread of clean strikes in a session, same unit.
    unit : str
        `%` for differences of logarithms, else `deg`.
    """

    name: str
    kind: str
    drift: float
    spread: float
    unit: str


# Usual drifts and spreads: common practice, no source.
FEATURES: Final = (
    Feature("carry", "outcome", 0.015, 0.035, "%"),
    Feature("side", "outcome", 0.65, 3.0, "deg"),
    Feature("ball speed", "launch", 0.007, 0.025, "%"),
    Feature("launch angle", "launch", 0.35, 1.5, "deg"),
    Feature("spin rate", "launch", 0.03, 0.09, "%"),
    Feature("start direction", "launch", 0.45, 2.0, "deg"),
    Feature("carry given launch", "residual", 0.009, 0.020, "%"),
    Feature("curve", "residual", 0.5, 2.5, "deg"),
)
# The drift that is expected beforehand, in the usual one. Above 1 on purpose: tuned by
# simulation so that the stated rate of false alarms holds also for a player whose sessions
# drift half as far again as usual.
CAUTION: Final = {"outcome": 1.75, "launch": 1.4, "residual": 1.3}
NAMES: Final = tuple(feature.name for feature in FEATURES)
LAUNCH: Final = ("ball_speed_mps", "launch_angle_deg", "spin_rate_rpm")
_SHOT_VALUES: Final = (CARRY, SIDE, *LAUNCH, "launch_direction_deg", "spin_axis_deg")

# How far the flight model may be trusted: change of ln carry beyond its own with ln ball speed,
# launch angle [1/deg] and ln spin.
SLOPE_SD: Final = np.array([0.15, 0.003, 0.05])
# Share of a session's drift variance that each club has for itself.
OWN_DRIFT: Final = 0.2
# Shots farther from the flight model than this many usual spreads do not teach slopes.
WILD: Final = 5.0
# A launch that carries less than this by the model says nothing of the air.
LEAST_CARRY_M: Final = 5.0


@dataclass(frozen=True, slots=True)
class SessionFeatures:
    """Means of one player's clubs and sessions.

    Attributes
    ----------
    sessions : list of str
        Sessions in time.
    clubs : polars.DataFrame
        club, swing, ball of each column.
    mean, variance : array, shape (features, sessions, clubs)
        Mean of clean strikes, NaN where there is none, and its variance given level and drift.
    shots : array, shape (sessions, clubs)
        Clean strikes.
    """

    sessions: list[str]
    clubs: pl.DataFrame
    mean: FloatArray
    variance: FloatArray
    shots: FloatArray


def session_features(shots: pl.DataFrame) -> SessionFeatures:
    """Return the features of one player's sessions.

    Parameters
    ----------
    shots : polars.DataFrame
        Shots of one player: club, swing, ball, session_id, shot_number, `order` of the session in
        time, still_carry_m, still_side_m [m], ball_speed_mps, launch_angle_deg, spin_rate_rpm,
        launch_direction_deg, spin_axis_deg; null where unknown.

    Returns
    -------
    SessionFeatures
        Means and variances.

    Notes
    -----
    `carry given launch` is ln carry less that of the flight model for the shot's launch, with
    small corrections of its slopes learned from the player's own shots within sessions; the doubt
    about those widens the variance of a session whose launch is unusual. `curve` is the angle
    from the start direction to the landing point less what the spin axis explains.
    """
    keys = ["club", "swing", "ball"]
    shots = shots.select(*keys, "order", "session_id", "shot_number", *_SHOT_VALUES).sort(
        *keys, "order", "session_id", "shot_number", CARRY, SIDE, *LAUNCH, nulls_last=True
    )
    shots = shots.with_columns(
        column=pl.struct(keys).rle_id().cast(pl.Int64),
        line=pl.col("order").rank("dense").cast(pl.Int64) - 1,
    )
    clubs = shots.group_by("column").agg(pl.col(*keys).first()).sort("column").drop("column")
    sessions = shots.group_by("line").agg(pl.col("session_id").first()).sort("line")
    shape = (sessions.height, clubs.height)
    column, line = (shots[name].to_numpy() for name in ("column", "line"))
    cell = line * shape[1] + column
    doubt = np.zeros(shape[0] * shape[1])
    values = _values(shots, column, cell, doubt)
    moments = [
        _moments(value, cell, column, shape, feature)
        for value, feature in zip(values, FEATURES, strict=True)
    ]
    mean, variance = (np.stack(parts) for parts in zip(*moments, strict=True))
    variance[NAMES.index("carry given launch")] += doubt.reshape(shape)
    counts = np.bincount(cell, minlength=shape[0] * shape[1]).reshape(shape).astype(np.float64)
    return SessionFeatures(sessions["session_id"].to_list(), clubs, mean, variance, counts)


def _values(
    shots: pl.DataFrame, column: IntArray, cell: IntArray, doubt: FloatArray
) -> list[FloatArray]:
    """Return each feature of each shot, and write the doubt about given launch in each cell."""
    carry, side, speed, launch, spin, start, axis = (
        shots[name].cast(pl.Float64).fill_null(np.nan).to_numpy() for name in _SHOT_VALUES
    )
    log_carry, lateral = np.log(carry), np.degrees(np.arctan2(side, carry))
    flown = fly(speed, launch, 0.0, spin, np.nan_to_num(axis))
    flew = np.isfinite(axis) & (flown.carry_m > LEAST_CARRY_M)
    bend = np.where(flew, flown.carry_side_m, 0.0) / np.where(flew, flown.carry_m, 1.0)
    curve = lateral - start - np.degrees(np.arctan(bend))
    launch_values = np.column_stack([np.log(speed), launch, np.log(spin)])
    rest = log_carry - np.log(np.where(flown.carry_m > LEAST_CARRY_M, flown.carry_m, np.nan))
    for number in range(int(column.max(initial=-1)) + 1):
        chosen = np.flatnonzero((column == number) & np.isfinite(rest))
        if len(chosen):
            rest[chosen] = _given_launch(rest[chosen], launch_values[chosen], cell[chosen], doubt)
    return [
        log_carry,
        lateral,
        launch_values[:, 0],
        launch,
        launch_values[:, 2],
        start,
        rest,
        curve,
    ]


def _given_launch(
    rest: FloatArray, launch_values: FloatArray, cell: IntArray, doubt: FloatArray
) -> FloatArray:
    """Return what the flight model leaves of ln carry, its slopes put right for one club."""
    cells, number = np.unique(cell, return_inverse=True)
    around = np.column_stack([group_median(x, number, len(cells)) for x in launch_values.T])
    about = group_median(rest, number, len(cells))
    inside = rest - about[number]
    noise = FEATURES[NAMES.index("carry given launch")].spread
    near = np.abs(inside) < WILD * noise
    fit = regress(
        (launch_values - around[number])[near], inside[near], np.zeros(3), SLOPE_SD, noise_sd=noise
    )
    away = around - np.median(around, axis=0)
    doubt[cells] = np.einsum("ij,jk,ik->i", away, fit.covariance, away)
    return rest - (launch_values - np.median(around, axis=0)) @ fit.slope


def _moments(
    value: FloatArray,
    cell: IntArray,
    column: IntArray,
    shape: tuple[int, int],
    feature: Feature,
) -> tuple[FloatArray, FloatArray]:
    """Return the mean of each cell and its variance, by session and club."""
    known = np.isfinite(value)
    value, cell, column = value[known], cell[known], column[known]
    clubs = shape[1]
    spread = np.tile(spread_of_shots(value, cell, column, clubs, feature.spread), shape[0])
    mean, error = robust_means(value, cell, spread)
    total = error + OWN_DRIFT * feature.drift**2
    return mean.reshape(shape), total.reshape(shape)
