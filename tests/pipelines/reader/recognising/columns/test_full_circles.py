"""Directions counted around the full circle, and parts of days and times in their own columns."""

from __future__ import annotations

from pathlib import Path

import pytest
import rangeledger as rl
from rangeledger.pipelines.reader.prepared_export import PreparedExport

SHOT = "Driver,153.{},11.{},2240,237.{},"


def read(folder: Path, headings: str, cells: list[str]) -> PreparedExport:
    """An export of a driver with such last columns."""
    head = f"Club,Ball speed (mph),Launch angle (deg),Spin (rpm),Carry (yd),{headings}"
    rows = [SHOT.format(k, k, k) + cell for k, cell in enumerate(cells)]
    export = folder / "range.csv"
    export.write_text("\n".join([head, *rows]), encoding="utf-8")
    return rl.read_export(export)


@pytest.mark.parametrize(
    "heading",
    ["Start direction (deg)", '"Start direction (0-360°, clockwise, 0 = target)"',
     "Startrichtung (0 bis 360°)", "Launch direction (0..360 deg)"],
)  # fmt: skip
def test_almost_a_full_turn_is_a_little_to_the_left(tmp_path: Path, heading: str) -> None:
    export = read(tmp_path, heading, ["359.5", "1.5", "0.0", "357.25"])
    assert export.shots["launch_direction_deg"].to_list() == [-0.5, 1.5, 0.0, -2.75]
    assert any("from 0 to 360" in str(remark) for remark in export.remarks)


def test_a_direction_across_the_line_is_no_full_circle(tmp_path: Path) -> None:
    export = read(tmp_path, "Start direction (deg)", ["359.5", "1.5", "120.0", "357.25"])
    assert (
        "launch_direction_deg" not in export.shots.columns
        or not (export.shots["launch_direction_deg"] < 0.0).any()
    )


@pytest.mark.parametrize(
    ("headings", "cells", "first"),
    [
        ("year,month,day,hour,minute,second", ["2025,9,4,16,20,1", "2025,9,4,16,20,27"],
         "2025-09-04 16:20:01"),
        ("Tag,Monat,Jahr,Stunde,Minute", ["4,9,2025,16,20", "4,9,2025,16,21"],
         "2025-09-04 16:20:00"),
    ],
)  # fmt: skip
def test_the_parts_of_an_instant_are_put_together(
    tmp_path: Path, headings: str, cells: list[str], first: str
) -> None:
    struck = read(tmp_path, headings, cells).shots["struck_at"]
    local = struck.dt.convert_time_zone("UTC").dt.to_string("%Y-%m-%d %H:%M:%S")
    assert local[0] == first


def test_the_axis_follows_from_total_and_side_spin(tmp_path: Path) -> None:
    # sin 30° = 1/2
    head = "Club,Ball speed (mph),Launch angle (deg),Spin (rpm),Carry (yd),Side spin (rpm, right +)"
    export = tmp_path / "range.csv"
    rows = ["Driver,153.1,11.2,2240,237.1,1120", "Driver,152.1,11.3,2240,236.1,-1120"]
    head = head.replace("Side spin (rpm, right +)", '"Side spin (rpm, right +)"')
    export.write_text("\n".join([head, *rows, "Driver,152.4,11.1,2240,236.4,0"]), encoding="utf-8")
    assert rl.read_export(export).shots["spin_axis_deg"].round(6).to_list() == [30.0, -30.0, 0.0]


def test_a_footnote_holds_for_the_headings_with_its_mark(tmp_path: Path) -> None:
    head = "Club,Ball speed²,Launch (°),Start (°)¹,Spin (rpm),Carry³,Side¹ ³"
    rows = ["Driver,235.4,13.2,3.0,2729,208.9,3.4", "Driver,246.0,11.3,-0.1,2048,214.3,-1.0",
            "Driver,240.0,12.5,0.4,2685,213.0,-0.3"]  # fmt: skip
    notes = ["¹ positive = left of the target line", "² kilometres per hour", "³ metres"]
    export = tmp_path / "range.csv"
    export.write_text("\n".join([head, *rows, *notes]), encoding="utf-8")
    shots = rl.read_export(export).shots
    assert shots["launch_direction_deg"].to_list() == [-3.0, 0.1, -0.4]
    assert shots["carry_side_m"].to_list() == [-3.4, 1.0, 0.3]
    assert shots["ball_speed_mps"][0] == pytest.approx(235.4 / 3.6)
    assert shots["carry_m"][0] == 208.9


def test_totals_short_of_their_carries_are_asked_for(tmp_path: Path) -> None:
    head = "Club,Ball speed (mph),Carry (yd),Total (yd)\n"
    rows = "".join(f"Driver,15{k}.2,23{k}.1,22{k}.4\n" for k in range(6))
    export = tmp_path / "range.csv"
    export.write_text(head + rows, encoding="utf-8")
    with pytest.raises(rl.ExportError, match="headings were swapped"):
        rl.read_export(export)
