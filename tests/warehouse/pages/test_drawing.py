"""The strokes that plots are made of."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET

import numpy as np
import polars as pl
import pytest
from rangeledger.warehouse.pages import drawing as draw
from rangeledger.warehouse.pages.plan_plots import bag_plan
from rangeledger.warehouse.pages.units import METRES


def test_scales_are_straight() -> None:
    scale = draw.Scale(10.0, 20.0, 100.0, 0.0)
    assert scale(10.0) == 100.0
    assert scale(20.0) == 0.0
    np.testing.assert_allclose(scale.many(np.array([12.5, 15.0])), [75.0, 50.0])


@pytest.mark.parametrize(
    ("low", "high", "values"),
    [(0.0, 10.0, [0, 2, 4, 6, 8, 10]), (-3.2, 7.9, [-2, 0, 2, 4, 6]),
     (97.0, 253.0, [100, 150, 200, 250])],
)  # fmt: skip
def test_ticks_are_round(low: float, high: float, values: list[float]) -> None:
    assert draw.ticks(low, high, 6) == pytest.approx(values)


def test_ellipses_have_their_axes_and_turn_right() -> None:
    # Closed form: the end of the longer axis of 10, turned 30 deg to the right.
    points = draw.ellipse_points((1.0, 100.0), (10.0, 4.0), 30.0)
    assert points[0] == pytest.approx((1.0 + 10.0 * 0.5, 100.0 + 10.0 * math.sqrt(0.75)))
    area = 0.5 * abs(
        sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, points[1:] + points[:1], strict=True))
    )
    assert area == pytest.approx(math.pi * 40.0, rel=0.005)


def test_figures_are_well_formed_named_and_escaped() -> None:
    words = '<script>"&'
    picture = draw.figure(
        100, 50, words, words,
        [draw.text(1, 2, words), draw.line(0, 0, 1, 1), draw.diamond(5, 5, draw.ORANGE),
         draw.dots(np.array([1.0]), np.array([2.0]), draw.BLUE),
         draw.crosses(np.array([1.0]), np.array([2.0]), draw.VERMILION)],
    )  # fmt: skip
    tree = ET.fromstring(str(picture))
    assert tree.attrib["role"] == "img"
    assert tree.attrib["aria-label"] == f"{words}. {words}"
    assert tree[0].text == words
    assert "<script" not in str(picture)


def test_a_mark_costs_few_bytes() -> None:
    random = np.random.default_rng(1)
    many = draw.dots(random.uniform(0, 300, 20_000), random.uniform(0, 300, 20_000), draw.BLUE)
    assert len(many) < 20_000 * 16


def test_nothing_to_draw_is_nothing() -> None:
    assert draw.dots(np.array([]), np.array([]), draw.BLUE) == ""
    assert draw.crosses(np.array([]), np.array([]), draw.BLUE) == ""
    assert draw.path([], draw.BLUE) == ""


def test_the_bag_is_drawn_to_one_scale_however_long_it_is() -> None:
    """A circle on the ground is a circle on the page."""
    ellipses = pl.DataFrame(
        {"club": ["driver", "60-wedge"], "swing": "full", "level": 0.8,
         "centre_side_m": 0.0, "centre_carry_m": [230.0, 60.0], "half_axis_long_m": 8.0,
         "half_axis_short_m": 8.0, "angle_deg": 0.0}
    )  # fmt: skip
    picture = ET.fromstring(str(bag_plan(ellipses, METRES)))
    outlines = [path.attrib["d"].strip("MZ") for path in picture.iterfind(".//{*}path")]
    assert len(outlines) == 2
    for outline in outlines:
        points = np.array([pair.split(",") for pair in outline.split()], dtype=float)
        wide, tall = points.max(axis=0) - points.min(axis=0)
        assert wide == pytest.approx(tall, rel=0.01)
