"""The judge itself: it must see every kind of fault that it is there to see."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import polars as pl
import pytest
from rangeledger.schemas.arrow import shots_polars_schema

from tests.exports.score import PARTLY, RIGHT, WRONG, judge

NO_REJECTS = pl.DataFrame(schema={"source_row": pl.Int32, "reason_code": pl.String})


def _truth(**changes: Any) -> dict[str, Any]:
    plain = {
        "file": "a.csv", "outcome": ["loaded"], "hard": "plain", "tags": [], "sessions": [1],
        "source_row": [2, 3], "optional_rows": [],
        "must_reject": [], "may_reject": [[1, "heading"]],
        "data": {"club": ["driver", "7-iron"], "carry_m": [200.0, {"any": [140.0, 139.5]}]},
        "tol": {"carry_m": 0.05}, "derivable": {"total_m": True},
        "struck_at": ["2025-06-07T09:00:00.000", "2025-06-07T09:00:40.000"], "time_kind": "utc",
    }  # fmt: skip
    return plain | changes


def _shots(**changes: Any) -> pl.DataFrame:
    values: dict[str, Any] = {
        "shot_id": ["a", "b"], "session_id": ["s", "s"], "player": ["unknown"] * 2,
        "shot_number": [1, 2], "club": ["driver", "7-iron"], "swing": ["full"] * 2,
        "ball": ["unknown"] * 2, "surface": ["unknown"] * 2, "flight_basis": ["unknown"] * 2,
        "carry_m": [200.0, 139.5], "source_row": [2, 3], "source_file": ["f"] * 2,
        "struck_at": [datetime(2025, 6, 7, 9, 0, s, tzinfo=UTC) for s in (0, 40)],
    } | changes  # fmt: skip
    count = len(values["source_row"])
    schema = shots_polars_schema()
    return pl.DataFrame({n: values.get(n, [None] * count) for n in schema}, schema=schema)


def test_the_right_values_are_right() -> None:
    assert judge(_shots(), NO_REJECTS, _truth()).verdict == RIGHT
    assert judge(_shots(total_m=[210.0, 150.0]), NO_REJECTS, _truth()).verdict == RIGHT


@pytest.mark.parametrize(
    ("changes", "column"),
    [
        ({"carry_m": [200.2, 139.5]}, "carry_m"),
        ({"club": ["driver", "7-wood"]}, "club"),
        ({"apex_m": [30.0, 25.0]}, "apex_m"),
        ({"player": ["Ann", "Ann"]}, "player"),
        ({"source_row": [1, 2]}, "rows"),
        ({"session_id": ["s", "t"]}, "session_id"),
        ({"struck_at": [datetime(2025, 6, 7, 8, tzinfo=UTC)] * 2}, "struck_at"),
    ],
)
def test_wrong_values_are_wrong(changes: dict[str, Any], column: str) -> None:
    verdict = judge(_shots(**changes), NO_REJECTS, _truth())
    assert verdict.verdict == WRONG
    assert column in [name for name, _ in verdict.wrong]


def test_missing_values_and_rows_are_partly_right() -> None:
    assert judge(_shots(carry_m=[200.0, None]), NO_REJECTS, _truth()).verdict == PARTLY
    assert judge(_shots(struck_at=[None, None]), NO_REJECTS, _truth()).verdict == PARTLY
    assert judge(_shots().head(1), NO_REJECTS, _truth()).verdict == PARTLY
    assert judge(_shots().head(1), NO_REJECTS, _truth(optional_rows=[3])).verdict == RIGHT


def test_a_file_that_is_no_export_must_not_be_loaded() -> None:
    assert judge(_shots(), NO_REJECTS, _truth(outcome=["quarantined"])).verdict == WRONG


def test_a_bad_line_needs_a_reason() -> None:
    truth = _truth(must_reject=[[4, "negative"]], outcome=["loaded-with-rejects"])
    assert judge(_shots(), NO_REJECTS, truth).verdict == WRONG
    told = pl.DataFrame({"source_row": [4], "reason_code": ["out-of-range"]})
    assert judge(_shots(), told, truth).verdict == RIGHT


def test_a_bad_line_that_is_taken_is_wrong_unless_its_column_was_not_read() -> None:
    truth = _truth(must_reject=[[3, "fast"]], source_row=[2], outcome=["loaded-with-rejects"])
    truth["data"] = {name: values[:1] for name, values in truth["data"].items()}
    assert judge(_shots(), NO_REJECTS, truth).verdict == PARTLY
    speeds = {"ball_speed_mps": [60.0, 200.0]}
    truth["data"]["ball_speed_mps"] = [60.0]
    assert judge(_shots(**speeds), NO_REJECTS, truth).verdict == WRONG
