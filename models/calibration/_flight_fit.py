"""Fit wind and ball to measured flights: robust Gauss-Newton on two levels, many fits at once.

What a shot feels is a vector of departures from its nominal inputs (`DEPARTURES`); a fit says by
two matrices how its parameters make these departures up.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from rangeledger.models.arrays import FloatArray
from rangeledger.models.calibration.measurement_noise import (
    DEFAULT_NOISE,
    LAUNCH,
    WIND,
    MeasurementNoise,
    covariance_of_slopes,
)
from rangeledger.models.flight.aerodynamics import DEFAULT, Aerodynamics
from rangeledger.models.flight.flight_sensitivity import (
    OBSERVABLES,
    FlightInputs,
    derivatives,
    observe,
)
from rangeledger.models.statistics.two_level_fit import Estimates, Levels, improve, start

# Departures of a shot: five inputs of the flight, then what the model itself gets wrong in the
# shape of a flight: apex and hang time in proportion, descent angle in degrees.
INPUTS: Final = ("head_wind_mps", "cross_wind_mps", "drag_log", "lift_log", "spin_axis_deg")
DEPARTURES: Final = (*INPUTS, "apex_share", "descent_deg", "hang_share")
_BY: Final = (*INPUTS, *(name for name in LAUNCH if name not in INPUTS))
_LAUNCH_WIND: Final = [_BY.index(name) for name in (*LAUNCH, *WIND)]
HEAD, CROSS, DRAG, LIFT, AXIS, APEX, DESCENT, HANG = range(len(DEPARTURES))

# What the model may get wrong in the shape of a flight (apex in proportion, descent in degrees,
# hang time in proportion), and a ball's drag and lift from day to day, as standard deviations.
# Common practice, no source.
SHAPE_SD: Final = (0.03, 1.5, 0.02)
BALL_OF_THE_DAY_SD: Final = 0.01

_USUAL_DISTANCE: Final = 2.6  # sd above the mean of chi-squared beyond which a shot counts less
SCALE_PRIOR_SHOTS: Final = 6.0  # how many shots the stated noise is worth against the scatter found
_ROUNDS: Final = 3  # the last with the slopes of the one before


@dataclass(frozen=True, slots=True)
class FlightData:
    """Shots to fit: inputs, measured results, what of them counts, launch uncertainty."""

    inputs: FlightInputs
    measured: FloatArray  # shape (shots, 5), NaN where missing
    launch_sd: FloatArray  # shape (shots, 5)


@dataclass(frozen=True, slots=True)
class FlightFit:
    """Estimates, the noise scale found for each group and observable, and robust weights."""

    estimates: Estimates
    noise_scale: FloatArray  # shape (groups, 5)
    weights: FloatArray  # shape (shots,)


def fit_flights(
    data: FlightData,
    levels: Levels,
    group_map: FloatArray,
    unit_map: FloatArray,
    noise: MeasurementNoise = DEFAULT_NOISE,
    aerodynamics: Aerodynamics = DEFAULT,
) -> FlightFit:
    """Fit parameters whose effect on each shot is map @ parameters, shape (shots, 8, p)."""
    there = ~np.isnan(data.measured)
    estimates = start(levels)
    group = levels.group_of_unit[levels.unit]
    scale = np.ones((len(levels.group_precision), len(OBSERVABLES)))
    weights = np.ones(len(there))
    covariance = slopes = np.empty(0)
    for turn in range(_ROUNDS):
        departures = _departures(estimates, levels, group, group_map, unit_map)
        inputs = _departed(data.inputs, departures)
        results = np.nan_to_num(observe(inputs, aerodynamics))
        if turn < _ROUNDS - 1:
            by_input = np.nan_to_num(derivatives(inputs, _BY, aerodynamics, results))
            slopes = _slopes(results, by_input)
            covariance = covariance_of_slopes(by_input[:, :, _LAUNCH_WIND], data.launch_sd, noise)
        residuals = np.where(there, data.measured - _departed_results(results, departures), 0.0)
        scale, weights = _scatter(residuals, there, covariance, group, scale, turn)
        precision = _precision(covariance, there, scale[group]) * weights[:, None, None]
        estimates = improve(
            estimates, levels, residuals, precision, slopes @ group_map, slopes @ unit_map
        )
    return FlightFit(estimates, scale, weights)


def _departures(
    at: Estimates, levels: Levels, group: NDArray[np.int64], up: FloatArray, low: FloatArray
) -> FloatArray:
    """Departures of each shot at some estimates, shape (shots, 8)."""
    shared = (up @ at.group[group][:, :, None])[:, :, 0]
    return np.asarray(shared + (low @ at.unit[levels.unit][:, :, None])[:, :, 0])


def _departed(inputs: FlightInputs, departures: FloatArray) -> FlightInputs:
    """Inputs of the flights at some departures, kept within what a ball can meet."""
    limited = np.clip(departures[:, : len(INPUTS)], *_LIMITS.T)
    return inputs.moved(**dict(zip(INPUTS, limited.T, strict=True)))


_LIMITS: Final = np.array([[-25.0, 25.0], [-25.0, 25.0], [-0.7, 0.7], [-0.9, 0.9], [-20.0, 20.0]])


def _departed_results(results: FloatArray, departures: FloatArray) -> FloatArray:
    """Computed results with the model's own departures added."""
    departed = results.copy()
    departed[:, 2] *= 1.0 + departures[:, APEX]
    departed[:, 3] += departures[:, DESCENT]
    departed[:, 4] *= 1.0 + departures[:, HANG]
    return departed


def _slopes(results: FloatArray, by_input: FloatArray) -> FloatArray:
    """Derivatives of the results by the departures, shape (shots, 5, 8)."""
    slopes = np.zeros((len(results), len(OBSERVABLES), len(DEPARTURES)))
    slopes[:, :, : len(INPUTS)] = by_input[:, :, : len(INPUTS)]
    slopes[:, 2, APEX] = results[:, 2]
    slopes[:, 3, DESCENT] = 1.0
    slopes[:, 4, HANG] = results[:, 4]
    return slopes


def _scatter(
    residuals: FloatArray,
    there: NDArray[np.bool_],
    covariance: FloatArray,
    group: NDArray[np.int64],
    scale: FloatArray,
    turn: int,
) -> tuple[FloatArray, FloatArray]:
    """Noise scale by group and observable, and robust weights, from the residuals."""
    if turn == 0:  # the first residuals still hold what is to be fitted
        return scale, np.ones(len(there))
    sd = np.sqrt(np.diagonal(covariance, axis1=1, axis2=2))
    weights = np.ones(len(there))
    for _ in range(3):
        counted = there * weights[:, None]
        squares = np.zeros_like(scale)
        sizes = np.zeros_like(scale)
        np.add.at(squares, group, counted * (residuals / sd) ** 2)
        np.add.at(sizes, group, counted)
        freedom = np.maximum(sizes - 1.0, 0.0)
        scale = np.sqrt((SCALE_PRIOR_SHOTS + squares) / (SCALE_PRIOR_SHOTS + freedom))
        precision = _precision(covariance, there, scale[group])
        distance = np.einsum("ij,ijk,ik->i", residuals, precision, residuals)
        count = there.sum(axis=1)
        usual = count + _USUAL_DISTANCE * np.sqrt(2.0 * count)
        weights = np.minimum(1.0, usual / np.maximum(distance, 1e-9))
    return scale, weights


def _precision(covariance: FloatArray, there: NDArray[np.bool_], scale: FloatArray) -> FloatArray:
    """Inverse of the scaled covariance of what was measured; zeros elsewhere."""
    both = there[:, :, None] & there[:, None, :]
    scaled = covariance * scale[:, :, None] * scale[:, None, :]
    filled = np.where(both, scaled, np.eye(there.shape[1]))
    return np.where(both, np.linalg.inv(filled), 0.0)
