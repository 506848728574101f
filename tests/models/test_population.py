"""Defaults scale as they say."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.clubs.carry_model import CarryModel
from rangeledger.models.population import POPULATION, Population

from tests.models.synthetic_players import make_players


def test_spread_factor() -> None:
    """Spread falls with the power 1.5 of length, and is held constant beyond the limits.

    That longer hitters repeat better: [smoliga2006], 90 men. The power and the limits 0.6 and
    1.5 are the population's own choice: common practice, no source. By hand,
    x ** -1.5 = 1 / (x sqrt(x)), with sqrt(0.64) = 0.8 and sqrt(1.44) = 1.2.
    """
    found = POPULATION.spread_factor(np.array([0.1, 0.6, 0.64, 1.0, 1.44, 1.5, 9.0]))
    short, long = 1 / (0.6 * 0.6**0.5), 1 / (1.5 * 1.5**0.5)
    expected = [short, short, 1 / (0.64 * 0.8), 1.0, 1 / (1.44 * 1.2), long, long]
    assert found == pytest.approx(expected)


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
