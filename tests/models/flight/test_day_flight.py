"""Patterns carried from still air into the day."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.flight.day_flight import STILL_AIR, Conditions, Launch, day_flight
from rangeledger.models.flight.trajectory import fly

IRON = Launch(53.5, 16.5, 0.0, 7000.0, 2.0)
STOCK = (150.0, 3.0)


def test_still_air_changes_nothing() -> None:
    day = day_flight(IRON, STILL_AIR)
    points = np.array([[150.0, 3.0], [100.0, -20.0], [20.0, 4.0]])
    np.testing.assert_allclose(day.landing(points, STOCK), points, atol=1e-9)


def test_the_stock_shot_answers_as_its_own_flight() -> None:
    windy = Conditions(5.0, 40.0)
    still = fly(53.5, 16.5, 0.0, 7000.0, 2.0)
    blown = fly(53.5, 16.5, 0.0, 7000.0, 2.0, wind_speed_mps=5.0, wind_from_deg=40.0)
    stock = (float(still.carry_m), float(still.carry_side_m))
    (landing,) = day_flight(IRON, windy).landing(np.array([stock]), stock)
    np.testing.assert_allclose(landing, [blown.carry_m, blown.carry_side_m], atol=1e-6)


def test_headwind_on_a_middle_iron() -> None:
    # Independent solver (DOP853, same published-coefficient model, 15 degC, 1013.25 hPa, dry):
    # 7-iron 53.5 m/s, 16.5 deg, 7000 rpm loses 12.9 % of its carry to 5 m/s of headwind.
    day = day_flight(Launch(53.5, 16.5, 0.0, 7000.0), Conditions(5.0, 0.0))
    assert float(day.carry_ratio[0, 4]) == pytest.approx(1.0 - 0.129, abs=0.008)


def test_a_slower_shot_loses_less_to_the_wind() -> None:
    day = day_flight(IRON, Conditions(6.0, 0.0))
    assert np.all(np.diff(day.carry_ratio[0]) < 0.0)
    assert day.side_stretch[0] > 1.05


def test_aiming_away_turns_the_wind() -> None:
    # A headwind on the target line pushes a ball aimed to the right farther to the right.
    day = day_flight(IRON, Conditions(6.0, 0.0), np.radians([-20.0, 0.0, 20.0]))
    left, middle, right = day.side_shift[:, 4]
    assert left < middle < right
    ahead = day_flight(IRON, Conditions(6.0, 340.0))
    np.testing.assert_allclose(day.carry_ratio[2], ahead.carry_ratio[0], rtol=1e-9)


def test_a_green_too_high_for_slow_copies_still_has_numbers() -> None:
    day = day_flight(IRON, Conditions(landing_height_m=12.0))
    assert np.all(np.isfinite(day.carry_ratio))
    assert float(day.carry_ratio[0, 4]) < 1.0
