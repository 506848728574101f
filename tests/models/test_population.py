"""Defaults scale as they say."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.clubs.carry_model import CarryModel
from rangeledger.models.population import POPULATION, Population

from tests.models.synthetic_players import make_players


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
