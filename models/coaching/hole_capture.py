"""How far off its line a putt may start and still fall, by the geometry of the hole."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt
from rangeledger.models.arrays import FloatArray
from rangeledger.schemas.units import INCH_M

HOLE_DIAMETER_M: Final = 4.25 * INCH_M  # Rules of Golf, definition of "hole"

# Speed at which a ball rolled across the middle of the hole just fails to drop [holmes1991].
GREATEST_CAPTURE_SPEED_MPS: Final = 1.63


def capture_half_width_m(speed_mps: npt.ArrayLike) -> FloatArray:
    """Return how far from the middle of the hole a ball may pass and still fall.

    Parameters
    ----------
    speed_mps : array_like
        Speed of the ball at the hole [m/s], >= 0.

    Returns
    -------
    array
        Half-width [m]: the radius of the hole for a ball that dies there, 0 from 1.63 m/s on.

    Notes
    -----
    d = R sqrt(1 - v / 1.63) [penner2002b]. Level green, no flagstick.

    References
    ----------
    [holmes1991], [penner2002b]
    """
    left = np.maximum(1.0 - np.asarray(speed_mps, dtype=float) / GREATEST_CAPTURE_SPEED_MPS, 0.0)
    return np.asarray(0.5 * HOLE_DIAMETER_M * np.sqrt(left), dtype=np.float64)


def start_line_tolerance_deg(length_m: npt.ArrayLike, speed_mps: npt.ArrayLike) -> FloatArray:
    """Return how far off its line a putt may start and still fall.

    Parameters
    ----------
    length_m : array_like
        Distance from the ball to the middle of the hole [m], > 0.
    speed_mps : array_like
        Speed of the ball at the hole [m/s], >= 0.

    Returns
    -------
    array
        Tolerance to either side [deg].

    Notes
    -----
    atan(d / L), straight roll on a level green.

    References
    ----------
    [penner2002b]
    """
    width = capture_half_width_m(speed_mps)
    return np.asarray(np.degrees(np.arctan2(width, np.asarray(length_m, dtype=float))))
