"""Usual launches."""

from __future__ import annotations

import pytest
from rangeledger.models.flight.trajectory import fly
from rangeledger.models.flight.typical_launch import typical_launch


@pytest.mark.parametrize(
    ("loft_deg", "carry_m"), [(10.5, 215.0), (32.5, 140.0), (46.0, 105.0), (56.0, 60.0)]
)
def test_the_launch_carries_what_it_should(loft_deg: float, carry_m: float) -> None:
    launch = typical_launch(carry_m, loft_deg)
    flight = fly(launch.ball_speed_mps, launch.launch_angle_deg, 0.0, launch.spin_rate_rpm)
    assert float(flight.carry_m) == pytest.approx(carry_m, abs=0.3)


def test_seven_iron_of_the_trade() -> None:
    # Common practice, no source: half the loft, about a thousand rpm a club number.
    launch = typical_launch(150.0, 32.5)
    assert launch.launch_angle_deg == pytest.approx(16.5, abs=1.0)
    assert launch.spin_rate_rpm == pytest.approx(7000.0, rel=0.1)


def test_an_unknown_loft_is_a_middle_iron() -> None:
    assert typical_launch(120.0, float("nan")) == typical_launch(120.0, 32.5)


def test_the_side_goes_into_the_start_direction() -> None:
    # Closed form: atan(10 / 100).
    assert typical_launch(100.0, 40.0, 10.0).launch_direction_deg == pytest.approx(5.7106, abs=1e-3)
