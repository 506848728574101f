"""Columns whose cells hold several values."""

from __future__ import annotations

import polars as pl
import pytest
from rangeledger.pipelines.reader.recognising.columns.parted_cells import part_cells
from rangeledger.pipelines.reader.recognising.words.heading import read_heading


def _parted(heading: str, cells: list[str]) -> list[tuple[str | None, list[str]]]:
    """Column and stripped cells of each part."""
    heads, texts, _ = part_cells([read_heading(heading)], [pl.Series("c0", cells)])
    return [
        (head.best.column if head.best else None, [(c or "").strip() for c in text.to_list()])
        for head, text in zip(heads, texts, strict=True)
    ]


@pytest.mark.parametrize(
    ("heading", "cells", "columns"),
    [
        ("Carry / Total (yd)", ["231 / 244", "229/240"], ["carry_m", "total_m"]),
        ("Ball / club speed (mph)", ["150 / 101"] * 2, ["ball_speed_mps", "clubhead_speed_mps"]),
        ("Carry (m) / Side (m)", ["154 / 3 L", "150 / 2 R"], ["carry_m", "carry_side_m"]),
        ("Launch V/H", ["12.3 / -1.2"] * 2, ["launch_angle_deg", "launch_direction_deg"]),
        ("Launch; Spin", ["12,3; 2450"] * 2, ["launch_angle_deg", "spin_rate_rpm"]),
        ("Spin (back / side)", ["2400 / -200"] * 2, ["back_spin_rpm", "side_spin_rpm"]),
        ("Carry + Roll (m)", ["154+6", "150+7"], ["carry_m", "roll_m"]),
        ("Flug / Gesamt (m)", ["154 / 160"] * 2, ["carry_m", "total_m"]),
        ("Flug und Gesamt (m)", ["154 / 160"] * 2, ["carry_m", "total_m"]),
        ("Volo ed altezza (m)", ["154 / 30"] * 2, ["carry_m", "apex_m"]),
    ],
)
def test_each_value_goes_to_its_own_column(
    heading: str, cells: list[str], columns: list[str]
) -> None:
    assert [column for column, _ in _parted(heading, cells)] == columns


def test_blank_parts_stay_blank() -> None:
    parted = _parted("Carry / Total (yd)", ["231 / 244", "229 / -", "230 / 241", "228/239", "1/2"])
    assert parted[1][1][:3] == ["244", "-", "241"]


@pytest.mark.parametrize(
    ("heading", "cells"),
    [
        ("Date", ["12/05", "13/05"]),
        ("Club", ["7 iron", "6 iron"]),
        ("Carry", ["231 yd", "229 yd"]),
        ("Carry / Apex", ["231", "229"]),
        ("Carry / Target", ["231 / 230", "229 / 230"]),
    ],
)
def test_what_names_no_two_quantities_stays_as_it_is(heading: str, cells: list[str]) -> None:
    assert [found for _, found in _parted(heading, cells)] == [cells]


def test_cells_that_hold_something_else_are_told() -> None:
    cells = ["231 / 244"] * 10 + ["hit the net", "n/a"]
    _, (first, second), remarks = part_cells(
        [read_heading("Carry / Total (yd)")], [pl.Series("c0", cells)]
    )
    assert first[10] is second[10] is None
    assert any("1 of the cells" in one and "'hit the net'" in one for one in remarks)
    assert not any("n/a" in one for one in remarks)
