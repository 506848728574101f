"""Zeros that stand for a missing measurement."""

from __future__ import annotations

import polars as pl
from rangeledger.pipelines.reader.normalising.missing import is_missing, zeros_as_missing


def test_spin_of_zero_is_missing_and_other_zeros_stay() -> None:
    frame = pl.DataFrame({"spin_rate_rpm": [0.0, 2500.0], "spin_axis_deg": [0.0, 1.0]})
    result = zeros_as_missing(frame)
    assert result.columns == frame.columns
    assert result["spin_rate_rpm"].to_list() == [None, 2500.0]
    assert result["spin_axis_deg"].to_list() == [0.0, 1.0]


def test_flight_of_zero_is_missing_only_where_the_ball_carried() -> None:
    frame = pl.DataFrame(
        {"carry_m": [150.0, 0.0, None], "hang_time_s": [0.0, 0.0, 0.0], "apex_m": [0.0, 0.0, 3.0]}
    )
    result = zeros_as_missing(frame)
    assert result["hang_time_s"].to_list() == [None, 0.0, 0.0]
    assert result["apex_m"].to_list() == [None, 0.0, 3.0]


def test_words_and_marks() -> None:
    assert is_missing(None)
    assert is_missing(" -- ")
    assert not is_missing("0")
    assert not is_missing("driver")
