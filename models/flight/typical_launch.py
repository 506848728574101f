"""A usual launch for a club whose own launch was never recorded, with the speed that carries it."""

from __future__ import annotations

import numpy as np
from rangeledger.models.flight.day_flight import Launch
from rangeledger.models.flight.trajectory import fly

# Launch angle and spin per ball speed by loft [deg, deg, rpm per m/s], common practice, no
# source: irons launch at about half their loft, spin at about a thousand a club number.
_LOFT_DEG = (9.0, 10.5, 15.0, 20.0, 26.0, 32.5, 41.0, 46.0, 51.0, 56.0, 60.0)
_LAUNCH_DEG = (11.0, 12.0, 10.5, 12.5, 14.0, 16.5, 20.5, 24.0, 27.0, 29.0, 31.0)
_SPIN_PER_SPEED = (35.0, 38.0, 52.0, 75.0, 95.0, 131.0, 175.0, 200.0, 225.0, 250.0, 265.0)
_SPEEDS_MPS = np.linspace(8.0, 95.0, 88)
UNKNOWN_LOFT_DEG = 32.5


def usual_launch(loft_deg: float) -> tuple[float, float]:
    """Usual launch angle and spin of a club.

    Parameters
    ----------
    loft_deg : float
        Loft of the club [deg]; one that is not a number is read as a middle iron's.

    Returns
    -------
    tuple of float
        Launch angle [deg] and spin per ball speed [rpm per m/s].

    Notes
    -----
    Interpolated by loft from the usual values of the trade; common practice, no source.
    """
    loft = loft_deg if np.isfinite(loft_deg) else UNKNOWN_LOFT_DEG
    angle = float(np.interp(loft, _LOFT_DEG, _LAUNCH_DEG))
    return angle, float(np.interp(loft, _LOFT_DEG, _SPIN_PER_SPEED))


def typical_launch(carry_m: float, loft_deg: float, side_m: float = 0.0) -> Launch:
    """Usual launch of a club that carries a given distance in still air.

    Parameters
    ----------
    carry_m : float
        Still-air carry [m], > 0.
    loft_deg : float
        Loft of the club [deg]; one that is not a number is read as a middle iron's.
    side_m : float
        Still-air side of the stock shot [m], right positive; given to the start direction.

    Returns
    -------
    Launch
        Launch with the ball speed that gives the carry, held to 8 to 95 m/s.

    Notes
    -----
    Launch angle and spin are interpolated by loft from the usual values of the trade (common
    practice, no source). Good enough to tell what wind does; a recorded launch is better.
    """
    angle, per_speed = usual_launch(loft_deg)
    carries = fly(_SPEEDS_MPS, angle, 0.0, per_speed * _SPEEDS_MPS).carry_m
    speed = float(np.interp(carry_m, np.maximum.accumulate(carries), _SPEEDS_MPS))
    direction = float(np.degrees(np.arctan2(side_m, carry_m)))
    return Launch(speed, angle, direction, per_speed * speed, 0.0)
