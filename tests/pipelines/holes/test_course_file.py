"""Hole files in TOML and GeoJSON."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from rangeledger.models.strategy.hole_geometry import Ground
from rangeledger.pipelines.holes.course_file import read_hole
from rangeledger.pipelines.holes.course_geojson import laid_flat
from rangeledger.pipelines.holes.course_words import HoleFileError
from shapely.geometry import Point

COURSES = Path(__file__).parents[3] / "sample_exports" / "courses"
PLAIN = """
name = "Plain"
par = 3
unit = "yd"
[flag]
along = 100
across = 5
[green]
oval = { front = 90, back = 112, left = -10, right = 12 }
"""


def written(tmp_path: Path, text: str, name: str = "hole.toml") -> Path:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize("path", sorted(COURSES.iterdir()), ids=lambda path: path.name)
def test_the_worked_examples_are_read(path: Path) -> None:
    hole = read_hole(path)
    assert 100.0 < hole.distance_m < 550.0
    assert hole.ground(hole.flag) == Ground.GREEN
    assert {Ground.GREEN, Ground.OUT_OF_BOUNDS} <= {area.ground for area in hole.areas}


def test_yards_become_metres(tmp_path: Path) -> None:
    hole = read_hole(written(tmp_path, PLAIN))
    assert hole.flag == (pytest.approx(91.44), pytest.approx(4.572))
    (green,) = hole.of(Ground.GREEN)
    assert green.shape.bounds == pytest.approx((82.296, -9.144, 102.4128, 10.9728))
    # Area of an ellipse with half axes 11 and 11 yd, as a polygon of 64 sides.
    assert green.shape.area == pytest.approx(np.pi * (11 * 0.9144) ** 2, rel=0.003)
    assert (hole.ball, hole.lie) == ((0.0, 0.0), "tee")


def test_metres_stay_metres(tmp_path: Path) -> None:
    hole = read_hole(written(tmp_path, PLAIN.replace('"yd"', '"m"')))
    assert hole.flag == (100.0, 5.0)


@pytest.mark.parametrize(
    ("shape", "inside", "outside"),
    [
        ("outline = [[10, 0], [20, 0], [20, 10]]", (18, 2), (11, 8)),
        ("circle = { along = 50, across = 0, radius = 5 }", (54, 0), (56, 0)),
        ("box = { front = 10, back = 20, left = -3, right = 3 }", (15, 2.9), (15, 3.1)),
        ("oval = { front = 10, back = 20, left = -3, right = 3 }", (15, 2.9), (19.5, 2.5)),
        ("right_of = 30", (500, 31), (500, 29)),
        ("left_of = -30\nfrom = 10\nto = 90", (50, -31), (95, -31)),
        ("beyond = 120\nfrom = -20\nto = 20", (121, 0), (121, 25)),
    ],
)
def test_shapes(
    tmp_path: Path, shape: str, inside: tuple[float, float], outside: tuple[float, float]
) -> None:
    text = PLAIN.replace('"yd"', '"m"') + f"[[bunker]]\n{shape}\n"
    (bunker,) = read_hole(written(tmp_path, text)).of(Ground.BUNKER)
    assert bunker.shape.contains(Point(*inside))
    assert not bunker.shape.contains(Point(*outside))


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (("par = 3", "par = 9"), "line 3: par = 9 can't be used; write a whole number from 3 to 6"),
        (('unit = "yd"', ""), 'unit is missing; write unit = "yd" or unit = "m"'),
        (("along = 100", 'along = "far"'),
         "line 6: [flag] along = 'far' can't be used; write a number"),
        (("[flag]", "[pin]"), "line 5: the key 'pin' is not known"),
        (("front = 90", "front = 190"), "front must be less than back"),
        (("left = -10, ", ""), "line 9: [green 1.oval] left is missing"),
        (("oval", "blob"), "line 9: the key 'blob' is not known; known keys are name, outline"),
        (("[green]", "[[bunker]]"), "green is missing; add [plain]"),
        (("par = 3", "par ="), "line 3: not valid TOML"),
        (("[green]", '[ball]\nlie = "hole"\n[green]'),
         "line 9: [ball] lie = 'hole' can't be used; use one of tee"),
        (("[green]", "[[water]]\n[green]"), "water 1: give it exactly one shape"),
        (("[green]", "[[water]]\noutline = [[0, 0], [9, 9], [9, 0], [0, 9]]\n[green]"),
         "its outline is not simple"),
        (("[green]", "[[water]]\noutline = [[0, 0], [9]]\n[green]"),
         "line 9: [water 1] outline 2 = [9] can't be used; write [along, across]"),
        (("[green]", "[[trees]]\nbox = 4\n[green]"),
         "line 9: [trees 1] box = 4 can't be used; write a table in braces"),
        (("[green]", "[[trees]]\nleft_of = 4\nfrom = 9\nto = 2\n[green]"), "'from' must be less"),
    ],
)  # fmt: skip
def test_faults_are_named_with_file_key_and_cure(
    tmp_path: Path, change: tuple[str, str], sentence: str
) -> None:
    path = written(tmp_path, PLAIN.replace(*change))
    with pytest.raises(HoleFileError) as caught:
        read_hole(path)
    assert str(caught.value).startswith("hole.toml")
    assert sentence in str(caught.value)
    assert caught.value.exit_code == 2


def test_files_that_are_none(tmp_path: Path) -> None:
    with pytest.raises(HoleFileError, match="no such file"):
        read_hole(tmp_path / "missing.toml")
    with pytest.raises(HoleFileError, match=r"ends in \.toml or \.geojson"):
        read_hole(written(tmp_path, PLAIN, "hole.txt"))
    latin = tmp_path / "hole.toml"
    latin.write_bytes(b'name = "\xe9"')
    with pytest.raises(HoleFileError, match="not UTF-8"):
        read_hole(latin)


def test_longitudes_and_latitudes_are_laid_flat() -> None:
    # Lengths of a degree on WGS 84 at 45 deg: of latitude 111,131.75 m, of longitude 78,846.81 m
    # (from memory, common geodesy tables).
    north = laid_flat((10.0, 45.0), (10.0, 45.001))
    assert north(np.array([[10.0, 45.001]]))[0] == pytest.approx([111.132, 0.0], abs=2e-3)
    assert north(np.array([[10.001, 45.0]]))[0] == pytest.approx([0.0, 78.847], abs=2e-3)
    east = laid_flat((10.0, 45.0), (10.001, 45.0))
    assert east(np.array([[10.001, 45.0]]))[0] == pytest.approx([78.847, 0.0], abs=2e-3)
    assert east(np.array([[10.0, 45.001]]))[0] == pytest.approx([0.0, -111.132], abs=2e-3)


def test_geojson_hole_keeps_its_plan() -> None:
    # The sample was laid out in metres: 470 m long, a burn from 60 m left to 60 m right of the
    # line between 432 and 441 m, and a bend at (225, -14).
    hole = read_hole(COURSES / "tern_point_12.geojson")
    assert (hole.par, hole.lie) == (5, "tee")
    assert hole.flag == (pytest.approx(470.0, abs=0.05), 0.0)
    (burn,) = hole.of(Ground.WATER)
    assert burn.shape.bounds == pytest.approx((432.0, -60.0, 441.0, 60.0), abs=0.05)
    assert hole.line[1] == pytest.approx((225.0, -14.0), abs=0.05)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"type": "Feature"}, "not a FeatureCollection"),
        ({"features": []}, "kind 'ball' is missing"),
        ({"par": "four"}, "par is 'four'"),
        ({"features": [{"properties": {"kind": "lake"}}]}, "feature 1: its kind is 'lake'"),
        ({"features": [{"properties": {"kind": "green"}, "geometry": {"type": "Point"}}]},
         "a green must be a Polygon"),
        ({"features": [{"properties": {"kind": "flag"},
                        "geometry": {"type": "Point", "coordinates": ["x", 1]}}]},
         "its coordinates can't be read"),
    ],
)  # fmt: skip
def test_faults_of_geojson(tmp_path: Path, change: dict[str, object], sentence: str) -> None:
    tree = json.loads((COURSES / "tern_point_12.geojson").read_text()) | change
    with pytest.raises(HoleFileError, match=r"hole\.geojson") as caught:
        read_hole(written(tmp_path, json.dumps(tree), "hole.geojson"))
    assert sentence in str(caught.value)


def test_broken_json_names_its_line(tmp_path: Path) -> None:
    with pytest.raises(HoleFileError, match="at line 2"):
        read_hole(written(tmp_path, '{\n"type": }', "hole.json"))


@pytest.mark.parametrize(
    ("line", "height_m"),
    [("", 15 * 0.9144), ("height_yd = 20", 18.288), ("height_m = 9", 9.0), ("height_m = 0", 0.0)],
)
def test_trees_have_a_height(tmp_path: Path, line: str, height_m: float) -> None:
    wood = f"[[trees]]\n{line}\nbox = {{ front = 80, back = 90, left = 10, right = 40 }}\n"
    (trees,) = read_hole(written(tmp_path, PLAIN + wood)).of(Ground.TREES)
    assert trees.height_m == pytest.approx(height_m)


@pytest.mark.parametrize("line", ["height_yd = -1", 'height_m = "tall"'])
def test_a_height_that_is_none_is_told(tmp_path: Path, line: str) -> None:
    wood = f"[[trees]]\n{line}\nbox = {{ front = 80, back = 90, left = 10, right = 40 }}\n"
    with pytest.raises(HoleFileError, match="height_"):
        read_hole(written(tmp_path, PLAIN + wood))


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (("along = 100", "along = 1e9"), "yd from the ball"),
        (("along = 100\nacross = 5", "along = 0\nacross = 0"), "the flag is 0 yd from the ball"),
        (("right = 12", "right = 12e6"), "the green lies miles away"),
    ],
)
def test_a_slip_of_the_pen_is_no_hole_of_miles(
    tmp_path: Path, change: tuple[str, str], sentence: str
) -> None:
    with pytest.raises(HoleFileError, match=sentence):
        read_hole(written(tmp_path, PLAIN.replace(*change)))


@pytest.mark.parametrize(
    "change",
    [{"features": 3}, {"features": [3]}, {"features": [{"properties": [], "geometry": 1}]},
     {"features": [{"properties": {"kind": "flag"}, "geometry": "x"}]}],
)  # fmt: skip
def test_a_geojson_of_other_things_is_told(tmp_path: Path, change: dict[str, object]) -> None:
    text = json.dumps({"type": "FeatureCollection"} | change)
    with pytest.raises(HoleFileError):
        read_hole(written(tmp_path, text, "hole.geojson"))


def test_a_unit_that_is_no_word_is_told(tmp_path: Path) -> None:
    with pytest.raises(HoleFileError, match="unit"):
        read_hole(written(tmp_path, PLAIN.replace('"yd"', "[]")))
