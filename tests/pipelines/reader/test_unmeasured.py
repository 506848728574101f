"""Zeros that stand for a missing measurement. Shots: computed flights; limits: common practice."""

from __future__ import annotations

import numpy as np
import polars as pl
from rangeledger.pipelines.reader.unmeasured import without_unmeasured

from tests.pipelines.reader.recognising.writing import launches


def shots(**changed: dict[int, float]) -> pl.DataFrame:
    """Computed flights of two clubs, printed to a tenth, with some values changed by row."""
    frame = pl.DataFrame({name: np.round(v, 1) for name, v in launches(14).items()})
    frame = frame.with_columns(pl.when(pl.col(n) == 0.0).then(0.1).otherwise(n).alias(n)
                               for n in frame.columns)  # fmt: skip
    for name, values in changed.items():
        cells = frame[name].to_list()
        for row, value in values.items():
            cells[row] = value
        frame = frame.with_columns(pl.Series(name, cells))
    return frame


def missing(frame: pl.DataFrame, name: str) -> list[int]:
    """Rows without a value after unmeasured zeros have been taken out."""
    found, _ = without_unmeasured(frame)
    return np.flatnonzero(found[name].is_null().to_numpy()).tolist()


def test_spin_of_zero_is_missing_and_its_axis_too() -> None:
    frame = shots(spin_rate_rpm={3: 0.0}, spin_axis_deg={3: 0.0})
    assert missing(frame, "spin_rate_rpm") == [3]
    assert missing(frame, "spin_axis_deg") == [3]


def test_a_single_zero_direction_is_a_straight_shot() -> None:
    assert missing(shots(launch_direction_deg={5: 0.0}), "launch_direction_deg") == []


def test_too_many_zero_directions_were_not_measured() -> None:
    zeros = dict.fromkeys((1, 4, 6, 8, 11), 0.0)
    found, remarks = without_unmeasured(shots(launch_direction_deg=zeros))
    assert found["launch_direction_deg"].null_count() == 5
    assert "launch_direction_deg is 0 in 5 rows" in remarks[0].sentence


def test_a_flight_that_was_lost_leaves_its_launch() -> None:
    lost = ("carry_m", "carry_side_m", "apex_m", "hang_time_s", "descent_angle_deg")
    frame = shots(**{name: {4: 0.0} for name in lost})
    assert all(missing(frame, name) == [4] for name in lost)
    assert missing(frame, "ball_speed_mps") == []


def test_a_topped_ball_carries_nothing() -> None:
    topped = {"ball_speed_mps": 15.0, "launch_angle_deg": -3.0, "carry_m": 0.0, "apex_m": 0.0,
              "hang_time_s": 0.1}  # fmt: skip
    assert missing(shots(**{n: {2: v} for n, v in topped.items()}), "carry_m") == []


def test_a_launch_of_zero_is_missing_where_the_ball_flew() -> None:
    assert missing(shots(launch_angle_deg={6: 0.0}), "launch_angle_deg") == [6]
