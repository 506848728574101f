"""Expected miss against closed forms and against draws."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from rangeledger.models.clubs.shot_distribution import draw_next_shots
from rangeledger.models.coaching.expected_miss import FALL_LENGTHS, SIDES, expected_miss


def one(**changes: float) -> pl.DataFrame:
    row = {
        "player": "a", "club": "56-wedge", "swing": "full", "ball": "premium", "shots": 40,
        "sessions": 4, "carry_m": 80.0, "side_m": 3.0, "carry_se_m": 0.0, "side_se_m": 0.0,
        "within_carry_sd_m": 4.0, "within_side_sd_m": 4.0, "within_correlation": 0.0,
        "between_carry_sd_m": 0.0, "between_side_sd_m": 0.0, "degrees_of_freedom": 1e6,
        "mishit_rate": 0.0, "mishit_shortfall_m": 15.0, "mishit_long_share": 0.05,
        "mishit_side_scale_m": 5.0, "side_known": True, "model_version": "test",
    }  # fmt: skip
    return pl.DataFrame([row | changes])


def miss(parameters: pl.DataFrame, target: float) -> float:
    return float(expected_miss(parameters, np.array([target]))[0, 0])


def test_round_normal_at_its_centre() -> None:
    """Rayleigh distribution: sigma sqrt(pi / 2) = 1.2533 sigma, any textbook."""
    assert miss(one(), 80.0) == pytest.approx(4.0 * 1.253314, rel=0.01)


def test_round_normal_one_spread_away() -> None:
    """Rice distribution: mean 1.5486 sigma at a distance of sigma (scipy.stats.rice(1).mean())."""
    assert miss(one(), 84.0) == pytest.approx(4.0 * 1.548572, rel=0.01)


def test_narrow_side_is_a_folded_normal() -> None:
    """E|N(1, 2^2)| = 1.7911862, closed form."""
    narrow = one(within_side_sd_m=1e-3, within_carry_sd_m=2.0)
    assert miss(narrow, 81.0) == pytest.approx(1.7911862, rel=0.01)


@pytest.mark.parametrize("target", [60.0, 80.0, 90.0])
def test_against_draws(target: float) -> None:
    parameters = one(
        mishit_rate=0.12, degrees_of_freedom=20.0, within_correlation=0.4, carry_se_m=1.0,
        between_carry_sd_m=1.5, within_side_sd_m=6.0,
    )  # fmt: skip
    shots = draw_next_shots(parameters, 100_000, random_state=2)
    drawn = np.hypot(shots["carry_m"] - target, shots["side_m"] - 3.0).mean()
    assert miss(parameters, target) == pytest.approx(drawn, rel=0.015)


def test_far_away_it_is_the_distance() -> None:
    assert miss(one(), 1e6) == pytest.approx(1e6 - 80.0, rel=1e-6)


def test_places_of_a_mishit_have_the_right_mean() -> None:
    """Loss over its mean: 1. Student's t with 3 degrees: E|X| = 2 sqrt(3) / pi = 1.1027."""
    assert FALL_LENGTHS.mean() == pytest.approx(1.0)
    assert SIDES.mean() == pytest.approx(0.0, abs=1e-12)
    assert np.abs(SIDES).mean() == pytest.approx(2.0 * np.sqrt(3.0) / np.pi)
