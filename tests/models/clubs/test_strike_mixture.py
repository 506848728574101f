"""The mixture of clean strikes and mishits: its densities, its limits, its rebasing."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from rangeledger.models.clubs.shot_groups import ShotGroups, group_shots
from rangeledger.models.clubs.strike_mixture import Defaults, StrikeMixture
from rangeledger.models.population import Population
from scipy import stats

from tests.models.synthetic_players import CLUBS, Recipe, make_players

# Defaults that count for next to nothing.
FREE = Population(
    spread_weight=1e-9, club_spread_weight=1e-9, drift_weight=1e-9, mishit_weight=1e-9,
    club_mishit_weight=1e-9, shortfall_weight=1e-9,
)  # fmt: skip


def mixture(
    groups: ShotGroups, population: Population, loft: np.ndarray | None = None
) -> StrikeMixture:
    size, players = groups.keys.height, groups.players
    loft = np.full(size, np.nan) if loft is None else loft
    defaults = Defaults(
        np.full(size, 0.035), np.full(size, 0.05), np.full(players, 0.015), np.full(players, 0.01),
        loft, np.full(players, population.mishit_rate),
    )  # fmt: skip
    return StrikeMixture(groups, defaults, population)


def one_session(carry: list[float], side: list[float]) -> ShotGroups:
    return group_shots(
        pl.DataFrame({"still_carry_m": carry, "still_side_m": side}).with_columns(
            player=pl.lit("a"), club=pl.lit("7-iron"), swing=pl.lit("full"), ball=pl.lit("premium"),
            session_id=pl.lit("s"), shot_number=pl.int_range(pl.len(), dtype=pl.Int32),
        )
    )  # fmt: skip


def test_probability_is_the_ratio_of_densities() -> None:
    """scipy.stats: a normal each way against a gamma of shape 2 times a t with 3 degrees."""
    groups = one_session([85.0, 100.0, 112.0], [-9.0, 0.0, 3.0])
    model = mixture(groups, Population())
    u, v = groups.carry / 100.0 - 1.0, groups.side / 100.0
    clean = 0.92 * stats.norm(0, 0.035).pdf(u) * stats.norm(0, 0.05).pdf(v)
    share = np.where(u < 0.0, 0.95, 0.05)
    missed = 0.08 * share * stats.gamma(2.0, scale=0.10).pdf(np.abs(u))
    missed = missed * stats.t(3, scale=0.05 * np.sqrt(2.0)).pdf(v)
    assert model.state.clean == pytest.approx(clean / (clean + missed))


def test_without_defaults_clean_shots_give_plain_moments() -> None:
    """One session without mishits: sample mean and covariance (numpy.cov)."""
    learn, _, _ = make_players(1, 400, 1, seed=2, recipe=Recipe(mishit_rate=0.0, clubs=1))
    groups = group_shots(learn)
    model = mixture(groups, FREE)
    model.run(30)
    covariance = np.cov(groups.carry, groups.side) / model.base[0] ** 2
    assert model.state.carry.variance[0] == pytest.approx(covariance[0, 0], rel=0.03)
    assert model.state.side.variance[0] == pytest.approx(covariance[1, 1], rel=0.03)
    assert model.state.covariance[0] == pytest.approx(covariance[0, 1], rel=0.15)
    mean = groups.carry.mean() / model.base[0] - 1.0
    assert model.state.carry.mean[0] == pytest.approx(mean, abs=2e-3)


def test_rate_and_shortfall_of_mishits_are_found() -> None:
    """4,000 shots drawn from the very densities: normal strikes, gamma losses, t3 sides."""
    rng = np.random.default_rng(3)
    missed, long = rng.random(4000) < 0.15, rng.random(4000) < 0.05
    lost = 0.125 * rng.standard_gamma(2.0, 4000) * np.where(long, 1.0, -1.0)
    u = np.where(missed, lost, 0.035 * rng.standard_normal(4000))
    v = 0.05 * np.where(missed, np.sqrt(2.0) * rng.standard_t(3, 4000), rng.standard_normal(4000))
    kept = u > -0.99
    model = mixture(one_session(list(100 * (1 + u[kept])), list(100 * v[kept])), FREE)
    model.run(60)
    assert model.state.mishit_rate[0] == pytest.approx(missed.mean(), abs=0.015)
    assert model.state.shortfall[0] == pytest.approx(0.25, rel=0.08)
    assert np.sqrt(model.state.carry.variance[0]) == pytest.approx(0.035, rel=0.04)


def test_another_base_leaves_the_same_shots() -> None:
    learn, _, _ = make_players(1, 40, 2, seed=4)
    model = mixture(group_shots(learn), Population())
    model.run(60)
    before = model.base * (1.0 + model.state.carry.mean)
    model.rebase(1.05 * model.base, np.log(model.base), np.full(len(model.base), 100.0))
    model.run(60)
    after = model.base * (1.0 + model.state.carry.mean)
    assert after == pytest.approx(before, rel=3e-3)


@pytest.mark.parametrize(("driver", "wedge"), [(1.6, 0.5), (0.6, 1.6)])
def test_the_slope_of_side_spread_over_loft_is_found(driver: float, wedge: float) -> None:
    """Two slopes of many shots: least squares of ln side spread over loft (numpy.polyfit)."""
    recipe = Recipe(driver_side=driver, wedge_side=wedge, mishit_rate=0.0)
    learn, _, truth = make_players(20, 800, 8, seed=11, recipe=recipe)
    groups = group_shots(learn)
    loft = np.array([(dict(CLUBS)[club] - 36.0) / 16.0 for club in groups.keys["club"]])
    model = mixture(groups, Population(side_slope_freedom=10.0), loft)
    model.run(12)
    order = [truth.clubs.index(club) for club in groups.keys["club"][:8]]
    exact = [np.polyfit(loft[:8], np.log(spread[order]), 1)[0] for spread in truth.side_spread]
    # Eight clubs of 800 shots tell each slope to about 0.02.
    assert model.state.side_tilt == pytest.approx(np.array(exact), abs=0.1)


def test_clubs_without_loft_have_no_slope() -> None:
    learn, _, _ = make_players(3, 100, 4, seed=12)
    model = mixture(group_shots(learn), Population())
    model.run(5)
    assert (model.state.side_tilt == 0.0).all()
