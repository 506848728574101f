"""Drawings of a flight."""

from __future__ import annotations

import xml.etree.ElementTree as ElementTree

import pytest
from rangeledger.models.flight.trajectory import fly_path
from rangeledger.pipelines.output.flight_drawing import svg_views, text_views

SHOTS = [
    (74.5, 11.0, 2.0, 2700.0, -8.0),
    (20.0, 40.0, 0.0, 6000.0, 0.0),
    (60.0, 0.5, 0.0, 1500.0, 0.0),
    (30.0, 80.0, 0.0, 8000.0, 0.0),
]


@pytest.mark.parametrize("shot", SHOTS)
def test_text_has_both_views_and_fits_the_terminal(shot) -> None:
    lines = text_views(fly_path(*shot)).splitlines()
    assert lines[0] == "height [yd]"
    assert "left - right [yd]" in lines
    assert max(map(len, lines)) <= 88
    assert sum("o" in line for line in lines[1:13]) == 1


def test_a_ball_that_curves_left_is_drawn_above_the_line() -> None:
    plan = text_views(fly_path(74.5, 11.0, 0.0, 2700.0, -10.0)).splitlines()[15:22]
    assert "o" in plan[0]


@pytest.mark.parametrize("shot", SHOTS)
def test_svg_is_well_formed_and_inside_its_box(shot) -> None:
    root = ElementTree.fromstring(svg_views(fly_path(*shot)))
    _, _, width, height = map(float, root.attrib["viewBox"].split())
    lines = [e for e in root.iter() if e.tag.endswith("polyline")]
    assert len(lines) == 2
    for line in lines:
        for point in line.attrib["points"].split():
            x, y = map(float, point.split(","))
            assert 0.0 <= x <= width
            assert 0.0 <= y <= height


def test_a_flight_against_a_gale_that_comes_back_is_drawn() -> None:
    path = fly_path(15.0, 70.0, 0.0, 5000.0, wind_speed_mps=25.0)
    assert path.downrange_m[-1] < 0.0
    assert "o" in text_views(path)
    ElementTree.fromstring(svg_views(path))
