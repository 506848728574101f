"""Winds whose export says itself how it counts them."""

from __future__ import annotations

from pathlib import Path

import pytest
import rangeledger as rl
from rangeledger.pipelines.reader.prepared_export import PreparedExport

SHOTS = """1;7-iron;118.2;17.0;6400;163.1;3;20
2;7-iron;117.2;17.5;6300;161.5;3;20
3;7-iron;119.1;16.8;6500;164.2;4;25
4;7-iron;116.9;17.2;6450;160.9;4;25
"""
UNITS = ";;mph;deg;rpm;yd;m/s;\n"


def read(folder: Path, heading: str, above: str = "") -> PreparedExport:
    """An export of four shots with a column of the wind's direction."""
    export = folder / "range.csv"
    headings = f"Shot;Club;Ball speed;Launch angle;Total spin;Carry;Wind speed;{heading}\n"
    export.write_text(f"Date;6 June 2026\n{above}{headings}{UNITS}{SHOTS}", encoding="utf-8")
    return rl.read_export(export)


@pytest.mark.parametrize(
    ("heading", "above", "origins"),
    [
        ("Wind from (deg)", "", [20.0, 25.0]),
        ("Wind dir (deg, 0 = tailwind)", "", [200.0, 205.0]),
        ("Wind direction (deg)", "Wind directions: 0 = tailwind\n", [200.0, 205.0]),
        ("Wind from (deg)", "Wind angles turn anticlockwise, 0 is in the face\n", [335.0, 340.0]),
    ],
)
def test_winds_are_told_clockwise_from_the_target(
    tmp_path: Path, heading: str, above: str, origins: list[float]
) -> None:
    shots = read(tmp_path, heading, above).shots
    assert sorted(shots["wind_from_deg"].unique().to_list()) == origins


@pytest.mark.parametrize(
    ("heading", "above"),
    [
        ("Wind direction (deg)", ""),
        ("Wind from (deg)", "Wind directions: 0 = away from the golfer\n"),
        ("Wind direction, where it blows to (deg)", ""),
    ],
)
def test_a_wind_whose_count_is_not_clear_is_left_out_with_a_word(
    tmp_path: Path, heading: str, above: str
) -> None:
    export = read(tmp_path, heading, above)
    assert export.shots["wind_from_deg"].is_null().all()
    assert any(repr(heading) in str(remark) for remark in export.remarks)


def test_a_count_beside_a_stated_wind_is_no_wind_itself(tmp_path: Path) -> None:
    above = "Wind from;205 deg\nWind directions: 0 = tailwind, 90 = from the left\n"
    shots = read(tmp_path, "Remark", above).shots
    assert shots["wind_from_deg"].unique().to_list() == [25.0]


@pytest.mark.parametrize(
    "line",
    [
        "Wind: headwind 4 m/s in the morning, tailwind 6 m/s later",
        "Headwind 4 m/s, later tailwind 6 m/s",
        "Wind: 3 m/s headwind at nine, 5 m/s headwind at eleven",
    ],
)
def test_of_two_winds_in_a_line_none_is_taken_and_that_is_told(tmp_path: Path, line: str) -> None:
    export = read(tmp_path, "Remark", f"{line}\n".replace(";", ","))
    shots = export.shots
    assert shots["wind_from_deg"].is_null().all()
    assert any("more than one wind" in str(remark) for remark in export.remarks)
