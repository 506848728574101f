"""The two-level solver against one dense solution of the same normal equations."""

from __future__ import annotations

import numpy as np
from rangeledger.models.statistics.two_level_fit import Levels, improve, start


def problem(random, rows=60):
    unit = np.sort(random.integers(0, 5, rows))
    group_of_unit = np.array([0, 0, 1, 1, 1])
    levels = Levels(
        unit, group_of_unit, random.uniform(0.5, 2, (2, 3)), random.uniform(1, 3, (5, 2))
    )
    root = random.normal(size=(rows, 2, 2))
    precision = root @ np.swapaxes(root, 1, 2)
    return (
        levels,
        random.normal(size=(rows, 2)),
        precision,
        random.normal(size=(rows, 2, 3)),
        random.normal(size=(rows, 2, 2)),
    )


def test_equals_the_dense_solution() -> None:
    random = np.random.default_rng(0)
    levels, residuals, precision, up, low = problem(random)
    ours = improve(start(levels), levels, residuals, precision, up, low)
    # Dense: all 2 x 3 + 5 x 2 parameters at once.
    design = np.zeros((len(levels.unit), 2, 16))
    for row, unit in enumerate(levels.unit):
        g = levels.group_of_unit[unit]
        design[row, :, 3 * g : 3 * g + 3] = up[row]
        design[row, :, 6 + 2 * unit : 8 + 2 * unit] = low[row]
    normal = np.einsum("rmi,rmn,rnj->ij", design, precision, design)
    normal += np.diag(
        np.concatenate([levels.group_precision.ravel(), levels.unit_precision.ravel()])
    )
    right = np.einsum("rmi,rmn,rn->i", design, precision, residuals)
    dense = np.linalg.solve(normal, right)
    covariance = np.linalg.inv(normal)
    np.testing.assert_allclose(ours.group.ravel(), dense[:6], rtol=1e-9)
    np.testing.assert_allclose(ours.unit.ravel(), dense[6:], rtol=1e-9)
    np.testing.assert_allclose(ours.group_covariance[0], covariance[:3, :3], rtol=1e-9)
    np.testing.assert_allclose(ours.group_covariance[1], covariance[3:6, 3:6], rtol=1e-9)


def test_a_second_step_of_a_linear_problem_changes_nothing() -> None:
    random = np.random.default_rng(1)
    levels, residuals, precision, up, low = problem(random)
    first = improve(start(levels), levels, residuals, precision, up, low)
    group = first.group[levels.group_of_unit[levels.unit]][:, :, None]
    left = residuals - (up @ group + low @ first.unit[levels.unit][:, :, None])[:, :, 0]
    second = improve(first, levels, left, precision, up, low)
    np.testing.assert_allclose(second.group, first.group, atol=1e-9)
    np.testing.assert_allclose(second.unit, first.unit, atol=1e-9)


def test_without_data_the_prior_stands() -> None:
    random = np.random.default_rng(2)
    levels, residuals, precision, up, low = problem(random)
    ours = improve(start(levels), levels, residuals, 0.0 * precision, up, low)
    np.testing.assert_array_equal(ours.group, 0.0)
    np.testing.assert_allclose(ours.group_covariance[1], np.diag(1 / levels.group_precision[1]))
