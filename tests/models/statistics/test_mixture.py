"""Moments and quantiles of mixtures of normals."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.statistics.mixture import averaged, averaged_quantile
from scipy import optimize, stats


def test_mixture_moments() -> None:
    """Half at 0 and half at 2 with variance 1: mean 1, variance 1 + 1, by definition."""
    weight = np.array([[[0.5, 0.5]]])
    mean, variance = averaged(weight, np.array([[[0.0, 2.0]]]), np.ones((1, 1, 2)))
    assert (mean[0], variance[0]) == (1.0, 2.0)


def test_quantile_of_one_normal() -> None:
    """scipy.stats.norm: mean 2, standard deviation 3, under whatever weights."""
    weight = np.full((1, 2, 2), 0.25)
    same = np.full((1, 2, 2), 2.0), np.full((1, 2, 2), 9.0)
    for share in (0.05, 0.5, 0.95):
        found = averaged_quantile(weight, *same, share)
        assert found[0] == pytest.approx(stats.norm.ppf(share, 2.0, 3.0), abs=0.003)


def test_quantile_of_two_normals_far_apart() -> None:
    """Root of the mixture's distribution by scipy.optimize.brentq."""
    weight, mean = np.array([[[0.9], [0.1]]]), np.array([[[0.0], [4.0]]])
    variance = np.array([[[1.0], [0.25]]])

    def below(x: float) -> float:
        return 0.9 * stats.norm.cdf(x) + 0.1 * stats.norm.cdf(x, 4.0, 0.5)

    for share in (0.05, 0.95):
        exact = optimize.brentq(lambda x, share=share: below(x) - share, -9.0, 9.0)
        found = averaged_quantile(weight, mean, variance, share)
        assert found[0] == pytest.approx(exact, abs=0.003)
