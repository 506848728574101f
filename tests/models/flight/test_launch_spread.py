"""A player's launch and its spread."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.flight.day_flight import Launch
from rangeledger.models.flight.launch_spread import USUAL_SPREAD, launch_spread, usual_spread

USUAL = Launch(50.0, 18.0, 0.0, 7000.0, 0.0)
TRUE_MEAN = np.array([53.0, 16.5, -0.8, 6800.0, 2.0])
TRUE_SD = np.array([1.2, 1.1, 2.4, 350.0, 3.0])


def draws(count: int) -> np.ndarray:
    noise = np.random.default_rng(3).standard_normal((count, 5))
    noise[:, 3] = 0.6 * noise[:, 1] + 0.8 * noise[:, 3]  # more loft, more spin
    return TRUE_MEAN + TRUE_SD * noise


def test_many_shots_give_back_their_distribution() -> None:
    found = launch_spread(draws(4000), USUAL)
    np.testing.assert_array_less(np.abs(found.mean - TRUE_MEAN), 0.08 * TRUE_SD)
    scale = np.sqrt(np.diag(found.covariance))
    np.testing.assert_allclose(scale, TRUE_SD, rtol=0.05)
    assert found.covariance[1, 3] / (scale[1] * scale[3]) == pytest.approx(0.6, abs=0.04)


def test_a_wild_shot_hardly_moves_it() -> None:
    shots = draws(60)
    wild = np.concatenate((shots, [[15.0, 60.0, 40.0, 12000.0, 60.0]]))
    calm, stirred = launch_spread(shots, USUAL), launch_spread(wild, USUAL)
    moved = np.abs(stirred.mean - calm.mean) / TRUE_SD
    assert np.all(moved < 0.3)
    ratio = np.diag(stirred.covariance) / np.diag(calm.covariance)
    assert np.all(ratio < 1.6)


def test_without_shots_it_is_the_usual_one() -> None:
    found = launch_spread(np.empty((0, 5)), USUAL)
    assert found.stock == USUAL
    np.testing.assert_allclose(found.covariance, usual_spread(USUAL).covariance)
    assert np.sqrt(found.covariance[0, 0]) == pytest.approx(USUAL_SPREAD[0] * 50.0)


def test_parts_that_were_not_recorded_come_from_the_usual_launch() -> None:
    shots = draws(40)
    shots[:, 3:] = np.nan
    found = launch_spread(shots, USUAL)
    assert found.stock.spin_rate_rpm == 7000.0
    assert found.stock.ball_speed_mps == pytest.approx(53.0, abs=0.5)
    assert found.shots == 0
