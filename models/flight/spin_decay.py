"""How the spin of a flying ball dies away."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike
from rangeledger.models.constants import BALL_RADIUS_M

# Dimensionless coefficient of the spin's decay. Source: Smits & Smith 1994, as quoted by Penner
# 2001, eq. 16; a book of 2015 gives 1.9e-5 in these units.
SPIN_DECAY_COEFFICIENT: Final = 2.0e-5


def spin_decay_rpm_per_s(
    spin_rate_rpm: ArrayLike, air_speed_mps: ArrayLike, ball_radius_m: float = BALL_RADIUS_M
) -> Any:
    """Rate at which spin is lost.

    Parameters
    ----------
    spin_rate_rpm : array_like
        Total spin [rpm].
    air_speed_mps : array_like
        Speed of the ball through the air [m/s].
    ball_radius_m : float
        Radius of the ball [m].

    Returns
    -------
    float or ndarray
        Rate of change of the spin [rpm/s], never positive, broadcast shape of the inputs.

    Notes
    -----
    dw/dt = -2.0e-5 V w / R ([smits1994]; [penner2001], eq. 16). The law leaves the density of the
    air out; putting it in changes a carry by less than 0.2 m. The compiled loop of the flight holds
    the law once more; a test holds the two together.

    References
    ----------
    [smits1994], [penner2001]
    """
    w = np.asarray(spin_rate_rpm, dtype=float)
    V = np.asarray(air_speed_mps, dtype=float)
    return (-SPIN_DECAY_COEFFICIENT * V * w / ball_radius_m)[()]
