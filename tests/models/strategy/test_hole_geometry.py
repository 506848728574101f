"""Shapes of a hole."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from rangeledger.models.strategy.hole_geometry import Area, Ground, Hole, hazards_on_line
from rangeledger.schemas.errors import UsageError

GREEN = Area(Ground.GREEN, "green", shapely.Point(150.0, 0.0).buffer(12.0))
POND = Area(Ground.WATER, "pond", shapely.box(100.0, 5.0, 130.0, 30.0))
BUNKER = Area(Ground.BUNKER, "front bunker", shapely.box(134.0, -6.0, 140.0, 3.0))
FAIRWAY = Area(Ground.FAIRWAY, "fairway", shapely.box(60.0, -20.0, 150.0, 20.0))
OUT = Area(Ground.OUT_OF_BOUNDS, "left fence", shapely.box(-100.0, -300.0, 400.0, -40.0))
HOLE = Hole("Alder", 3, (0.0, 0.0), "tee", (150.0, 0.0), (GREEN, POND, BUNKER, FAIRWAY, OUT))


@pytest.mark.parametrize(
    ("spot", "ground"),
    [
        ((10.0, 0.0), Ground.ROUGH),
        ((80.0, 0.0), Ground.FAIRWAY),
        ((110.0, 10.0), Ground.WATER),  # over the fairway
        ((139.5, 0.0), Ground.BUNKER),  # over green and fairway
        ((150.0, 0.0), Ground.GREEN),
        ((150.0, -50.0), Ground.OUT_OF_BOUNDS),
    ],
)
def test_ground_where_shapes_overlap(spot: tuple[float, float], ground: Ground) -> None:
    assert HOLE.ground(spot) == ground


def test_ground_keeps_the_shape_of_its_points() -> None:
    assert HOLE.ground(np.zeros((4, 3, 2))).shape == (4, 3)


def test_carries_over_the_hazards_of_the_flags_line() -> None:
    hazards = {hazard.area.name: hazard for hazard in hazards_on_line(HOLE, 0.0)}
    assert set(hazards) == {"pond", "front bunker"}
    assert hazards["pond"].reach_m == pytest.approx(100.0)
    assert hazards["pond"].clear_m == pytest.approx(130.0)
    assert hazards["front bunker"].clear_m == pytest.approx(140.0)


def test_a_narrow_corridor_misses_what_lies_beside_it() -> None:
    names = [hazard.area.name for hazard in hazards_on_line(HOLE, 0.0, half_width_m=4.0)]
    assert names == ["front bunker"]


def test_only_the_part_inside_the_corridor_counts() -> None:
    corners = [(90, -50), (94, -50), (94, 12), (200, 12), (200, 16), (90, 16)]
    stream = Area(
        Ground.WATER,
        "stream",
        shapely.Polygon(corners),
    )
    (met,) = hazards_on_line(Hole("x", 3, (0.0, 0.0), "tee", (150.0, 0.0), (stream,)), 0.0)
    assert (met.reach_m, met.clear_m) == (pytest.approx(90.0), pytest.approx(94.0))


def test_carries_turn_with_the_line_and_start_at_the_ball() -> None:
    # A square 4 m wide, centred 100 m from a ball at (20, 30) on a line 30 deg to the right.
    turn = np.radians(30.0)
    centre = (20.0 + 100.0 * np.cos(turn), 30.0 + 100.0 * np.sin(turn))
    square = shapely.affinity.rotate(
        shapely.box(centre[0] - 2, centre[1] - 2, centre[0] + 2, centre[1] + 2), 30.0, centre
    )
    hole = Hole("x", 4, (20.0, 30.0), "fairway", (200.0, 30.0), (Area(Ground.BUNKER, "b", square),))
    (met,) = hazards_on_line(hole, turn)
    assert (met.reach_m, met.clear_m) == (pytest.approx(98.0), pytest.approx(102.0))


def test_hazards_behind_the_ball_are_left_out() -> None:
    ahead = HOLE.played_from((145.0, 0.0), "fairway")
    assert hazards_on_line(ahead, 0.0) == []


def test_distance_and_line_to_the_flag() -> None:
    there = HOLE.played_from((150.0, -30.0), "rough")
    assert there.distance_m == pytest.approx(30.0)
    assert there.flag_aim_rad == pytest.approx(np.pi / 2)


def test_spots_follow_the_line_of_play() -> None:
    bent = Hole("Dogleg", 4, (0.0, 0.0), "tee", (300.0, 100.0), (), line=((0, 0), (200.0, 0.0)))
    spot = bent.spot_at_distance_left(120.0)
    assert np.hypot(300.0 - spot[0], 100.0 - spot[1]) == pytest.approx(120.0, abs=0.3)
    assert spot[1] == pytest.approx(spot[0] - 200.0, abs=1e-6)


def test_a_spot_that_is_too_far_is_refused() -> None:
    with pytest.raises(UsageError, match="no spot 400 m"):
        HOLE.spot_at_distance_left(400.0)
