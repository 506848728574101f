"""Launch as it probably was, from a noisy measurement of it.

A fit that uses how carry varies with spin among the shots of a session is misled by noise in the
measured spin: the slope it sees is too flat, and what it can't explain it gives to the wind. The
remedy is regression calibration: replace a measured value by its expectation given the
measurement and the spread of its group.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray
from rangeledger.models.arrays import FloatArray

# How much a player's own launch varies from shot to shot with one club, in the order speed, angle,
# direction, spin, axis: share, deg, deg, share, deg. Common practice, no source; worth so many
# shots beside the spread found.
_USUAL_SPREAD: Final = np.array([0.02, 1.2, 2.5, 0.07, 4.0])
_RELATIVE: Final = np.array([True, False, False, True, False])
_PRIOR_SHOTS: Final = 5.0
_FAR: Final = 3.0  # spreads beyond which a shot counts as no example of its group


def usual_spread(launch: FloatArray) -> FloatArray:
    """How much a player's launch usually varies from shot to shot.

    Parameters
    ----------
    launch : ndarray
        Speed [m/s], angle [deg], direction [deg], spin [rpm] and axis [deg], shape (groups, 5).

    Returns
    -------
    ndarray
        Standard deviations [same units], shape (groups, 5).
    """
    return np.maximum(np.where(_RELATIVE, _USUAL_SPREAD * launch, _USUAL_SPREAD), 1e-9)


def probable_launch(
    measured: FloatArray, noise_sd: FloatArray, group: NDArray[np.int64]
) -> tuple[FloatArray, FloatArray]:
    """Expected launch of each shot given its measurement and its group.

    Parameters
    ----------
    measured : ndarray
        Speed [m/s], angle [deg], direction [deg], spin [rpm] and axis [deg], shape (shots, 5).
    noise_sd : ndarray
        Standard deviations of the measurement [same units], shape (shots, 5).
    group : ndarray
        Group of each shot, one player and club in one session [1].

    Returns
    -------
    tuple of ndarray
        Expected values and their standard deviations [same units], shape (shots, 5).

    Notes
    -----
    E[x | m] = mean + r (m - mean), sd = noise sqrt(r), r = s^2 / (s^2 + noise^2), the reliability,
    with s^2 the group's variance less the noise's. Shots beyond three spreads of their group keep
    their measurement.

    References
    ----------
    [carroll2006]
    """
    sizes = np.bincount(group).astype(float)[:, None]
    mean = _group_sum(measured, group) / sizes
    for _ in range(2):
        away = measured - mean[group]
        usual = usual_spread(mean)
        near = np.abs(away) <= _FAR * np.hypot(usual[group], noise_sd)
        count = np.maximum(_group_sum(near.astype(float), group), 1.0)
        mean = _group_sum(np.where(near, measured, 0.0), group) / count
    away = np.where(near, measured - mean[group], 0.0)
    found = _group_sum(
        away**2 - np.where(near, noise_sd**2, 0.0) * (1.0 - 1.0 / count)[group], group
    )
    variance = (_PRIOR_SHOTS * usual**2 + found) / (_PRIOR_SHOTS + count - 1.0)
    variance = np.maximum(variance, 0.05 * usual**2)[group]
    reliability = np.where(near, variance / (variance + noise_sd**2), 1.0)
    expected = np.where(near, mean[group] + reliability * away, measured)
    return expected, noise_sd * np.sqrt(reliability)


def _group_sum(values: FloatArray, group: NDArray[np.int64]) -> FloatArray:
    """Sum of each column by group."""
    return np.stack([np.bincount(group, weights=column) for column in values.T], axis=-1)
