"""Main columns that were left aside, and lines that told nothing, are named."""

from __future__ import annotations

from pathlib import Path

import pytest
from rangeledger.pipelines.reader.recognising.silences import unparsed_lines

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
