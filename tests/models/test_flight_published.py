"""Computed flight against published results, each with its source beside the number.

Where the model misses a published value the test says by how much and keeps the tolerance. Rows
of common practice test a wide band only. The default coefficients were chosen while looking at
the distance-standard and the range-table rows, so those are no independent proof; the rows of
1959 rest on memory.
"""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.air.air_conditions import air_density_of
from rangeledger.models.air.air_density import air_density_kgm3
from rangeledger.models.flight.aerodynamics import SETS
from rangeledger.models.flight.trajectory import fly

YARD = 0.9144
MPH = 0.44704
DRY_15 = air_density_kgm3(15.0, 1013.25, 0.0)
DRIVER, IRON, WEDGE = (74.5, 11.0, 2700.0), (53.5, 16.5, 7000.0), (42.5, 26.0, 9500.0)


def carry(speed, launch, spin, **conditions) -> float:
    return float(fly(speed, launch, 0.0, spin, **conditions).carry_m)


def test_distance_standard_of_today() -> None:
    # Overall distance standard since 2004: 176 mph, 10 deg, 2520 rpm, 75 degF, 30 inHg, 50 %:
    # limit 317 + 3 yd of carry and run; about 28 yd of run (from memory) leaves 289 yd.
    assert carry(176 * MPH, 10.0, 2520.0) / YARD == pytest.approx(289.0, abs=9.0)


def test_distance_standard_of_2028() -> None:
    # Rule makers, December 2023: 183 mph, 11 deg, 2220 rpm flies to the same limit; that setting
    # costs long hitters 13 to 15 yd, so today's ball goes about 15 yd farther in it.
    gain = carry(183 * MPH, 11.0, 2220.0) - carry(176 * MPH, 10.0, 2520.0)
    assert gain / YARD == pytest.approx(15.0, abs=5.0)


def test_distance_standard_of_2004() -> None:
    # Public reports of the change from 109 to 120 mph of club speed (ball speed 160 mph at 109,
    # from memory): 30 yd.
    loss = carry(176 * MPH, 10.0, 2520.0) - carry(160 * MPH, 10.0, 2520.0)
    assert loss / YARD == pytest.approx(30.0, abs=6.0)


@pytest.mark.parametrize(
    ("launch", "metres", "tolerance"),
    [(2.5, 94, 8), (5, 126, 8), (7.5, 145, 8), (10, 161, 8), (12.5, 170, 9), (15, 177, 10)],
)
def test_range_against_launch_angle(launch, metres, tolerance) -> None:
    # Rose-Hulman calculus problem GOLFLIFT: range at 58 m/s; its spin is not given, 2100 rpm
    # fits. The model is 3 to 7 m long throughout.
    assert carry(58.0, launch, 2100.0, air_density_kgm3=DRY_15) == pytest.approx(
        metres, abs=tolerance
    )


@pytest.mark.parametrize("feet_per_second", [190.0, 210.0, 225.0, 240.0])
def test_carry_is_linear_in_ball_speed(feet_per_second) -> None:
    # Williams 1959, QJMAM 12:387: C(yd) = 1.5 v(ft/s) - 103, from memory; 10 deg and 3000 rpm
    # assumed. 4 %: the formula is a fit to drives of unlike launch.
    expected = (1.5 * feet_per_second - 103.0) * YARD
    ours = carry(feet_per_second * 0.3048, 10.0, 3000.0, air_density_kgm3=DRY_15)
    assert ours == pytest.approx(expected, rel=0.04)


def test_launch_angle_of_the_longest_drive() -> None:
    # A university course page gives 13 to 20 deg at 61 m/s, spin not given. At 3500 rpm we find
    # 19 deg. At 2500 rpm the model misses it (22.5 deg), which the second line pins down.
    launch = np.arange(8.0, 30.0, 0.5)
    best = launch[np.argmax(fly(61.0, launch, 0.0, 3500.0, air_density_kgm3=DRY_15).carry_m)]
    assert 13.0 <= best <= 20.0
    low_spin = launch[np.argmax(fly(61.0, launch, 0.0, 2500.0, air_density_kgm3=DRY_15).carry_m)]
    assert low_spin > 20.0


def test_carry_of_thirteen_balls_spreads_by_what_drag_spreads() -> None:
    # Lyu et al. 2018, abstract: carry of 13 balls spreads over 18 m, drag over less than 0.05.
    # A spread of 5 % either way in drag (0.025 of 0.25 is 10 %) gives about that.
    spread = carry(*DRIVER, drag_scale=0.95) - carry(*DRIVER, drag_scale=1.05)
    assert spread == pytest.approx(18.0, abs=3.0)


@pytest.mark.parametrize(
    ("name", "driver_standard_yd"),
    [
        ("spin-ratio-law", 290.2),
        ("linear-2002", 290.6),
        ("bearman-harvey-1976", 276.4),
        ("smits-smith-1994", 264.3),
    ],
)
def test_sets_agree_with_a_second_program(name, driver_standard_yd) -> None:
    # The same equations and formulas solved by another program (DOP853, 1e-10), 176 mph, 10 deg,
    # 2520 rpm in the reference air. 0.1 yd is its rounding.
    ours = carry(176 * MPH, 10.0, 2520.0, aerodynamics=SETS[name])
    assert ours / YARD == pytest.approx(driver_standard_yd, abs=0.1)


@pytest.mark.parametrize(
    ("shot", "calm", "head", "tail", "side"),
    [
        (DRIVER, 247.04, -18.69, 14.36, 16.66),
        (IRON, 151.70, -19.59, 14.42, 15.68),
        (WEDGE, 110.70, -18.40, 13.57, 13.20),
    ],
)
def test_five_metres_of_wind_agree_with_a_second_program(shot, calm, head, tail, side) -> None:
    # An independent solver (DOP853, rtol 1e-10) of the same equations, 15 degC, 101325 Pa, dry.
    air = {"air_density_kgm3": DRY_15}
    assert carry(*shot, **air) == pytest.approx(calm, abs=0.02)
    assert carry(*shot, wind_speed_mps=5.0, **air) - calm == pytest.approx(head, abs=0.02)
    behind = carry(*shot, wind_speed_mps=5.0, wind_from_deg=180.0, **air)
    assert behind - calm == pytest.approx(tail, abs=0.02)
    from_left = fly(*shot[:2], 0.0, shot[2], wind_speed_mps=5.0, wind_from_deg=270.0, **air)
    assert from_left.carry_side_m == pytest.approx(side, abs=0.02)


# Common practice, no source: bands wide enough for what the trade tells, no more.


@pytest.mark.parametrize("shot", [DRIVER, IRON, WEDGE])
def test_common_practice_head_and_tail_wind(shot) -> None:
    # "1 % of carry a mph against, half a per cent helping": ours 0.7 to 1.5 and 0.5 to 1.1.
    calm = carry(*shot)
    against = 1.0 - carry(*shot, wind_speed_mps=10 * MPH) / calm
    helping = carry(*shot, wind_speed_mps=10 * MPH, wind_from_deg=180.0) / calm - 1.0
    assert 0.05 < against < 0.17
    assert 0.03 < helping < 0.13
    assert helping < against


@pytest.mark.parametrize("shot", [DRIVER, IRON, WEDGE])
def test_common_practice_cross_wind(shot) -> None:
    # "10 to 15 yd of drift in 10 mph across": ours 13 to 16.
    drift = fly(*shot[:2], 0.0, shot[2], wind_speed_mps=10 * MPH, wind_from_deg=270.0)
    assert 8.0 < drift.carry_side_m / YARD < 20.0


@pytest.mark.parametrize("shot", [DRIVER, IRON, WEDGE])
def test_common_practice_temperature_and_altitude(shot) -> None:
    # "2 yd per 10 degF" and "1.0 to 1.2 % per 1000 ft": ours 1.2 to 2.2 yd, 1.2 to 1.5 %.
    warm, cool = (air_density_of(t).air_density_kgm3 for t in (26.7, 21.1))
    gain = carry(*shot, air_density_kgm3=warm) - carry(*shot, air_density_kgm3=cool)
    assert 0.8 < gain / YARD < 3.0
    high = air_density_of(altitude_m=304.8).air_density_kgm3
    assert 0.008 < carry(*shot, air_density_kgm3=high) / carry(*shot) - 1.0 < 0.025


def test_common_practice_curve_of_a_tilted_axis() -> None:
    # "0.7 % of carry a degree of tilt": ours 0.8 to 1.1 %.
    for shot in (DRIVER, IRON, WEDGE):
        flight = fly(*shot[:2], 0.0, shot[2], 5.0)
        assert 0.004 < flight.carry_side_m / flight.carry_m / 5.0 < 0.015
