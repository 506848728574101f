"""Ellipses on the ground from a centre and a covariance."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from rangeledger.models.arrays import FloatArray


@dataclass(frozen=True, slots=True)
class Ellipse:
    """Ellipses, arrays of one entry each.

    Attributes
    ----------
    half_axis_long_m, half_axis_short_m : array
        Half-axes [m].
    angle_deg : array
        Direction of the long axis from the target line, positive to the right [deg],
        above -90 and up to 90.
    area_m2 : array
        Area [m^2].
    """

    half_axis_long_m: FloatArray
    half_axis_short_m: FloatArray
    angle_deg: FloatArray
    area_m2: FloatArray


def ellipse(
    carry_variance: FloatArray,
    side_variance: FloatArray,
    covariance: FloatArray,
    radius: FloatArray,
) -> Ellipse:
    """Return the ellipse of a given radius in standard deviations.

    Parameters
    ----------
    carry_variance, side_variance, covariance : array, shape (n,)
        Entries of the covariance matrix [m^2].
    radius : array, shape (n,)
        Radius in standard deviations [1]; sqrt(-2 ln(1 - p)) holds the share p of a normal.

    Returns
    -------
    Ellipse
        Half-axes, angle and area.

    Notes
    -----
    Eigenvalues (a + b)/2 +- hypot((a - b)/2, c); angle = atan2(2c, a - b) / 2;
    area = pi radius^2 sqrt(ab - c^2).
    """
    half_sum = 0.5 * (carry_variance + side_variance)
    half_difference = 0.5 * (carry_variance - side_variance)
    root = np.hypot(half_difference, covariance)
    long = radius * np.sqrt(half_sum + root)
    short = radius * np.sqrt(np.maximum(half_sum - root, 0.0))
    angle = np.degrees(0.5 * np.arctan2(covariance, half_difference))
    return Ellipse(long, short, angle, np.pi * long * short)
