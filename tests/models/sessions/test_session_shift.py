"""Shift of a session against normal algebra, and its probability against simulation."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.sessions.session_shift import SPREAD_GRID, Shift, session_shift
from scipy import stats

ALONE = np.ones((1, 1), dtype=bool)


def one(past: np.ndarray, now: np.ndarray, variance: float, expected: float) -> Shift:
    """Return the shift of one feature, every mean with the same variance."""
    return session_shift(
        past[None], np.full((1, *past.shape), variance), now[None],
        np.full((1, len(now)), variance), np.array([expected]), ALONE,
    )  # fmt: skip


def test_one_club_without_drift_is_a_comparison_of_means() -> None:
    """Mean of four against one more: error sqrt(v (1 + 1/4)), closed form."""
    past = np.array([[1.0], [2.0], [3.0], [4.0]])
    found = one(past, np.array([4.5]), 1.0, 1e-9)
    assert found.shift[0] == pytest.approx(2.0)
    assert found.standard_error[0] == pytest.approx(np.sqrt(1.25))
    assert found.probability[0] == pytest.approx(2.0 * stats.norm.sf(2.0 / np.sqrt(1.25)))


def test_levels_are_generalised_least_squares() -> None:
    """Unbalanced clubs and sessions; dense algebra for each drift and its likelihood."""
    rng = np.random.default_rng(4)
    past = rng.standard_normal((6, 3)) + np.array([10.0, 20.0, 30.0])
    past[[0, 1, 2, 4], [1, 2, 0, 1]] = np.nan
    variance = rng.uniform(0.2, 0.8, past.shape)
    now, now_variance = np.array([11.0, np.nan, 30.5]), np.array([0.3, 0.3, 0.5])
    found = session_shift(past[None], variance[None], now[None], now_variance[None],
                          np.array([0.5]), ALONE)  # fmt: skip
    seen = np.isfinite(past)
    session, club = np.nonzero(seen)
    design = np.eye(3)[club]
    scores, shifts = [], []
    for spread in 0.5 * SPREAD_GRID:
        total = np.diag(variance[seen]) + spread**2 * (session[:, None] == session)
        inverse = np.linalg.inv(total)
        information = design.T @ inverse @ design
        level = np.linalg.solve(information, design.T @ inverse @ past[seen])
        rest = past[seen] - design @ level
        score = np.linalg.slogdet(total)[1] + np.linalg.slogdet(information)[1]
        scores.append(-0.5 * (score + rest @ inverse @ rest))
        hit = [0, 2]
        covariance = np.linalg.inv(information)[np.ix_(hit, hit)] + np.diag(now_variance[hit])
        weight = np.linalg.solve(covariance, np.ones(2))
        shifts.append(weight @ (now[hit] - level[hit]) / weight.sum())
    weights = np.exp(np.array(scores) - 0.5 * (np.log(SPREAD_GRID) / 0.5) ** 2)
    expected = (weights * shifts).sum() / weights.sum()
    assert found.shift[0] == pytest.approx(expected)
    assert np.isnan(found.club_shift[0, 1])


def test_nothing_known_is_nothing_unusual() -> None:
    found = one(np.full((3, 2), np.nan), np.array([1.0, 2.0]), 1.0, 1.0)
    assert found.probability[0] == 1.0
    assert np.isnan(found.shift[0])


def test_adding_a_constant_changes_nothing() -> None:
    past, now = np.random.default_rng(5).standard_normal((8, 3)), np.array([2.0, 1.0, 3.0])
    plain, moved = one(past, now, 0.3, 1.0), one(past + 1e6, now + 1e6, 0.3, 1.0)
    assert moved.probability == pytest.approx(plain.probability, rel=1e-6)


@pytest.mark.parametrize("drift", [1.0, 1.5])
def test_probability_is_honest_where_the_drift_is_as_expected_or_less(drift: float) -> None:
    """2,000 ordinary sessions, expected drift 1.5: 1 % plus three standard errors is 1.7 %."""
    rng = np.random.default_rng(6)
    chance = []
    for _ in range(2000):
        values = drift * rng.standard_normal((9, 1)) + 0.5 * rng.standard_normal((9, 4))
        chance.append(one(values[:8], values[8], 0.25, 1.5).probability[0])
    assert np.mean(np.array(chance) < 0.01) < 0.017
