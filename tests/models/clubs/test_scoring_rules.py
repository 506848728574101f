"""Scores against closed forms: the product's own function on quantiles of known laws."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from rangeledger.models.clubs.carry_model import CarryModel
from rangeledger.models.clubs.scoring_rules import energy_score, mean_distance, score_shots
from scipy import special

from tests.models.synthetic_players import make_players

ZERO = np.zeros(1, dtype=np.int64)
# 4,000 equally likely quantiles stand for the law; its tails cost about 1e-4.
UNIFORM = (np.arange(4000) + 0.5) / 4000
NORMAL = special.ndtri(UNIFORM)


def score_of(draws: np.ndarray, observed: list[float]) -> float:
    return float(energy_score(draws[None], np.array([observed]), ZERO)[0])


@pytest.mark.parametrize(
    ("centre", "spread", "observed", "expected"),
    # Gneiting et al. 2005, closed form of the normal; the last is printed in the documentation
    # of the package scoringrules.
    [(0.0, 1.0, 0.0, 0.2336950), (0.0, 1.0, 1.0, 0.6024414), (0.1, 0.4, 0.0, 0.1033999)],
)
def test_ranked_probability_score_of_a_normal(
    centre: float, spread: float, observed: float, expected: float
) -> None:
    draws = (centre + spread * NORMAL)[:, None]
    assert score_of(draws, [observed]) == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize(
    ("distance", "expected"),
    # Gneiting & Raftery 2007, definition, with the mean of the Rice distribution: closed form.
    [(0.0, 0.3670872), (1.0, 0.6623455), (2.0, 1.3861565)],
)
def test_energy_score_of_a_round_normal(distance: float, expected: float) -> None:
    radius = np.sqrt(-2.0 * np.log1p(-(np.arange(50) + 0.5) / 50))
    angle = 2.0 * np.pi * (np.arange(50)[:, None] + 0.618 * np.arange(50)) / 50
    draws = np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=-1).reshape(-1, 2)
    # 2,500 places on 50 rings stand for the law.
    assert score_of(draws, [distance, 0.0]) == pytest.approx(expected, rel=0.01)


def test_mean_distance_of_a_normal() -> None:
    """E|X - X'| = 2 / sqrt(pi), any textbook (Gini's mean difference)."""
    assert mean_distance(NORMAL[None, :, None])[0] == pytest.approx(1.128379, rel=1e-3)


def test_a_point_forecast_scores_its_distance() -> None:
    assert score_of(np.zeros((10, 2)), [3.0, 4.0]) == pytest.approx(5.0)


def test_sorted_sum_equals_all_pairs() -> None:
    draws = np.random.default_rng(2).standard_normal((3, 40, 1))
    pairs = np.abs(draws - draws.transpose(0, 2, 1)).mean(axis=(1, 2))
    assert mean_distance(draws) == pytest.approx(pairs)


def test_the_truth_scores_best() -> None:
    """Propriety: a forecast too narrow or too wide by half scores worse on average."""
    observed = np.random.default_rng(3).standard_normal((4000, 1))
    shots = np.zeros(4000, dtype=np.int64)
    mean = [energy_score((s * NORMAL[::10])[None, :, None], observed, shots).mean()
            for s in (0.5, 1.0, 1.5)]  # fmt: skip
    assert mean[1] < mean[0]
    assert mean[1] < mean[2]


def test_score_falls_back_to_carry_where_sides_are_unknown() -> None:
    learn, later, _ = make_players(2, 20, 2, seed=4, test_sessions=1)
    blind = pl.col("player") == "player-00001"
    learn, later = (
        shots.with_columns(pl.when(~blind).then("still_side_m").alias("still_side_m"))
        for shots in (learn, later)
    )
    scores = score_shots(CarryModel().fit(learn).parameters_, later)
    assert scores["shots"].to_list() == [10] * 16
    by_player = scores.group_by("player").agg(pl.col("score_m").mean()).sort("player")
    assert by_player["score_m"][1] < by_player["score_m"][0]


def test_unknown_groups_are_left_out() -> None:
    learn, later, _ = make_players(1, 20, 2, seed=4, test_sessions=1)
    model = CarryModel().fit(learn.filter(pl.col("club") != "driver"))
    assert "driver" not in score_shots(model.parameters_, later)["club"]
    assert score_shots(model.parameters_, later.clear()).height == 0
    assert model.score(later) < 0.0
