"""Flights in still reference air, read off a table of computed ones.

Within 5 % of the computed flight and some hundred times faster, for questions that leave a wide
margin. The table is even in the logarithm of the speed, in the launch angle and in the square root
of the spin, where a flight bends most at little spin.
"""

from __future__ import annotations

from functools import cache
from typing import Final, NamedTuple

import numpy as np
from rangeledger.models.arrays import FloatArray
from rangeledger.models.flight.trajectory import fly

LARGEST_ERROR: Final = 0.05  # share of the computed flight, see the tests
_SPEED_MPS: Final = np.geomspace(12.0, 100.0, 28)
_LAUNCH_DEG: Final = np.linspace(4.0, 60.0, 29)
_SPIN_RPM: Final = np.linspace(200.0**0.5, 15_000.0**0.5, 16) ** 2
_STEP_S = 0.8  # the solver's carry is within centimetres at this step in still air


class TableFlight(NamedTuple):
    """Carry [m], apex [m] and hang time [s]; NaN outside of the table."""

    carry_m: FloatArray
    apex_m: FloatArray
    hang_time_s: FloatArray


def read_flights(
    ball_speed_mps: FloatArray, launch_angle_deg: FloatArray, spin_rate_rpm: FloatArray
) -> TableFlight:
    """Straight flights of many balls by linear interpolation.

    Parameters
    ----------
    ball_speed_mps : ndarray of shape (n,)
        Ball speed at launch [m/s], from 12 to 100.
    launch_angle_deg : ndarray of shape (n,)
        Vertical launch angle [deg], from 4 to 60.
    spin_rate_rpm : ndarray of shape (n,)
        Total spin [rpm], from 200 to 15,000.

    Returns
    -------
    TableFlight
        Carry and apex [m] and hang time [s], each of shape (n,), within `LARGEST_ERROR` of what
        `fly` computes; NaN outside of these ranges and where an input is NaN.
    """
    from scipy.ndimage import map_coordinates

    places = np.empty((3, len(ball_speed_mps)))
    with np.errstate(invalid="ignore", divide="ignore"):
        places[0] = _places(np.log(ball_speed_mps), np.log(_SPEED_MPS))
        places[1] = _places(launch_angle_deg, _LAUNCH_DEG)
        places[2] = _places(np.sqrt(spin_rate_rpm), np.sqrt(_SPIN_RPM))
    return TableFlight(
        *(map_coordinates(t, places, order=1, mode="constant", cval=np.nan) for t in _tables())
    )


def _places(values: FloatArray, knots: FloatArray) -> FloatArray:
    """Where values lie among evenly spaced knots, counted from 0."""
    steps_per_unit = float((len(knots) - 1) / (knots[-1] - knots[0]))
    return (values - float(knots[0])) * steps_per_unit


@cache
def _tables() -> tuple[FloatArray, FloatArray, FloatArray]:
    speed, launch, spin = np.meshgrid(_SPEED_MPS, _LAUNCH_DEG, _SPIN_RPM, indexing="ij")
    flight = fly(speed, launch, 0.0, spin, time_step_s=_STEP_S)
    return flight.carry_m, flight.apex_m, flight.hang_time_s
