"""The local level against the Nile series and against dense normal algebra."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.statistics.local_level import filter_level, smooth_level

from tests.models.published_data import NILE

# Durbin & Koopman 2012, section 2.10: maximum likelihood 15099 (noise) and 1469.1 (growth).
NOISE, GROWTH = np.full((100, 1), 15099.0), np.full((100, 1), 1469.1)


@pytest.fixture(scope="module")
def nile():
    return filter_level(NILE[:, None], NOISE, GROWTH)


def test_nile_likelihood(nile) -> None:
    """Diffuse log likelihood -632.5456 (statsmodels' exact diffuse -633.4646 + ln(2 pi)/2)."""
    assert nile.log_likelihood[0] == pytest.approx(-632.5456, abs=1e-4)


def test_nile_level_at_the_end(nile) -> None:
    """Filtered level of 1970: 798.37, variance 4032.2 = P F-converged 5501.3 less 1469.1."""
    assert nile.level[-1, 0] == pytest.approx(798.37, abs=0.005)
    assert nile.variance[-1, 0] == pytest.approx(5501.3 - 1469.1, abs=0.1)


@pytest.mark.parametrize("factor", [0.8, 0.9, 1.1, 1.25])
def test_nile_published_variances_are_the_maximum(nile, factor: float) -> None:
    for noise, growth in ((factor, 1.0), (1.0, factor)):
        other = filter_level(NILE[:, None], NOISE * noise, GROWTH * growth)
        assert other.log_likelihood[0] < nile.log_likelihood[0]


def test_nile_first_smoothed_level(nile) -> None:
    """Durbin & Koopman 2012, fig. 2.2: the smoothed series starts near 1111 (from memory)."""
    assert smooth_level(nile, GROWTH).level[0, 0] == pytest.approx(1111.0, abs=1.0)


def dense(times: int, growth: float) -> np.ndarray:
    """Return the prior covariance of the level with a nearly diffuse start."""
    steps = np.arange(times)
    return growth * np.minimum.outer(steps, steps) + 1e10


def test_smoother_is_the_conditional_normal(nile) -> None:
    """numpy.linalg on the joint covariance of all levels and observations."""
    prior = dense(100, 1469.1)
    gain = np.linalg.solve(prior + 15099.0 * np.eye(100), prior).T
    smoothed = smooth_level(nile, GROWTH)
    assert smoothed.level[:, 0] == pytest.approx(gain @ NILE, rel=1e-5)
    # P - G P loses digits beside 1e10; the same without loss is 15099 G.
    assert smoothed.variance[:, 0] == pytest.approx(15099.0 * np.diag(gain), rel=1e-5)
    assert smoothed.covariance_with_last[:, 0] == pytest.approx(15099.0 * gain[:, -1], abs=0.01)


def test_without_growth_the_level_is_the_mean() -> None:
    observed = np.array([[3.0], [5.0], [10.0]])
    filtered = filter_level(observed, np.ones((3, 1)), np.zeros((3, 1)))
    assert filtered.level[-1, 0] == pytest.approx(6.0)
    assert filtered.variance[-1, 0] == pytest.approx(1.0 / 3.0)


def test_gaps_are_bridged() -> None:
    """Two observations around a gap: the middle is their mean, by symmetry."""
    observed = np.array([[np.nan], [2.0], [np.nan], [4.0], [np.nan]])
    ones = np.ones((5, 1))
    filtered = filter_level(observed, 0.5 * ones, ones)
    smoothed = smooth_level(filtered, ones)
    assert smoothed.level[2, 0] == pytest.approx(3.0)
    assert smoothed.level[0, 0] == pytest.approx(smoothed.level[1, 0])
    assert smoothed.variance[0, 0] == pytest.approx(smoothed.variance[1, 0] + 1.0)
    assert smoothed.variance[4, 0] == pytest.approx(smoothed.variance[3, 0] + 1.0)
