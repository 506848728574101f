"""Spread within sessions and between sessions, with defaults that count as so many shots.

With weight 0 for the defaults these are the classical moment estimates of a one-way layout with
random effects, balanced or not.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from rangeledger.models.arrays import FloatArray, IntArray
from rangeledger.models.clubs.shot_groups import sum_by

# Below this weight a cell says nothing of its own mean; guards 0 / 0 only.
NO_WEIGHT = 1e-9


@dataclass(frozen=True, slots=True)
class CellMoments:
    """Weighted moments of the shots of each cell.

    Attributes
    ----------
    weight : array
        Sum of weights: the number of clean strikes [1].
    mean : array
        Weighted mean, in the unit of the values.
    scatter : array
        Weighted sum of squares about the mean, in the squared unit.
    """

    weight: FloatArray
    mean: FloatArray
    scatter: FloatArray


def cell_moments(
    values: FloatArray, weights: FloatArray, cell_of_shot: IntArray, origin: FloatArray
) -> CellMoments:
    """Return weight, mean and scatter of each cell.

    Parameters
    ----------
    values : array, shape (n,)
        A quantity of each shot [any unit].
    weights : array, shape (n,)
        Weight of each shot [1], 0 to 1.
    cell_of_shot : array of int, shape (n,)
        Number of the cell of each shot.
    origin : array, shape (cells,)
        A value near the mean of each cell [unit of `values`]; sums are taken about it, so that no
        digits are lost.

    Returns
    -------
    CellMoments
        Arrays of shape (cells,). A cell without weight has its origin as mean and scatter 0.

    Notes
    -----
    mean = o + sum w d / sum w; scatter = sum w d^2 - (sum w d)^2 / sum w, with d = x - o.
    """
    deviation = values - origin[cell_of_shot]
    weighted = weights * deviation
    cells = len(origin)
    weight = sum_by(cell_of_shot, weights, cells)
    first = sum_by(cell_of_shot, weighted, cells)
    second = sum_by(cell_of_shot, weighted * deviation, cells)
    shift = first / np.maximum(weight, NO_WEIGHT)
    return CellMoments(weight, origin + shift, np.maximum(second - shift * first, 0.0))


def degrees_of_freedom(weight: FloatArray) -> FloatArray:
    """Return how many degrees of freedom each cell gives to the spread within it.

    Parameters
    ----------
    weight : array
        Number of clean strikes of each cell [1].

    Returns
    -------
    array
        max(weight - 1, 0) [1].
    """
    return np.maximum(weight - 1.0, 0.0)


def within_variance(
    scatter: FloatArray, freedom: FloatArray, default: FloatArray | float, weight: float
) -> FloatArray:
    """Return the variance within sessions, a default counting as so many shots.

    Parameters
    ----------
    scatter : array
        Sum of squares about the session means [any unit, squared].
    freedom : array
        Degrees of freedom of `scatter` [1].
    default : array or float
        Default variance [unit of `scatter`].
    weight : float
        Degrees of freedom that the default is worth [1]; 0 for the plain mean square.

    Returns
    -------
    array
        (weight default + scatter) / (weight + freedom) [unit of `scatter`].
    """
    return (weight * np.asarray(default) + scatter) / (weight + freedom)


def spread_freedom(
    freedom: FloatArray, pooled_freedom: FloatArray, weight: float, pooled_weight: float
) -> FloatArray:
    """Return what a spread is worth that was shrunk to a pooled one, itself shrunk to a default.

    Parameters
    ----------
    freedom : array
        Degrees of freedom of a group's own scatter [1].
    pooled_freedom : array
        Those of all scatter that its pool rests on, the group's own included [1].
    weight : float
        Degrees of freedom that the pooled spread is worth to the group [1].
    pooled_weight : float
        Degrees of freedom that the default is worth to the pool [1]; > 0 or with freedom.

    Returns
    -------
    array
        Degrees of freedom [1]: no more than `weight + freedom`.

    Notes
    -----
    ln of a variance of n degrees of freedom has variance 2 / n. With v = s^2 of n shots and the
    pooled one in the ratio n : w, ln of the mean has 2 / (w + n) for what the group is about its
    pool, and (w / (w + n))^2 2 / (W + N) for the doubt of the pool; both together are 2 / answer.
    """
    own = weight + freedom
    return 1.0 / (1.0 / own + (weight / own) ** 2 / (pooled_weight + pooled_freedom))


def between_variance(
    cell_mean: FloatArray,
    cell_weight: FloatArray,
    group_of_cell: IntArray,
    within: FloatArray,
    pool_of_group: IntArray,
    default: FloatArray,
    weight: float,
    floor: float = 0.1,
) -> FloatArray:
    """Return the variance of session means about their group's mean, pooled over groups.

    Parameters
    ----------
    cell_mean, cell_weight : array, shape (cells,)
        Mean [any unit] and number of clean strikes [1] of each cell.
    group_of_cell : array of int, shape (cells,)
        Group of each cell.
    within : array, shape (groups,)
        Variance within sessions of each group [unit of `cell_mean` squared].
    pool_of_group : array of int, shape (groups,)
        Which groups share one variance between sessions.
    default : array, shape (pools,)
        Default variance of each pool [unit of `cell_mean` squared].
    weight : float
        Degrees of freedom that the default is worth [1]; 0 for the plain moment estimate.
    floor : float
        Smallest answer, as a fraction of the default [1].

    Returns
    -------
    array, shape (pools,)
        Variance between sessions [unit of `cell_mean` squared]; never below `floor` times the
        default.

    Notes
    -----
    tau^2 = [k tau0^2 + sum_g (SS_g - sigma_g^2 (1 - 1/S_g) sum_s 1/n_s)] / [k + sum_g (S_g - 1)],
    SS_g = sum_s (m_s - mean_g)^2 over the S_g sessions of a group with at least one clean strike.
    Balanced data and k = 0 give (MS between - MS within) / n.
    """
    groups, pools = len(within), len(default)
    counted = (cell_weight >= 0.8).astype(np.float64)
    sessions = sum_by(group_of_cell, counted, groups)
    mean = sum_by(group_of_cell, counted * cell_mean, groups) / np.maximum(sessions, 1.0)
    squares = sum_by(group_of_cell, counted * (cell_mean - mean[group_of_cell]) ** 2, groups)
    reciprocal = sum_by(group_of_cell, counted / np.maximum(cell_weight, NO_WEIGHT), groups)
    expected = within * (1.0 - 1.0 / np.maximum(sessions, 1.0)) * reciprocal
    freedom = np.maximum(sessions - 1.0, 0.0)
    surplus = sum_by(pool_of_group, squares - expected, pools)
    divisor = weight + sum_by(pool_of_group, freedom, pools)
    return np.maximum(
        (weight * default + surplus) / np.maximum(divisor, NO_WEIGHT), floor * default
    )


def long_run_mean(
    cell_mean: FloatArray,
    cell_weight: FloatArray,
    group_of_cell: IntArray,
    within: FloatArray,
    between: FloatArray,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the best linear estimate of a group's mean over all its possible sessions.

    Parameters
    ----------
    cell_mean, cell_weight : array, shape (cells,)
        Mean [any unit] and number of clean strikes [1] of each cell.
    group_of_cell : array of int, shape (cells,)
        Group of each cell.
    within, between : array, shape (groups,)
        Variances within and between sessions of each group [unit of `cell_mean` squared].

    Returns
    -------
    mean, variance : array, shape (groups,)
        Estimate and its variance [unit of `cell_mean`, squared]; a group without weight has mean
        0 and variance 1.
    share : array, shape (cells,)
        Weight of each cell in its group's mean [1], adding up to 1 in a group with weight.

    Notes
    -----
    a_s = 1 / (tau^2 + sigma^2 / n_s); mean = sum a m / sum a; variance = 1 / sum a.
    """
    groups = len(within)
    sigma2, tau2 = within[group_of_cell], between[group_of_cell]
    precision = cell_weight / (tau2 * cell_weight + sigma2)
    total = np.maximum(sum_by(group_of_cell, precision, groups), NO_WEIGHT)
    mean = sum_by(group_of_cell, precision * cell_mean, groups) / total
    return mean, np.minimum(1.0 / total, 1.0), precision / total[group_of_cell]
