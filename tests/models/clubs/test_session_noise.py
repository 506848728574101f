"""Errors of clubs that were hit on the same days, against simulated sessions."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.clubs.carry_fit import default_spreads
from rangeledger.models.clubs.nominal_carry import nominal_carry
from rangeledger.models.clubs.session_noise import noise_blocks
from rangeledger.models.clubs.shot_groups import group_shots
from rangeledger.models.clubs.strike_mixture import StrikeMixture
from rangeledger.models.population import POPULATION

from tests.models.synthetic_players import Recipe, make_players


def test_clubs_of_one_session_err_together() -> None:
    """800 players of one session: the covariance of two clubs' errors is the shared drift."""
    recipe = Recipe(mishit_rate=0.0, club_log_sd=0.0, player_log_sd=0.0)
    learn, _, truth = make_players(800, 10, 1, seed=5, recipe=recipe)
    groups = group_shots(learn)
    nominal = nominal_carry(groups.keys)
    model = StrikeMixture(groups, default_spreads(groups, nominal, POPULATION), POPULATION)
    model.run(8)
    order = np.argsort(truth.clubs)
    centre = (model.base * (1.0 + model.state.carry.mean)).reshape(800, 8)
    error = centre / truth.centre_m[:, order] - 1.0
    ones = np.ones(groups.keys.height)
    ((members, noise),) = noise_blocks(groups, model.state.carry, ones, POPULATION.shared_drift)
    assert members.tolist() == np.arange(6400).reshape(800, 8).tolist()
    off = ~np.eye(8, dtype=bool)
    # A covariance of 800 pairs is known to about 10 %.
    expected = np.cov(error.T)
    assert noise.mean(axis=0)[off].mean() == pytest.approx(expected[off].mean(), rel=0.15)
    diagonal = np.diag(noise.mean(axis=0)).mean()
    assert diagonal == pytest.approx(np.diag(expected).mean(), rel=0.15)


def test_players_with_different_numbers_of_clubs() -> None:
    learn, _, _ = make_players(3, 6, 2, seed=6)
    some = learn.filter((learn["player"] != "player-00001") | (learn["club"] == "driver"))
    groups = group_shots(some)
    nominal = nominal_carry(groups.keys)
    model = StrikeMixture(groups, default_spreads(groups, nominal, POPULATION), POPULATION)
    model.run(2)
    ones = np.ones(groups.keys.height)
    blocks = list(noise_blocks(groups, model.state.carry, ones, 0.8))
    assert [members.shape for members, _ in blocks] == [(1, 1), (2, 8)]
    assert sorted(np.concatenate([members.ravel() for members, _ in blocks])) == list(range(17))
    for _, noise in blocks:
        assert (np.linalg.eigvalsh(noise) > 0.0).all()
