"""Headings with the delimiter inside their brackets."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.pipelines.reader.recognising.writing import clubs, launches, prepared, table


def test_what_the_delimiter_parts_in_a_bracket_is_one_heading(tmp_path: Path) -> None:
    flights = launches(14)
    text = table({
        "Club": clubs(14), "Ball speed (m/s)": flights["ball_speed_mps"],
        "Launch (deg)": flights["launch_angle_deg"], "Carry (m)": flights["carry_m"],
        "Side (m; left positive)": -flights["carry_side_m"],
    }, delimiter=";")  # fmt: skip
    export = prepared(tmp_path, text)
    assert export.shots.height == 14
    assert export.shots["carry_side_m"].to_list() == pytest.approx(
        flights["carry_side_m"].tolist(), abs=0.01
    )
