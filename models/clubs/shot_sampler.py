"""Draws whole shots, launch and landing together, in still air or in the day's wind and air."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from rangeledger.models.arrays import FloatArray
from rangeledger.models.clubs.shot_pattern import ShotPattern
from rangeledger.models.flight.day_flight import STILL_AIR, Conditions, Launch
from rangeledger.models.flight.launch_spread import LAUNCH_COLUMNS, LaunchSpread
from rangeledger.models.flight.trajectory import Flight, fly

# Longer than the solver's own step: carry and side stay within 0.05 m, see the tests.
TIME_STEP_S = 0.5
# Least spread of what the launch does not tell, as a share of carry along and across.
_LEAST_RESIDUAL = 0.004
# Ball speeds, as shares of the stock speed, among which a mishit's is looked up.
_SPEED_SHARES = np.linspace(0.05, 1.6, 80)
_SMALL_CHANGES = np.array([0.2, 0.2, 0.2, 60.0, 0.5])
_LOWEST = np.array([0.5, -10.0, -80.0, 50.0, -80.0])
_HIGHEST = np.array([105.0, 75.0, 80.0, 15000.0, 80.0])


@dataclass(frozen=True, slots=True)
class SampledShots:
    """Drawn shots.

    Parameters
    ----------
    launches : ndarray, shape (n, 5)
        Launch in the order and units of `LAUNCH_COLUMNS`.
    still : ndarray, shape (n, 2)
        Landing in still air, along and across [m].
    landings : ndarray, shape (n, 2)
        Landing in the day's wind and air, along and across [m].
    flight : Flight
        The day's flights of the launches: apex [m], descent [deg], hang time [s].
    mishit : ndarray of bool, shape (n,)
        Which shots are mishits.
    """

    launches: FloatArray
    still: FloatArray
    landings: FloatArray
    flight: Flight
    mishit: npt.NDArray[np.bool_]


def sample_shots(
    pattern: ShotPattern,
    spread: LaunchSpread,
    count: int,
    random: np.random.Generator,
    conditions: Conditions = STILL_AIR,
) -> SampledShots:
    """Draw shots of one club and swing.

    Parameters
    ----------
    pattern : ShotPattern
        Fitted pattern in still air.
    spread : LaunchSpread
        Launch of the player's clean strikes with this club.
    count : int
        How many shots [1].
    random : numpy.random.Generator
        Source of randomness.
    conditions : Conditions
        Wind and air of the day.

    Returns
    -------
    SampledShots

    Notes
    -----
    Landings in still air are drawn from the pattern, so its dispersion is kept exactly. Launches
    are drawn from the player's launch distribution and moved to agree with their landing: with J
    the change of landing with launch, S the covariance of launches and R what the launch does not
    tell, ``L = L0 + S J' (J S J' + R)^-1 (z - J L0 - e)``. What is left between the flight of a
    launch and its landing goes with the shot into other air:
    ``landing = fly(launch, day) + (still landing - fly(launch, still air))``.
    """
    still, mishit = pattern.draw(count, random)
    launches = np.empty((count, len(LAUNCH_COLUMNS)))
    clean = ~mishit
    launches[clean] = _clean_launches(pattern, spread, still[clean], random)
    launches[mishit] = _mishit_launches(spread, still[mishit], random)
    launches = np.clip(launches, _LOWEST, _HIGHEST)
    calm = _fly(launches, STILL_AIR, spread.stock)
    if conditions == STILL_AIR:
        return SampledShots(launches, still, still, calm, mishit)
    day = _fly(launches, conditions, spread.stock)
    change = np.column_stack((day.carry_m - calm.carry_m, day.carry_side_m - calm.carry_side_m))
    landings = still + np.where(np.isfinite(change), change, 0.0)
    landings[:, 0] = np.maximum(landings[:, 0], 0.0)
    return SampledShots(launches, still, landings, day, mishit)


def _fly(launches: FloatArray, conditions: Conditions, ball: Launch) -> Flight:
    """Flights of launches with the ball of a stock launch."""
    return fly(
        *launches.T,
        air_density_kgm3=conditions.air_density_kgm3,
        wind_speed_mps=conditions.wind_speed_mps,
        wind_from_deg=conditions.wind_from_deg,
        landing_height_m=conditions.landing_height_m,
        wind_profile=conditions.wind_profile,
        drag_scale=ball.drag_scale,
        lift_scale=ball.lift_scale,
        time_step_s=TIME_STEP_S,
    )


def _clean_launches(
    pattern: ShotPattern, spread: LaunchSpread, still: FloatArray, random: np.random.Generator
) -> FloatArray:
    """Launches of clean strikes that agree with their landings."""
    change = landing_changes(spread.stock)
    explained = change @ spread.covariance @ change.T
    residual = _residual_covariance(pattern, explained)
    count = len(still)
    free = random.standard_normal((count, len(LAUNCH_COLUMNS))) @ _root(spread.covariance).T
    other = random.standard_normal((count, 2)) @ _root(residual).T
    centre = np.array([pattern.carry_m, pattern.side_m])
    gap = (still - centre) - free @ change.T - other
    gain = spread.covariance @ change.T @ np.linalg.inv(explained + residual)
    return np.asarray(spread.mean + free + gap @ gain.T)


def _residual_covariance(pattern: ShotPattern, explained: FloatArray) -> FloatArray:
    """Covariance of the landing that the launch does not tell, never below a small share."""
    shared = pattern.correlation * pattern.carry_sd_m * pattern.side_sd_m
    fitted = np.array([[pattern.carry_sd_m**2, shared], [shared, pattern.side_sd_m**2]])
    values, vectors = np.linalg.eigh(fitted - explained)
    least = (_LEAST_RESIDUAL * pattern.carry_m) ** 2
    return np.asarray(vectors @ np.diag(np.maximum(values, least)) @ vectors.T)


def landing_changes(stock: Launch, conditions: Conditions = STILL_AIR) -> FloatArray:
    """Change of carry and side with each part of a launch.

    Parameters
    ----------
    stock : Launch
        Where the changes are taken.
    conditions : Conditions
        Wind and air.

    Returns
    -------
    ndarray, shape (2, 5)
        Central differences [m per unit of the part].
    """
    mean = np.array([getattr(stock, name) for name in LAUNCH_COLUMNS])
    steps = np.diag(_SMALL_CHANGES)
    ends = _fly(np.concatenate((mean + steps, mean - steps)), conditions, stock)
    landing = np.stack((ends.carry_m, ends.carry_side_m))
    parts = len(LAUNCH_COLUMNS)
    return np.asarray((landing[:, :parts] - landing[:, parts:]) / (2.0 * _SMALL_CHANGES))


def _mishit_launches(
    spread: LaunchSpread, still: FloatArray, random: np.random.Generator
) -> FloatArray:
    """Launches of mishits: the ball speed that carries so far, and a start towards the side."""
    free = random.standard_normal((len(still), len(LAUNCH_COLUMNS)))
    launches = spread.mean + free @ _root(spread.covariance).T
    stock = spread.stock
    speeds = _SPEED_SHARES * stock.ball_speed_mps
    shots = np.tile(spread.mean, (len(speeds), 1))
    shots[:, 0], shots[:, 2], shots[:, 4] = speeds, 0.0, 0.0
    shots[:, 3] *= _SPEED_SHARES
    carries = _fly(shots, STILL_AIR, stock).carry_m
    speed = np.interp(still[:, 0], np.maximum.accumulate(carries), speeds)
    launches[:, 3] *= speed / np.maximum(launches[:, 0], 1.0)
    launches[:, 0] = speed
    towards = np.degrees(np.arctan2(still[:, 1], np.maximum(still[:, 0], 1.0)))
    launches[:, 2] = 0.7 * towards + 0.3 * launches[:, 2]
    return launches


def _root(covariance: FloatArray) -> FloatArray:
    """Square root of a covariance that may have directions without spread."""
    values, vectors = np.linalg.eigh(covariance)
    return np.asarray(vectors * np.sqrt(np.maximum(values, 0.0)))
