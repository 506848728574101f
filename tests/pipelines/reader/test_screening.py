"""Row rules. Limits: common practice, no source, unless stated."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from rangeledger.models.flight.trajectory import fly
from rangeledger.pipelines.reader.screening import flight_impossible, screen
from rangeledger.schemas.reasons import RowReason


def codes(**values: float | None) -> list[RowReason]:
    return [failure.code for failure in screen(pl.DataFrame({k: [v] for k, v in values.items()}))]


GOOD: dict[str, float | None] = {
    "ball_speed_mps": 66.0, "launch_angle_deg": 11.0, "spin_rate_rpm": 2500.0, "carry_m": 207.0,
}  # fmt: skip


def test_a_plain_shot_passes() -> None:
    assert codes(**GOOD) == []


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"ball_speed_mps": 187.8}, RowReason.OUT_OF_RANGE),
        ({"carry_m": -10.0}, RowReason.OUT_OF_RANGE),
        ({"total_m": 40.0}, RowReason.TOTAL_SHORT_OF_CARRY),
        ({"clubhead_speed_mps": 36.0}, RowReason.BALL_TOO_FAST),
        ({"carry_m": 20.7}, RowReason.FLIGHT_IMPOSSIBLE),
        ({"carry_m": 390.0}, RowReason.FLIGHT_IMPOSSIBLE),
        ({"ball_speed_mps": 5.5, "carry_m": 60.0}, RowReason.FLIGHT_IMPOSSIBLE),
        ({"apex_m": 85.0}, RowReason.FLIGHT_IMPOSSIBLE),
        ({"hang_time_s": 14.0}, RowReason.FLIGHT_IMPOSSIBLE),
        ({"total_m": 330.0}, RowReason.FLIGHT_IMPOSSIBLE),
        ({"launch_angle_deg": -12.0}, RowReason.FLIGHT_IMPOSSIBLE),
        ({"apex_m": 25.0, "descent_angle_deg": 88.0}, RowReason.FLIGHT_IMPOSSIBLE),
        ({"apex_m": 25.0, "descent_angle_deg": 3.0}, RowReason.FLIGHT_IMPOSSIBLE),
        (
            {"carry_side_m": 90.0, "launch_direction_deg": 1.0, "spin_axis_deg": -2.0},
            RowReason.FLIGHT_IMPOSSIBLE,
        ),
        (
            {"carry_side_m": -60.0, "launch_direction_deg": 12.0, "spin_axis_deg": 20.0},
            RowReason.FLIGHT_IMPOSSIBLE,
        ),
        ({"carry_side_m": 230.0}, RowReason.FLIGHT_IMPOSSIBLE),
    ],
)
def test_what_cannot_be_is_named(changed: dict[str, float], code: RowReason) -> None:
    assert code in codes(**{**GOOD, **changed})


def test_a_slow_ball_may_go_as_far_as_one_thrown() -> None:
    # 10 m/s at 45 degrees reaches v**2 / g = 10.2 m in a vacuum (Galileo's parabola).
    assert codes(ball_speed_mps=10.0, launch_angle_deg=45.0, carry_m=10.2) == []


def test_all_failures_are_collected() -> None:
    found = codes(**{**GOOD, "ball_speed_mps": 187.8, "total_m": 40.0})
    assert {RowReason.OUT_OF_RANGE, RowReason.TOTAL_SHORT_OF_CARRY} <= set(found)


@pytest.mark.parametrize("factor", [0.7, 1.25])
def test_weather_and_balls_are_let_pass(factor: float) -> None:
    assert codes(**{**GOOD, "carry_m": 207.0 * factor}) == []


def test_a_ball_that_spins_back_is_let_pass() -> None:
    assert codes(ball_speed_mps=40.0, launch_angle_deg=26.0, spin_rate_rpm=9000.0, carry_m=101.0,
                 total_m=97.0) == []  # fmt: skip


def test_a_long_ball_does_not_come_back() -> None:
    driver = {"ball_speed_mps": 70.0, "launch_angle_deg": 12.0, "spin_rate_rpm": 2600.0}
    assert codes(**driver, carry_m=230.0, total_m=227.0) == []
    assert codes(**driver, carry_m=230.0, total_m=215.0) == [RowReason.TOTAL_SHORT_OF_CARRY]


def test_a_row_without_any_measure_is_no_shot() -> None:
    assert codes(ball_speed_mps=None, carry_m=None) == [RowReason.NO_MEASUREMENT]


def test_many_rows_fail_as_they_would_by_themselves() -> None:
    """Thousands of shots are cleared by a table of flights, which must change no verdict."""
    rng = np.random.default_rng(5)
    speed, launch = rng.uniform(10.0, 95.0, 12_000), rng.uniform(2.0, 65.0, 12_000)
    spin = rng.uniform(50.0, 14_000.0, 12_000)
    flight = fly(speed, launch, 0.0, spin)
    off = rng.uniform(0.2, 2.0, (3, 12_000))
    shots = pl.DataFrame({
        "ball_speed_mps": speed, "launch_angle_deg": launch, "spin_rate_rpm": spin,
        "carry_m": flight.carry_m * off[0], "apex_m": flight.apex_m * off[1],
        "hang_time_s": flight.hang_time_s * off[2],
    })  # fmt: skip
    together = [
        (int(row), sentence)
        for failure in flight_impossible(shots)
        for row, sentence in zip(failure.rows, failure.sentences, strict=True)
    ]
    alone = [
        (start + int(row), sentence)
        for start in range(0, 12_000, 6_000)
        for failure in flight_impossible(shots[start : start + 6_000])
        for row, sentence in zip(failure.rows, failure.sentences, strict=True)
    ]
    assert sorted(together) == sorted(alone)
    assert len(together) > 1000
