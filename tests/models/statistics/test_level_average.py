"""Averaged levels hold the truth as often as they say, and claim little where nothing is."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.statistics.level_average import (
    DRIFT_GRID,
    WANDER_GRID,
    Series,
    average_level,
    averaged,
    averaged_quantile,
    grid_weights,
)
from scipy import optimize, stats


def simulate(
    sessions: int, wander: float, step: float = 0.0, after: int | None = None
) -> tuple[Series, np.ndarray]:
    """Return 1,200 series of 5 to 12 shots a session, spread 4 %, drift 1.5 %, and their level.

    A step befalls the level halfway, or `after` sessions from the end.
    """
    rng = np.random.default_rng(21)
    shape = (sessions, 1200)
    shots = rng.integers(5, 13, shape)
    level = np.cumsum(wander * rng.standard_normal(shape), axis=0)
    level[sessions - (sessions // 2 if after is None else after) :] += step
    noise = 0.015 * rng.standard_normal(shape) + 0.04 / np.sqrt(shots) * rng.standard_normal(shape)
    gap = np.ones(shape)
    gap[0] = 0.0
    return Series(level + noise, 0.04**2 / shots, gap), level


def coverage(series: Series, truth: np.ndarray) -> float:
    """Return how often the interval of the last level holds the truth."""
    found = average_level(series)
    return float(((found.low[-1] < truth[-1]) & (truth[-1] < found.high[-1])).mean())


# An interval that knows neither wander nor drift can't be exact for each truth; the bars are
# 86 to 98 % for 90 %, over 1,200 series.
@pytest.mark.parametrize(
    ("sessions", "wander"),
    [(1, 0.0), (4, 0.0), (8, 0.0), (8, 0.003), (8, 0.008), (16, 0.003), (16, 0.008), (40, 0.003)],
)
def test_interval_of_the_current_level(sessions: int, wander: float) -> None:
    assert 0.86 <= coverage(*simulate(sessions, wander)) <= 0.98


# One surprising session may be a bad day; the bars say how soon the interval believes it.
@pytest.mark.parametrize(("after", "bar"), [(1, 0.50), (2, 0.72), (3, 0.82), (4, 0.86), (6, 0.90)])
def test_interval_after_an_abrupt_change_of_four_per_cent(after: int, bar: float) -> None:
    assert coverage(*simulate(16, 0.002, 0.04, after)) > bar


def test_a_surprise_widens_the_interval_to_its_own_side() -> None:
    """Eleven sessions at 0 and one 5 % short: two and a half of its standard errors of 2 %."""
    observed = np.zeros((12, 2))
    observed[-1, 1] = -0.05
    series = Series(observed, np.full((12, 2), 0.04**2 / 8), np.ones((12, 2)))
    found = average_level(series)
    calm, surprised = found.high[-1] - found.low[-1]
    assert surprised > 1.5 * calm
    down, up = found.level[-1] - found.low[-1], found.high[-1] - found.level[-1]
    assert down[0] == pytest.approx(up[0])
    assert down[1] > 1.2 * up[1]


def test_no_change_is_rarely_claimed() -> None:
    series, _ = simulate(8, 0.0)
    found = average_level(series)
    claims = np.abs(found.change[0]) > 1.96 * np.sqrt(found.change_variance[0])
    assert claims.mean() < 0.01


def test_weights_add_up_and_follow_the_likelihood() -> None:
    likelihood = np.zeros((1, 3 * len(WANDER_GRID), len(DRIFT_GRID)))
    flat = grid_weights(likelihood)
    assert flat.sum() == pytest.approx(1.0)
    likelihood[0, 2, 3] = 50.0
    assert grid_weights(likelihood)[0, 2, 3] == pytest.approx(1.0)


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


def test_an_abrupt_change_of_eight_per_cent_is_believed_within_four_sessions() -> None:
    assert coverage(*simulate(8, 0.0, 0.08)) > 0.90
