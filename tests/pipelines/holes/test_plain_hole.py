"""A hole in a few numbers."""

from __future__ import annotations

import tomllib

import numpy as np
import pytest
from rangeledger.models.strategy.hole_geometry import Ground
from rangeledger.pipelines.holes.course_file import hole_from_toml
from rangeledger.pipelines.holes.course_words import HoleFileError

PLAIN = """
par = 3
unit = "m"
[plain]
front = 120
back = 144
width = 22
flag = 130
flag_side = -4
bunkers = [[108, 116, -10, 0], [135, 146, 13, 19]]
"""
WRITTEN_OUT = """
par = 3
unit = "m"
[flag]
along = 130
across = -4
[[green]]
oval = { front = 120, back = 144, left = -11, right = 11 }
[[bunker]]
oval = { front = 108, back = 116, left = -10, right = 0 }
[[bunker]]
oval = { front = 135, back = 146, left = 13, right = 19 }
"""
SPOTS = np.stack(np.meshgrid(np.arange(0.0, 200.0, 1.5), np.arange(-60.0, 60.0, 1.5)), axis=-1)


def hole(text: str):
    return hole_from_toml(tomllib.loads(text), "x.toml")


def test_the_plain_form_is_the_hole_that_shapes_write_out() -> None:
    plain, shapes = hole(PLAIN), hole(WRITTEN_OUT)
    assert plain.flag == shapes.flag == (130.0, -4.0)
    np.testing.assert_array_equal(plain.ground(SPOTS), shapes.ground(SPOTS))


def test_what_is_left_out_is_usual_and_shapes_may_stand_beside() -> None:
    text = """
unit = "yd"
[plain]
front = 366
back = 394
width = 26
side = 5
fairway_width = 32
[[water]]
box = { front = 200, back = 230, left = 20, right = 60 }
"""
    found = hole(text)
    assert found.flag == pytest.approx((380 * 0.9144, 5 * 0.9144))
    kinds = {area.ground for area in found.areas}
    assert kinds == {Ground.GREEN, Ground.FAIRWAY, Ground.WATER}
    middle, beside = np.array([250.0, 0.0]) * 0.9144, np.array([250.0, 17.0]) * 0.9144
    assert found.ground(middle) == Ground.FAIRWAY
    assert found.ground(beside) == Ground.ROUGH


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("width = 22", "", "its width is missing"),
        ("width = 22", "widht = 22", "'widht' is not known here"),
        ("front = 120", 'front = "near"', "it is 'near'. Write a number"),
        ("back = 144", "back = 90", "front must be less than back"),
        ("[135, 146, 13, 19]", "[135, 146]", "bunker 2: it is [135, 146]"),
        ("[[108, 116, -10, 0], [135, 146, 13, 19]]", "4", "write a list"),
    ],
)
def test_what_is_wrong_is_named(old: str, new: str, told: str) -> None:
    with pytest.raises(HoleFileError) as fault:
        hole(PLAIN.replace(old, new))
    assert told in str(fault.value)


def test_a_plain_hole_that_is_no_table_is_told() -> None:
    with pytest.raises(HoleFileError, match="write it as a table"):
        hole('unit = "m"\nplain = 3')
