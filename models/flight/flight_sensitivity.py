"""How the measurable results of a flight answer to its inputs.

Calibration, wind recovery and uncertainty all need the same two things: the computed results of
shots in their air (`observe`), and the derivatives of those results (`derivatives`), taken by
differences wide enough that the solver's rounding does not matter.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray
from rangeledger.models.air.wind_profile import speed_and_from
from rangeledger.models.arrays import FloatArray
from rangeledger.models.flight.aerodynamics import DEFAULT, Aerodynamics
from rangeledger.models.flight.trajectory import fly

OBSERVABLES: Final = ("carry_m", "carry_side_m", "apex_m", "descent_angle_deg", "hang_time_s")

# Step of the difference of each input, in the input's unit.
_STEPS: Final = {
    "ball_speed_mps": 0.5,
    "launch_angle_deg": 0.5,
    "launch_direction_deg": 0.5,
    "spin_rate_rpm": 150.0,
    "spin_axis_deg": 1.0,
    "head_wind_mps": 0.5,
    "cross_wind_mps": 0.5,
    "drag_log": 0.02,
    "lift_log": 0.02,
}


class FlightInputs(NamedTuple):
    """Everything a flight depends on; arrays of one length, a shot an element."""

    ball_speed_mps: FloatArray
    launch_angle_deg: FloatArray
    launch_direction_deg: FloatArray
    spin_rate_rpm: FloatArray
    spin_axis_deg: FloatArray
    air_density_kgm3: FloatArray
    head_wind_mps: FloatArray
    cross_wind_mps: FloatArray
    drag_log: FloatArray
    lift_log: FloatArray

    def rows(self, rows: NDArray[np.int64]) -> FlightInputs:
        """The same for some of the shots."""
        return FlightInputs(*(column[rows] for column in self))

    def moved(self, **changes: FloatArray | float) -> FlightInputs:
        """The same with amounts added to some inputs."""
        return self._replace(**{name: getattr(self, name) + by for name, by in changes.items()})


def observe(inputs: FlightInputs, aerodynamics: Aerodynamics = DEFAULT) -> FloatArray:
    """Computed results of shots in their air.

    Parameters
    ----------
    inputs : FlightInputs
        Launch, air, wind and logarithms of drag and lift scale [units by name].
    aerodynamics : Aerodynamics
        Set of drag and lift coefficients.

    Returns
    -------
    ndarray
        Carry [m], side [m], apex [m], descent angle [deg] and hang time [s], shape (shots, 5).
    """
    speed, origin = speed_and_from(inputs.head_wind_mps, inputs.cross_wind_mps)
    flight = fly(
        *inputs[:5],
        air_density_kgm3=inputs.air_density_kgm3,
        wind_speed_mps=speed,
        wind_from_deg=origin,
        drag_scale=np.exp(inputs.drag_log),
        lift_scale=np.exp(inputs.lift_log),
        aerodynamics=aerodynamics,
    )
    return np.stack(flight[: len(OBSERVABLES)], axis=-1)


def derivatives(
    inputs: FlightInputs,
    names: Sequence[str],
    aerodynamics: Aerodynamics = DEFAULT,
    results: FloatArray | None = None,
) -> FloatArray:
    """Derivatives of the computed results with respect to some inputs.

    Parameters
    ----------
    inputs : FlightInputs
        Launch, air, wind and logarithms of drag and lift scale [units by name].
    names : sequence of str
        Inputs to differentiate by.
    aerodynamics : Aerodynamics
        Set of drag and lift coefficients.
    results : ndarray or None
        Result of `observe` for the inputs [m, m, m, deg, s], shape (shots, 5), where it is known.

    Returns
    -------
    ndarray
        Derivatives [unit of the result per unit of the input], shape (shots, 5, names).

    Notes
    -----
    Central differences, or with `results` forward ones: half the flights, and off by up to a few
    per cent where the results bend, which the steps of a fit can do with.
    """
    raised = _observed_at(inputs, names, 1.0, aerodynamics)
    steps = np.array([_STEPS[name] for name in names])[:, None, None]
    if results is None:
        slopes = (raised - _observed_at(inputs, names, -1.0, aerodynamics)) / (2.0 * steps)
    else:
        slopes = (raised - results) / steps
    return np.ascontiguousarray(np.moveaxis(slopes, 0, -1))


def _observed_at(
    inputs: FlightInputs, names: Sequence[str], sign: float, aerodynamics: Aerodynamics
) -> FloatArray:
    """Computed results with each input in turn moved by its step, shape (names, shots, 5)."""
    moved = [inputs.moved(**{name: sign * _STEPS[name]}) for name in names]
    stacked = FlightInputs(*(np.concatenate(columns) for columns in zip(*moved, strict=True)))
    shape = (len(names), len(inputs.ball_speed_mps), len(OBSERVABLES))
    return observe(stacked, aerodynamics).reshape(shape)
