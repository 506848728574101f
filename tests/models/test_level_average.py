"""Averaged levels hold the truth as often as they say, and claim little where nothing is."""

from __future__ import annotations

import numpy as np
import pytest

from models.level_average import (
    DRIFT_GRID,
    WANDER_GRID,
    Series,
    average_level,
    average_step,
    averaged,
    grid_weights,
)


def simulate(sessions: int, wander: float, step: float = 0.0) -> tuple[Series, np.ndarray]:
    """Return 1,200 series of 5 to 12 shots a session, spread 4 %, drift 1.5 %, and their level."""
    rng = np.random.default_rng(21)
    shape = (sessions, 1200)
    shots = rng.integers(5, 13, shape)
    level = np.cumsum(wander * rng.standard_normal(shape), axis=0)
    level[sessions // 2 :] += step
    noise = 0.015 * rng.standard_normal(shape) + 0.04 / np.sqrt(shots) * rng.standard_normal(shape)
    gap = np.ones(shape)
    gap[0] = 0.0
    return Series(level + noise, 0.04**2 / shots, gap), level


# An interval that knows neither wander nor drift can't be exact for each truth; the bars are
# 88 to 99.7 % for 95 %, over 1,200 series.
@pytest.mark.parametrize(
    ("sessions", "wander"),
    [(1, 0.0), (4, 0.0), (8, 0.0), (8, 0.003), (8, 0.008), (16, 0.003), (16, 0.008), (40, 0.003)],
)
def test_interval_of_the_current_level(sessions: int, wander: float) -> None:
    series, truth = simulate(sessions, wander)
    found = average_level(series)
    error = np.abs(found.level[-1] - truth[-1])
    assert 0.88 <= (error < 1.96 * np.sqrt(found.variance[-1])).mean() <= 0.997


def test_no_change_is_rarely_claimed() -> None:
    series, _ = simulate(8, 0.0)
    found = average_level(series)
    claims = np.abs(found.change[0]) > 1.96 * np.sqrt(found.change_variance[0])
    assert claims.mean() < 0.01


@pytest.mark.parametrize("step", [0.0, 0.04])
def test_step_and_its_interval(step: float) -> None:
    series, _ = simulate(12, 0.002, step)
    after = np.zeros(series.observed.shape)
    after[6:] = 1.0
    found, variance = average_step(series, after)
    # Standard error of the mean over 1,200 series is 0.05 %.
    assert found.mean() == pytest.approx(step, abs=0.001)
    inside = (np.abs(found - step) < 1.96 * np.sqrt(variance)).mean()
    assert 0.94 <= inside <= 0.997
    claims = (np.abs(found) > 1.96 * np.sqrt(variance)).mean()
    assert claims < 0.05 if step == 0.0 else claims > 0.5


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


@pytest.mark.parametrize(("step", "bar"), [(0.04, 0.85), (0.08, 0.90)])
def test_an_abrupt_change_is_believed_within_four_sessions(step: float, bar: float) -> None:
    series, truth = simulate(8, 0.0, step)
    found = average_level(series)
    error = np.abs(found.level[-1] - truth[-1])
    assert (error < 1.645 * np.sqrt(found.variance[-1])).mean() > bar
