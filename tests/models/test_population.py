"""Defaults scale as they say, and a new population is found where players differ from the old."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest

from models.carry_model import CarryModel
from models.population import POPULATION, Population
from models.population_estimate import estimate_population
from schemas.errors import NotEnoughShotsError
from tests.models.synthetic_players import Recipe, make_players

UNLIKE = Recipe(
    carry_spread=0.055, side_spread=0.08, mishit_rate=0.15, carry_drift=0.025, side_drift=0.015
)


def test_spread_factor() -> None:
    """Spread ~ 1 / length, held constant beyond the limits."""
    found = POPULATION.spread_factor(np.array([0.1, 0.6, 1.0, 1.25, 1.5, 9.0]))
    assert found == pytest.approx([1 / 0.6, 1 / 0.6, 1.0, 0.8, 1 / 1.5, 1 / 1.5])


def test_partial_swing_factor() -> None:
    """Halmstad thesis and wedge study: 4.5 % full, about 9 % at 45 % of full carry."""
    found = POPULATION.partial_swing_factor(np.array([1.0, 1.2, 0.45]))
    assert found == pytest.approx([1.0, 1.0, 2.0], abs=0.005)


def test_model_version_names_the_population() -> None:
    assert Population(version="club-2").model_version.endswith("population-club-2")
    learn, _, _ = make_players(1, 10, 1, seed=1)
    model = CarryModel(population=Population(version="club-2")).fit(learn)
    assert model.carry_by_club()["model_version"].unique().to_list() == [
        Population(version="club-2").model_version
    ]


@pytest.mark.parametrize("recipe", [Recipe(), UNLIKE])
def test_a_population_is_recovered(recipe: Recipe) -> None:
    learn, _, _ = make_players(80, 60, 6, seed=3, recipe=recipe)
    found = estimate_population(learn, version="test")
    assert found.version == "test"
    assert found.carry_spread == pytest.approx(recipe.carry_spread, rel=0.08)
    assert found.side_spread == pytest.approx(recipe.side_spread, rel=0.08)
    # These players' side spread is the same share of carry with every club.
    assert found.side_spread_slope == pytest.approx(0.0, abs=0.04)
    # Six sessions whose clubs mostly drift together: drifts come out up to a third low.
    assert found.carry_drift == pytest.approx(recipe.carry_drift, rel=0.33)
    assert found.side_drift == pytest.approx(recipe.side_drift, rel=0.33)
    assert found.mishit_rate == pytest.approx(recipe.mishit_rate, abs=0.025)


def test_a_fitting_population_foretells_better() -> None:
    learn, _, _ = make_players(60, 40, 4, seed=4, recipe=UNLIKE)
    few, later, _ = make_players(60, 5, 1, seed=5, recipe=UNLIKE, test_sessions=3)
    fitted = estimate_population(learn, version="test")
    scores = [CarryModel(population=p).fit(few).score(later) for p in (POPULATION, fitted)]
    assert scores[1] > scores[0]


def test_any_row_order() -> None:
    learn, _, _ = make_players(12, 10, 2, seed=6)
    shuffled = learn.sample(fraction=1.0, shuffle=True, seed=1)
    assert estimate_population(shuffled, version="a") == estimate_population(learn, version="a")


def test_carry_alone_leaves_the_side_as_it_was() -> None:
    learn, _, _ = make_players(12, 10, 2, seed=7)
    blind = learn.with_columns(still_side_m=pl.lit(None, dtype=pl.Float64))
    assert estimate_population(blind, version="a").side_spread == POPULATION.side_spread


def test_few_players_are_refused() -> None:
    learn, _, _ = make_players(3, 10, 1, seed=8)
    with pytest.raises(NotEnoughShotsError, match="at least 10 players"):
        estimate_population(learn, version="a")
