"""Monotone regression against published examples and a general optimiser."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.statistics.monotone_regression import rising, rising_both_ways
from scipy import optimize


def test_documentation_example_of_r() -> None:
    """R, stats::isoreg, example c(1,0,4,3,3,5,4,2,0) (from memory)."""
    values = np.array([1.0, 0.0, 4.0, 3.0, 3.0, 5.0, 4.0, 2.0, 0.0])
    expected = [0.5, 0.5, 3.0, 3.0, 3.0, 3.0, 3.0, 3.0, 3.0]
    assert rising(values, np.ones(9)) == pytest.approx(expected)


def test_weights() -> None:
    """By hand: (3 x 1 + 2 x 3) / 4 = 2.25."""
    found = rising(np.array([1.0, 3.0, 2.0, 4.0]), np.array([1.0, 1.0, 3.0, 1.0]))
    assert found == pytest.approx([1.0, 2.25, 2.25, 4.0])


def test_table_is_the_nearest_one() -> None:
    """scipy.optimize.minimize (SLSQP) on the same weighted squares and inequalities."""
    rng = np.random.default_rng(1)
    values = np.add.outer([0.0, 0.5, 1.0], [0.0, 0.5, 1.0, 1.5]) + rng.standard_normal((3, 4))
    weights = rng.uniform(0.5, 2.0, (3, 4))
    constraints = [
        {"type": "ineq", "fun": lambda z: np.diff(z.reshape(3, 4), axis=0).ravel()},
        {"type": "ineq", "fun": lambda z: np.diff(z.reshape(3, 4), axis=1).ravel()},
    ]
    best = optimize.minimize(
        lambda z: (weights.ravel() * (z - values.ravel()) ** 2).sum(), np.zeros(12),
        constraints=constraints, options={"ftol": 1e-14, "maxiter": 500},
    )  # fmt: skip
    assert rising_both_ways(values, weights).ravel() == pytest.approx(best.x, abs=2e-4)


def test_a_rising_table_stays_and_gaps_are_skipped() -> None:
    table = np.array([[1.0, np.nan, 3.0], [2.0, 2.5, 4.0]])
    found = rising_both_ways(table, np.ones((2, 3)))
    assert found == pytest.approx(table, nan_ok=True)
    falling = np.array([[3.0, np.nan, 1.0]])
    assert rising_both_ways(falling, np.ones((1, 3))) == pytest.approx(
        np.array([[2.0, np.nan, 2.0]]), nan_ok=True
    )
