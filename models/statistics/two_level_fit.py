"""Weighted least squares with parameters on two levels, for many groups at once.

A group (say a session) has parameters of its own; its units (say the clubs used in it) have
further ones that are no interest in themselves but must not be mistaken for the first. Every
parameter has a normal prior about zero. The units' parameters are eliminated exactly, so the
cost grows with the rows only.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from rangeledger.models.arrays import FloatArray, IntArray


class Levels(NamedTuple):
    """Which unit a row belongs to, which group a unit belongs to, and the priors' precisions."""

    unit: IntArray  # shape (rows,)
    group_of_unit: IntArray  # shape (units,)
    group_precision: FloatArray  # shape (groups, p): diagonal
    unit_precision: FloatArray  # shape (units, q): diagonal


class Estimates(NamedTuple):
    """Parameters of groups and units, and the covariance of the groups' parameters."""

    group: FloatArray  # shape (groups, p)
    unit: FloatArray  # shape (units, q)
    group_covariance: FloatArray  # shape (groups, p, p)


def start(levels: Levels) -> Estimates:
    """Estimates before any data: all parameters at zero, with the prior's covariance.

    Parameters
    ----------
    levels : Levels
        Structure and priors.

    Returns
    -------
    Estimates
        Zeros and the prior covariance [units of the parameters].
    """
    groups, p = levels.group_precision.shape
    covariance = np.zeros((groups, p, p))
    covariance[:, range(p), range(p)] = 1.0 / levels.group_precision
    return Estimates(np.zeros((groups, p)), np.zeros(levels.unit_precision.shape), covariance)


def _sums(values: FloatArray, index: IntArray, size: int) -> FloatArray:
    """Sum rows by index."""
    total = np.zeros((size, *values.shape[1:]))
    np.add.at(total, index, values)
    return total


def improve(
    at: Estimates,
    levels: Levels,
    residuals: FloatArray,
    precision: FloatArray,
    group_slopes: FloatArray,
    unit_slopes: FloatArray,
) -> Estimates:
    """One Gauss-Newton step from estimates to better ones.

    Parameters
    ----------
    at : Estimates
        Where the residuals and slopes were taken.
    levels : Levels
        Structure and priors.
    residuals : ndarray
        Measured minus computed [unit of the observable], shape (rows, m).
    precision : ndarray
        Inverse covariance of each row [1 / products of the observables' units], shape (rows, m,
        m); zeros where nothing was measured.
    group_slopes, unit_slopes : ndarray
        Derivatives of the computed values by the parameters [observable per parameter], shapes
        (rows, m, p) and (rows, m, q).

    Returns
    -------
    Estimates
        Improved parameters and the covariance of the groups' [units of the parameters].

    Notes
    -----
    Normal equations with the units' block eliminated (Schur complement):
    (A - sum M N^-1 M') d = a - sum M N^-1 n.
    """
    groups, p = levels.group_precision.shape
    units, q = levels.unit_precision.shape
    weighted_group = np.swapaxes(group_slopes, 1, 2) @ precision
    weighted_unit = np.swapaxes(unit_slopes, 1, 2) @ precision
    r = residuals[:, :, None]
    A = _sums(
        _sums(weighted_group @ group_slopes, levels.unit, units), levels.group_of_unit, groups
    )
    A[:, range(p), range(p)] += levels.group_precision
    a = _sums(_sums(weighted_group @ r, levels.unit, units), levels.group_of_unit, groups)
    a -= (levels.group_precision * at.group)[:, :, None]
    N = _sums(weighted_unit @ unit_slopes, levels.unit, units)
    N[:, range(q), range(q)] += levels.unit_precision
    n = _sums(weighted_unit @ r, levels.unit, units)
    n -= (levels.unit_precision * at.unit)[:, :, None]
    M = _sums(weighted_group @ unit_slopes, levels.unit, units)
    MN = np.swapaxes(np.linalg.solve(N, np.swapaxes(M, 1, 2)), 1, 2)
    left = A - _sums(MN @ np.swapaxes(M, 1, 2), levels.group_of_unit, groups)
    covariance = np.asarray(np.linalg.inv(left), dtype=np.float64)
    step = covariance @ (a - _sums(MN @ n, levels.group_of_unit, groups))
    lower = np.linalg.solve(N, n - np.swapaxes(M, 1, 2) @ step[levels.group_of_unit])
    return Estimates(at.group + step[:, :, 0], at.unit + lower[:, :, 0], covariance)
