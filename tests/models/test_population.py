"""Defaults scale as they say."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from rangeledger.models.clubs.carry_model import CarryModel
from rangeledger.models.clubs.nominal_carry import log_full_carry
from rangeledger.models.population import POPULATION, Population

from tests.models.synthetic_players import make_players


def test_usual_handicap() -> None:
    """67 strokes for 1 in ln length about 10, held between -5 and 36.

    That longer hitters repeat better: [smoliga2006], 90 men. The sizes are the population's own
    choice: common practice, no source. By hand, ln 1.1 = 0.0953 and ln 0.9 = -0.1054.
    """
    found = POPULATION.usual_handicap(np.array([0.1, 0.6, 0.9, 1.0, 1.1, 1.5, 9.0]))
    expected = [36.0, 36.0, 10.0 + 67.0 * 0.1054, 10.0, 10.0 - 67.0 * 0.0953, -5.0, -5.0]
    assert found == pytest.approx(expected, abs=0.01)


def test_who_tells_the_usual_handicap_is_taken_for_who_tells_none() -> None:
    """A short player's defaults are those of the handicap that is usual of the length."""
    learn, _, _ = make_players(1, 5, 1, seed=4)
    shots = learn.filter(pl.col("club") == "7-iron").with_columns(pl.col("still_carry_m") * 0.8)
    silent = CarryModel().fit(shots).parameters_
    # The reference player carries a 7-iron 136 m (149 yd, `nominal_carry`).
    length = shots["still_carry_m"].median() / np.exp(log_full_carry(np.array((32.5 - 36) / 16)))
    told = {shots["player"][0]: float(POPULATION.usual_handicap(np.asarray(length)))}
    same = CarryModel(handicaps=told).fit(shots).parameters_
    for name in ("within_carry_sd_m", "mishit_rate"):
        assert silent[name].to_list() == pytest.approx(same[name].to_list(), rel=1e-9)


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
