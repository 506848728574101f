"""Main columns that were left aside, and lines that told nothing, are named."""

from __future__ import annotations

from pathlib import Path

import pytest
from rangeledger.pipelines.reader.recognising.tables.silences import unparsed_lines

from tests.pipelines.reader.recognising.writing import clubs, launches, prepared, table


def test_a_main_column_that_is_not_taken_is_named_with_the_reason(tmp_path: Path) -> None:
    flights = launches(10)
    text = table({
        "Club": clubs(10),
        "Ball speed (m/s)": flights["ball_speed_mps"],
        "Launch (deg)": flights["launch_angle_deg"],
        "Carry (m)": flights["carry_m"],
        "Carry at the sponsor's wish (m)": flights["carry_m"] * 1.1,
        "Apex": [f"about {x:.0f} or more" for x in flights["apex_m"]],
    })  # fmt: skip
    remarks = "\n".join(map(str, prepared(tmp_path, text).remarks))
    assert "Carry at the sponsor's wish (m)" in remarks
    assert "'Apex'" in remarks


@pytest.mark.parametrize(
    ("text", "about"),
    [
        ("Units as last week, only the balls differ", "a unit"),
        ("Heights as the mast shows, speeds in mph", "a unit"),
        ("Left of the line we wrote with plus or so", "which side is positive"),
        ("Something of 3 May 2026", "a day"),
        ("Wind as you can hear", "wind"),
        ("We were on the far mats", None),
        ("7 iron, own balls", None),
    ],
)
def test_a_line_that_looks_like_a_statement_is_named(text: str, about: str | None) -> None:
    found = unparsed_lines([(4, text)], parsed=())
    assert [remark.place for remark in found] == (["line 4"] if about else [])
    assert all(f"may speak of {about}" in remark.sentence for remark in found)
    assert not unparsed_lines([(4, text)], parsed={4})


@pytest.mark.parametrize(
    ("line", "heading", "assumed"),
    [
        ("", "Side (m)", True),
        ("", "Side (m) left positive", False),
        ("Side: left is minus", "Side (m)", False),
    ],
)
def test_a_side_that_is_taken_by_custom_is_told(
    tmp_path: Path, line: str, heading: str, assumed: bool
) -> None:
    flights = launches(10)
    text = table({
        "Club": clubs(10),
        "Ball speed (m/s)": flights["ball_speed_mps"],
        "Carry (m)": flights["carry_m"],
        heading: [(-1.0) ** k * (2.0 + k) for k in range(10)],
    })  # fmt: skip
    export = prepared(tmp_path, f"{line}\n{text}" if line else text)
    assert export.shots["carry_side_m"].null_count() == 0
    told = [remark for remark in export.remarks if "as is the custom" in str(remark)]
    assert [repr(heading) in str(remark) for remark in told] == [True] * assumed


def test_sides_that_are_taken_by_custom_are_told_together(tmp_path: Path) -> None:
    flights = launches(10)
    text = table({
        "Club": clubs(10),
        "Ball speed (m/s)": flights["ball_speed_mps"],
        "Direction (deg)": [(-1.0) ** k * (1.0 + k / 5) for k in range(10)],
        "Carry (m)": flights["carry_m"],
        "Side (m)": [(-1.0) ** k * (2.0 + k) for k in range(10)],
    })  # fmt: skip
    told = [str(remark) for remark in prepared(tmp_path, text).remarks]
    assert any("columns 'Direction (deg)' and 'Side (m)' are positive" in one for one in told)
