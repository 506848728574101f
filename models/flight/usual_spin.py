"""The spin that usually goes with a launch angle, for balls whose spin nobody measured."""

from __future__ import annotations

import numpy as np
from rangeledger.models.arrays import FloatArray

# A driver launched at 10 deg spins about 2300 rpm, and each degree more comes with about 350 rpm:
# 7000 rpm at the 23 deg of a short iron. Common practice, no source.
_SPIN_AT_10_RPM, _SPIN_PER_DEG_RPM = 2300.0, 350.0
_LEAST_RPM, _MOST_RPM = 1800.0, 10000.0


def usual_spin(launch_angle_deg: FloatArray) -> FloatArray:
    """Spin that usually goes with a launch angle.

    Parameters
    ----------
    launch_angle_deg : array_like
        Vertical launch angle [deg].

    Returns
    -------
    numpy array
        Total spin [rpm].
    """
    spin = _SPIN_AT_10_RPM + _SPIN_PER_DEG_RPM * (launch_angle_deg - 10.0)
    return np.clip(spin, _LEAST_RPM, _MOST_RPM)
