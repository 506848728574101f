"""Run after landing against the public distance standard and limits."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.flight.run_after_landing import ROLL_SLOWING_MPS2, run_after_landing
from rangeledger.models.flight.trajectory import fly


def run_of(*launch: float) -> float:
    flight = fly(*launch)
    return float(
        run_after_landing(
            flight.landing_speed_mps, flight.descent_angle_deg, flight.landing_spin_rpm
        )
    )


def test_drive_of_the_distance_standard() -> None:
    # Overall distance standard: 176 mph, 10 deg, 2520 rpm, limit 317 + 3 yd of carry and run, of
    # which about 28 yd are run (from memory). Turf differs; a quarter of it is allowed.
    assert run_of(78.68, 10.0, 0.0, 2520.0) / 0.9144 == pytest.approx(28.0, rel=0.25)


def test_clubs_in_the_order_of_their_run() -> None:
    # Common practice, no source: a drive runs about 20-30 yd, a middle iron 3-10, a wedge 0-3.
    drive = run_of(70.0, 12.0, 0.0, 2700.0) / 0.9144
    iron = run_of(53.5, 16.5, 0.0, 7000.0) / 0.9144
    wedge = run_of(42.5, 26.0, 0.0, 9500.0) / 0.9144
    assert 20.0 < drive < 32.0
    assert 3.0 < iron < 10.0
    assert -3.0 < wedge < 3.0


def test_a_ball_that_only_rolls() -> None:
    # Closed form: v^2 / (2 a) for a slow ball that touches down level and already rolls.
    rolling_rpm = -0.1 / (0.04267 / 2.0) * 30.0 / np.pi
    found = float(run_after_landing(0.1, 0.0, rolling_rpm))
    assert found == pytest.approx(0.1**2 / (2.0 * ROLL_SLOWING_MPS2), rel=1e-3)


def test_straight_down_without_spin_stays() -> None:
    assert float(run_after_landing(15.0, 90.0, 0.0)) == pytest.approx(0.0, abs=1e-6)


def test_backspin_shortens_and_firm_ground_lengthens() -> None:
    spins = run_after_landing(24.0, 45.0, np.array([2000.0, 5000.0, 9000.0]))
    assert np.all(np.diff(spins) < 0.0)
    firm = run_after_landing(28.0, 38.0, 2200.0, 0.5 * ROLL_SLOWING_MPS2)
    assert float(firm) > float(run_after_landing(28.0, 38.0, 2200.0))


def test_unknown_stays_unknown_and_shape_is_kept() -> None:
    run = run_after_landing(np.array([[28.0, np.nan]]), 38.0, 2200.0)
    assert run.shape == (1, 2)
    assert np.isfinite(run[0, 0])
    assert np.isnan(run[0, 1])
