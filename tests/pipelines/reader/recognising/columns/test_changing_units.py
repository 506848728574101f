"""Units that change within one export, and units that a column tells row by row."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.pipelines.reader.recognising.writing import MPH_MPS, YARD_M, launches, prepared

_FIRST, _SECOND = slice(0, 7), slice(7, 14)


def _rows(part: slice, speed: float, length: float) -> list[str]:
    flights = launches(14)
    club = "7 Iron" if part == _FIRST else "Driver"
    columns = zip(
        flights["ball_speed_mps"][part] / speed, flights["launch_angle_deg"][part],
        flights["carry_m"][part] / length, strict=True,
    )  # fmt: skip
    return [f"{club},{v:.2f},{a:.2f},{c:.2f}" for v, a, c in columns]


_HEAD = "Club,Ball speed,Launch (deg),Carry"
_KMH_MPS = 1 / 3.6  # exact, NIST SP 811


@pytest.mark.parametrize(
    "line",
    [
        "*** From here on metric: speed km/h; distance m ***",
        '"Now: speeds in km/h, distances in metres"',
        "Ab hier: Geschwindigkeit in km/h, Strecken in Metern",
    ],
)
def test_a_line_among_the_shots_changes_the_units_below_it(tmp_path: Path, line: str) -> None:
    text = "\n".join([
        "Units: speed mph; distance yards", _HEAD, *_rows(_FIRST, MPH_MPS, YARD_M), line,
        *_rows(_SECOND, _KMH_MPS, 1.0),
    ])  # fmt: skip
    export = prepared(tmp_path, text + "\n")
    flights = launches(14)
    assert export.shots.height == 14
    assert export.shots["ball_speed_mps"].to_list() == pytest.approx(
        flights["ball_speed_mps"].tolist(), abs=0.01
    )
    assert export.shots["carry_m"].to_list() == pytest.approx(flights["carry_m"].tolist(), abs=0.01)


def test_another_row_of_units_among_the_shots_changes_them(tmp_path: Path) -> None:
    text = "\n".join([
        _HEAD, ",mph,deg,yd", *_rows(_FIRST, MPH_MPS, YARD_M), ",km/h,deg,m",
        *_rows(_SECOND, _KMH_MPS, 1.0),
    ])  # fmt: skip
    export = prepared(tmp_path, text + "\n")
    assert export.shots["carry_m"].to_list() == pytest.approx(
        launches(14)["carry_m"].tolist(), abs=0.01
    )


def test_the_same_units_said_again_change_nothing(tmp_path: Path) -> None:
    text = "\n".join([
        "Units: speed mph; distance yards", _HEAD, *_rows(_FIRST, MPH_MPS, YARD_M),
        "Units: speed mph; distance yards", *_rows(_SECOND, MPH_MPS, YARD_M),
    ])  # fmt: skip
    export = prepared(tmp_path, text + "\n")
    assert export.shots["carry_m"].to_list() == pytest.approx(
        launches(14)["carry_m"].tolist(), abs=0.01
    )


def test_a_column_of_units_tells_negative_numbers_too_and_leaves_heights_open(
    tmp_path: Path,
) -> None:
    flights = launches(14)
    rows = []
    for k in range(14):
        unit, metres = ("yd", YARD_M) if k < 7 else ("m", 1.0)
        rows.append(
            f"{'7 Iron' if k < 7 else 'Driver'},{flights['ball_speed_mps'][k] / MPH_MPS:.2f},"
            f"{flights['launch_angle_deg'][k]:.2f},{flights['carry_m'][k] / metres:.2f},"
            f"{flights['carry_side_m'][k] / metres:.2f},{flights['apex_m'][k] / metres:.2f},{unit}"
        )
    head = "Club,Ball speed (mph),Launch (deg),Carry,Side,Max height,dist. unit"
    export = prepared(tmp_path, "\n".join([head, *rows]) + "\n")
    assert export.shots["carry_side_m"].to_list() == pytest.approx(
        flights["carry_side_m"].tolist(), abs=0.01
    )
    assert export.shots["apex_m"].null_count() == 14
    assert any("Max height" in str(remark) for remark in export.remarks)
