"""Shrinkage to related clubs against conditional normals worked out another way."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from rangeledger.models.clubs.nominal_carry import nominal_carry
from rangeledger.models.clubs.related_clubs import (
    CarryRelations,
    average,
    shrink,
    side_prior_covariance,
)
from rangeledger.models.population import POPULATION
from scipy import stats


def random_problem(seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    root = rng.standard_normal((5, 5))
    return rng.standard_normal(5), np.diag(rng.uniform(0.5, 2.0, 5)), np.ones(5), root @ root.T


def test_mean_and_variance_are_the_conditional_normal() -> None:
    """Conditional of the joint normal of truth and estimate, solved by least squares."""
    estimate, noise, mean, prior = random_problem(1)
    result = shrink(estimate[None], noise[None], mean[None], prior[None])
    gain = np.linalg.solve((prior + noise).T, prior.T).T
    assert result.mean[0] == pytest.approx(mean + gain @ (estimate - mean))
    assert result.variance[0] == pytest.approx(np.diag(prior - gain @ prior))


def test_log_likelihood_is_the_multivariate_normal() -> None:
    """scipy.stats.multivariate_normal.logpdf."""
    estimate, noise, mean, prior = random_problem(2)
    result = shrink(estimate[None], noise[None], mean[None], prior[None])
    expected = stats.multivariate_normal(mean, prior + noise).logpdf(estimate)
    assert result.log_likelihood[0] == pytest.approx(expected)


def test_prediction_without_own_is_a_fit_without_that_entry() -> None:
    estimate, noise, mean, prior = random_problem(3)
    result = shrink(estimate[None], noise[None], mean[None], prior[None])
    others = [0, 1, 3, 4]
    total = (prior + noise)[np.ix_(others, others)]
    cross = prior[2, others]
    weights = np.linalg.solve(total, cross)
    assert result.without_own[0, 2] == pytest.approx(1.0 + weights @ (estimate[others] - 1.0))
    assert result.without_own_variance[0, 2] == pytest.approx(prior[2, 2] - weights @ cross)


def test_one_estimate_is_the_precision_weighted_mean() -> None:
    """Normal prior N(10, 4), measurement 16 with variance 2: 14 and 4/3, any textbook."""
    result = shrink(*(np.array([[x]]) for x in (16.0,)), *(np.array([[[2.0]]]),),
                    np.array([[10.0]]), np.array([[[4.0]]]))  # fmt: skip
    assert result.mean[0, 0] == pytest.approx(14.0)
    assert result.variance[0, 0] == pytest.approx(4.0 / 3.0)


def test_average_of_equal_posteriors_changes_nothing() -> None:
    estimate, noise, mean, prior = random_problem(4)
    one = shrink(estimate[None], noise[None], mean[None], prior[None])
    both = average([one, one], np.log([0.3, 0.7]))
    assert both.mean == pytest.approx(one.mean)
    assert both.variance == pytest.approx(one.variance)
    assert both.log_likelihood == pytest.approx(one.log_likelihood)


def test_average_prefers_the_prior_that_explains_the_data() -> None:
    estimate, noise = np.full((1, 1), 5.0), np.full((1, 1, 1), 0.1)
    narrow, wide = (shrink(estimate, noise, np.zeros((1, 1)), np.full((1, 1, 1), v))
                    for v in (0.01, 25.0))  # fmt: skip
    assert average([narrow, wide], np.zeros(2)).mean[0, 0] == pytest.approx(wide.mean[0, 0])


def relations(rows: list[tuple[str, str, str]]) -> CarryRelations:
    keys = pl.DataFrame(rows, schema=["club", "swing", "ball"], orient="row")
    return CarryRelations(keys, nominal_carry(keys), POPULATION)


def test_a_missing_club_is_filled_in_from_its_neighbours() -> None:
    """6-iron and 8-iron known well and 10 % longer than nominal: so is the 7-iron."""
    model = relations([(club, "full", "premium") for club in ("6-iron", "7-iron", "8-iron")])
    members = np.arange(3)[None]
    nominal = model.prior_mean(members)
    noise = np.diag([1e-6, 1e4, 1e-6])[None]
    result = model.shrunk(nominal + 0.1 * np.array([1.0, 0.0, 1.0]), noise, members)
    assert result.mean[0, 1] - nominal[0, 1] == pytest.approx(0.1, abs=0.003)
    assert np.sqrt(result.variance[0, 1]) < 0.06


def test_a_club_of_unknown_loft_neither_gives_nor_takes_much() -> None:
    model = relations([("7-iron", "full", "premium"), ("old faithful", "full", "premium")])
    members = np.arange(2)[None]
    result = model.shrunk(np.array([[4.9, 4.0]]), np.diag([1e-4, 1e-4])[None], members)
    assert result.mean[0] == pytest.approx([4.9, 4.0], abs=0.01)


def test_partial_swings_and_range_balls_lean_on_the_full_swing() -> None:
    rows = [("56-wedge", "full", "premium"), ("56-wedge", "9:00", "premium"),
            ("56-wedge", "full", "range")]  # fmt: skip
    model = relations(rows)
    members = np.arange(3)[None]
    result = model.shrunk(np.array([[4.6, 0.0, 0.0]]), np.diag([1e-4, 1e4, 1e4])[None], members)
    full, partial, ranged = np.exp(result.mean[0])
    assert partial / full == pytest.approx(0.62, abs=0.01)
    assert ranged / full == pytest.approx(np.exp(-0.07), abs=0.01)


def test_side_prior_shares_the_player() -> None:
    prior = side_prior_covariance(3, POPULATION)
    assert prior[0, 1] == pytest.approx(POPULATION.side_level_freedom**2)
    assert prior[0, 0] - prior[0, 1] == pytest.approx(POPULATION.side_club_deviation**2)
