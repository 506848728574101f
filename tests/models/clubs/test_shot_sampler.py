"""Drawn shots: their dispersion, their launch, their flight, and the way back to the model."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from rangeledger.models.clubs.carry_model import CarryModel
from rangeledger.models.clubs.shot_pattern import ShotPattern, pattern_of
from rangeledger.models.clubs.shot_sampler import TIME_STEP_S, landing_changes, sample_shots
from rangeledger.models.flight.day_flight import STILL_AIR, Conditions, Launch
from rangeledger.models.flight.launch_spread import usual_spread
from rangeledger.models.flight.trajectory import fly

from tests.two_samples import energy_test

PATTERN = ShotPattern(
    "7-iron", "full", "premium", 152.0, 1.0, 6.5, 8.0, 0.2, 1.2, 1.0, 40.0, 0.08, 27.0, 0.05, 12.0
)
SPREAD = usual_spread(Launch(53.5, 16.5, -0.5, 7000.0, 2.0))


def drawn(count: int, conditions: Conditions = STILL_AIR, seed: int = 1):
    return sample_shots(PATTERN, SPREAD, count, np.random.default_rng(seed), conditions)


def test_landings_keep_the_fitted_dispersion() -> None:
    shots = drawn(5000)
    fresh, _ = PATTERN.draw(5000, np.random.default_rng(77))
    assert energy_test(shots.landings, fresh).p_value > 0.01


def test_launches_keep_the_players_launch() -> None:
    shots = drawn(60_000)
    clean = shots.launches[~shots.mishit]
    scale = np.sqrt(np.diag(SPREAD.covariance))
    np.testing.assert_array_less(np.abs(clean.mean(axis=0) - SPREAD.mean), 0.03 * scale)
    np.testing.assert_allclose(clean.std(axis=0), scale, rtol=0.06)


def test_launch_and_landing_belong_together() -> None:
    # Of two drawn shots the one that lands farther was struck harder, as in life; and the flight
    # of a clean launch ends near its landing: what is left is the part that launch can't tell.
    shots = drawn(20_000)
    clean = ~shots.mishit
    speed, carry = shots.launches[clean, 0], shots.landings[clean, 0]
    assert np.corrcoef(speed, carry)[0, 1] > 0.3
    direction, side = shots.launches[clean, 2], shots.landings[clean, 1]
    assert np.corrcoef(direction, side)[0, 1] > 0.5
    left = shots.landings[clean, 0] - shots.flight.carry_m[clean]
    assert left.std() < PATTERN.carry_sd_m


def test_the_day_moves_each_shot_by_its_own_flight() -> None:
    windy = Conditions(6.0, 30.0)
    calm, day = drawn(500), drawn(500, windy)
    np.testing.assert_array_equal(calm.launches, day.launches)
    keys = {"wind_speed_mps": 6.0, "wind_from_deg": 30.0}
    change = fly(*day.launches.T, **keys).carry_m - fly(*day.launches.T).carry_m
    np.testing.assert_allclose(day.landings[:, 0] - calm.landings[:, 0], change, atol=0.05)


def test_the_longer_time_step_is_fine() -> None:
    launches = drawn(2000).launches
    keys = {"wind_speed_mps": 8.0, "wind_from_deg": 30.0}
    rough = fly(*launches.T, **keys, time_step_s=TIME_STEP_S)
    fine = fly(*launches.T, **keys, time_step_s=0.02)
    np.testing.assert_allclose(rough.carry_m, fine.carry_m, atol=0.05)
    np.testing.assert_allclose(rough.carry_side_m, fine.carry_side_m, atol=0.05)
    np.testing.assert_allclose(rough.apex_m, fine.apex_m, atol=0.05)


def test_changes_of_landing_against_an_independent_solver() -> None:
    # DOP853 at 15 degC, 1013.25 hPa, dry (1.22499 kg/m3), same coefficients: 7-iron, 1 % of speed
    # is 1.67 m of carry, 5 % of spin -1.05 m, 1 deg of start direction 2.65 m, 1 deg of axis
    # 1.63 m of side. Those are steps one way, ours a slope; 5 % less spin would give +1.15 m.
    change = landing_changes(
        Launch(53.5, 16.5, 0.0, 7000.0, 0.0), Conditions(air_density_kgm3=1.22499)
    )
    assert change[0, 0] * 0.535 == pytest.approx(1.67, abs=0.03)
    assert change[0, 3] * 350.0 == pytest.approx(-0.5 * (1.05 + 1.15), abs=0.03)
    assert change[1, 2] == pytest.approx(2.65, abs=0.03)
    assert change[1, 4] == pytest.approx(1.63, abs=0.03)


def test_same_seed_same_shots() -> None:
    np.testing.assert_array_equal(drawn(300, seed=9).landings, drawn(300, seed=9).landings)
    assert not np.array_equal(drawn(300, seed=9).landings, drawn(300, seed=10).landings)


def test_all_shots_are_possible() -> None:
    shots = drawn(20_000, Conditions(10.0, 0.0))
    assert np.all(np.isfinite(shots.launches))
    assert np.all(np.isfinite(shots.landings))
    assert shots.landings[:, 0].min() >= 0.0
    assert shots.launches[:, 3].min() > 0.0


def as_sessions(points: np.ndarray, shots_each: int) -> pl.DataFrame:
    count = len(points)
    return pl.DataFrame(
        {
            "shot_id": [str(i) for i in range(count)],
            "player": "invented", "club": "7-iron", "swing": "full", "ball": "premium",
            "session_id": [f"s{i // shots_each:03d}" for i in range(count)],
            "shot_number": [i % shots_each + 1 for i in range(count)],
            "still_carry_m": points[:, 0], "still_side_m": points[:, 1],
        }
    )  # fmt: skip


def test_refitting_drawn_shots_gives_the_model_back() -> None:
    truth = PATTERN.without_doubt()
    shots = sample_shots(truth, SPREAD, 1200, np.random.default_rng(21))
    model = CarryModel().fit(as_sessions(shots.landings, 40))
    (row,) = model.parameters_.to_dicts()
    again = pattern_of(row)
    # Three standard errors of the fitted centre; relative standard error of a spread of n shots
    # is 1/sqrt(2 n), of the mishit rate sqrt(p (1 - p)/n), each taken three times.
    assert again.carry_m == pytest.approx(truth.carry_m, abs=3.0 * again.carry_se_m)
    assert again.side_m == pytest.approx(truth.side_m, abs=3.0 * again.side_se_m)
    assert again.carry_sd_m == pytest.approx(truth.carry_sd_m, rel=3.0 / np.sqrt(2400.0))
    assert again.side_sd_m == pytest.approx(truth.side_sd_m, rel=3.0 / np.sqrt(2400.0))
    assert again.mishit_rate == pytest.approx(0.08, abs=3.0 * np.sqrt(0.08 * 0.92 / 1200.0))
    new, _ = again.draw(4000, np.random.default_rng(5))
    assert energy_test(new, shots.landings).p_value > 0.01
