"""Arrays from frames: nulls, absent columns, groups and thinning."""

from __future__ import annotations

import numpy as np
import polars as pl
from rangeledger.models.frame_arrays import group_numbers, numbers, texts, thinned


def test_numbers_turn_null_and_absent_into_nan() -> None:
    frame = pl.DataFrame({"carry_m": [1, None, 3]})
    np.testing.assert_array_equal(numbers(frame, "carry_m"), [1.0, np.nan, 3.0])
    assert np.isnan(numbers(frame, "apex_m")).tolist() == [True] * 3


def test_texts_fill() -> None:
    frame = pl.DataFrame({"club": ["driver", None]})
    assert texts(frame, "club", "unknown").tolist() == ["driver", "unknown"]
    assert texts(frame, "ball", "unknown").tolist() == ["unknown", "unknown"]
    assert texts(frame.head(0), "club", "unknown").tolist() == []


def test_groups_count_in_order_of_appearance_and_nulls_are_equal() -> None:
    frame = pl.DataFrame({"player": ["b", "a", "b", None, None], "club": ["x", "x", "y", "x", "x"]})
    number, groups = group_numbers(frame, ["player", "club"])
    assert number.tolist() == [0, 1, 2, 3, 3]
    assert groups.rows() == [("b", "x"), ("a", "x"), ("b", "y"), (None, "x")]


def test_thinning_keeps_small_groups_whole_and_large_ones_evenly() -> None:
    groups = np.array([0] * 100 + [1] * 3)
    kept = thinned(groups, 10)
    assert kept[-3:].tolist() == [100, 101, 102]
    assert len(kept) == 13
    assert np.ptp(np.diff(kept[:10])) <= 1
    assert thinned(np.array([], dtype=np.int64), 5).tolist() == []
