"""The loss of a mishit against scipy's gamma, and why it is no exponential."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from rangeledger.models.clubs.carry_model import CarryModel
from rangeledger.models.clubs.mishit_loss import (
    draw_losses,
    log_loss_density,
    loss_beyond,
    loss_means,
    loss_quantile,
)
from scipy import stats

from tests.models.other_players import TUNED_ON, Season, make_season

LAW = stats.gamma(2.0, scale=10.0)  # mean 20


def test_density_and_tail_are_those_of_a_gamma() -> None:
    loss, mean = np.array([0.5, 3.0, 20.0, 90.0]), np.array(20.0)
    assert log_loss_density(loss, mean) == pytest.approx(LAW.logpdf(loss))
    assert loss_beyond(loss, mean) == pytest.approx(LAW.sf(loss))
    assert np.isfinite(log_loss_density(np.zeros(1), mean)).all()


def test_quantiles_and_means_of_parts_are_those_of_a_gamma() -> None:
    chance = np.array([0.01, 0.3, 0.5, 0.99])
    assert 20.0 * loss_quantile(chance) == pytest.approx(LAW.ppf(chance))
    edges = LAW.ppf([0.0, 0.25, 0.5, 0.75, 1.0])
    parts = [4.0 * LAW.expect(lambda x: x, lb=a, ub=b) for a, b in pairwise(edges)]
    assert 20.0 * loss_means(4) == pytest.approx(parts)


def test_draws_follow_the_law() -> None:
    draws = 20.0 * draw_losses(20_000, np.random.default_rng(3))
    assert stats.kstest(draws, LAW.cdf).pvalue > 0.001


@pytest.mark.parametrize("make", ["heavy tails", "skewed"])
def test_outer_clean_strikes_are_not_taken_for_mishits(make: str) -> None:
    """8 % mishits in truth. An exponential loss, most likely near nothing, gave 12.4 and 13.5 %."""
    made = make_season(20, TUNED_ON[make], Season(sessions=10, shots=10), seed=50)
    assert CarryModel().fit(made.shots).parameters_["mishit_rate"].mean() < 0.12
