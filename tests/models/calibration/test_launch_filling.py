"""Launch data filled from the group, from the club, or solved from the carry."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from rangeledger.models.calibration.launch_filling import (
    CLUB,
    GROUP,
    OWN,
    fill_launch,
    typical_launches,
)
from rangeledger.models.calibration.measurement_noise import LAUNCH
from rangeledger.models.flight.flight_sensitivity import FlightInputs
from rangeledger.models.flight.trajectory import fly
from rangeledger.models.flight.typical_launch import usual_launch

SHOTS = pl.DataFrame(
    {
        "player": "p",
        "club": ["7-iron"] * 4 + ["driver"],
        "swing": "full",
        "ball": "premium",
        "ball_speed_mps": [52.0, 53.0, 51.0, None, 70.0],
        "launch_angle_deg": [17.0, 18.0, None, 16.0, None],
        "launch_direction_deg": [0.5, -1.0, 0.0, 1.0, 2.0],
        "spin_rate_rpm": [7000.0, 6800.0, 7200.0, None, None],
        "spin_axis_deg": [1.0, 2.0, 3.0, None, None],
        "carry_m": [150.0, 152.0, 148.0, 145.0, 230.0],
    }
)


def calm(n: int, head: float = 0.0) -> FlightInputs:
    zero = np.zeros(n)
    return FlightInputs(zero, zero, zero, zero, zero, zero + 1.1853, zero + head, zero, zero, zero)


def test_own_launch_stays() -> None:
    filled = fill_launch(SHOTS, calm(5))
    np.testing.assert_array_equal(filled.values[0], [52.0, 17.0, 0.5, 7000.0, 1.0])
    assert filled.basis.tolist() == [OWN, OWN, GROUP, GROUP, CLUB]


def test_gaps_take_the_median_of_the_group_with_more_uncertainty() -> None:
    filled = fill_launch(SHOTS, calm(5))
    assert filled.values[2, 1] == 17.0  # median of 17, 18, 16
    assert filled.values[3, 3] == 7000.0
    assert filled.values[3, 4] == 2.0
    assert filled.sd[2, 1] > filled.sd[0, 1]


def test_a_club_never_measured_takes_the_usual_launch_of_its_loft() -> None:
    angle, per_speed = usual_launch(10.5)
    filled = fill_launch(SHOTS, calm(5))
    assert filled.values[4, 1] == angle
    assert filled.values[4, 3] == pytest.approx(per_speed * 70.0)
    assert filled.values[4, 4] == 0.0


@pytest.mark.parametrize("head", [0.0, 6.0, -6.0])
def test_a_missing_speed_is_the_one_that_carries_as_measured(head) -> None:
    speeds = np.array([74.5, 53.5, 42.5, 30.0, 20.0])
    angle, spin = np.array([11, 16.5, 26, 30, 34]), np.array([2700, 7000, 9500, 8000, 6000.0])
    carry = fly(
        speeds,
        angle,
        0.0,
        spin,
        air_density_kgm3=1.1853,
        wind_speed_mps=abs(head),
        wind_from_deg=0.0 if head >= 0 else 180.0,
    ).carry_m
    shots = pl.DataFrame(
        {
            "player": "p",
            "club": ["driver", "7-iron", "gap-wedge", "sand-wedge", "lob-wedge"],
            "swing": "full",
            "ball": "premium",
            "launch_angle_deg": angle,
            "spin_rate_rpm": spin,
            "carry_m": carry,
        }
    )
    np.testing.assert_allclose(fill_launch(shots, calm(5, head)).values[:, 0], speeds, rtol=1e-4)


def test_without_speed_and_carry_nothing_can_be_flown() -> None:
    shots = SHOTS.with_columns(ball_speed_mps=None, carry_m=None)
    assert np.isnan(fill_launch(shots, calm(5)).values[:, 0]).all()


def test_typical_launches_are_medians_with_robust_spread() -> None:
    frame = typical_launches(SHOTS, ["player", "club"])
    iron = frame.row(0, named=True)
    assert (iron["shots"], iron["ball_speed_mps"], iron["launch_angle_deg"]) == (4, 52.0, 17.0)
    assert iron["ball_speed_mps_sd"] == pytest.approx(1.4826)
    assert iron["carry_m"] == 149.0
    sparse = typical_launches(SHOTS.drop("spin_rate_rpm"), ["player", "club"])
    assert sparse["spin_rate_rpm"].null_count() == 2
    assert set(LAUNCH) <= set(sparse.columns)
