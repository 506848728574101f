"""How high a stroke flies along its way."""

from __future__ import annotations

import math

import numpy as np
import pytest
from rangeledger.models.flight.day_flight import STILL_AIR, Conditions, Launch
from rangeledger.models.flight.flight_height import PLACES, height_profile
from rangeledger.models.flight.trajectory import fly

IRON = Launch(52.0, 17.0, 0.0, 6500.0, 0.0)


def test_without_air_the_path_is_a_parabola() -> None:
    # Closed form: y = x tan(angle) (1 - x / R), so y / R = tan(angle) u (1 - u).
    bare = Launch(50.0, 30.0, 0.0, 3000.0, 0.0, drag_scale=0.0, lift_scale=0.0)
    share = np.linspace(0.0, 1.0, PLACES)
    expected = math.tan(math.radians(30.0)) * share * (1.0 - share)
    assert height_profile(bare, STILL_AIR) == pytest.approx(expected, abs=2e-4)


def test_the_highest_place_is_the_apex() -> None:
    flown = fly(52.0, 17.0, 0.0, 6500.0, 0.0)
    profile = height_profile(IRON, STILL_AIR)
    assert profile.max() * flown.carry_m == pytest.approx(float(flown.apex_m), rel=0.005)
    assert profile[0] == 0.0
    assert abs(profile[-1] * flown.carry_m) < 0.01  # the solver ends within a centimetre


def test_a_raised_landing_ends_the_path_at_its_height() -> None:
    flown = fly(52.0, 17.0, 0.0, 6500.0, 0.0, landing_height_m=10.0)
    profile = height_profile(IRON, Conditions(landing_height_m=10.0))
    assert profile[-1] * flown.carry_m == pytest.approx(10.0, abs=0.05)


def test_a_ball_that_never_lands_has_no_path() -> None:
    assert height_profile(IRON, Conditions(landing_height_m=90.0)).size == 0
