"""Cost of finishing in each cell, water and relief."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from rangeledger.models.strategy.hole_geometry import Area, Ground, Hole
from rangeledger.models.strategy.strokes_surface import ground_grid, strokes_surface
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut

TABLE = StrokesToHoleOut.published()


def cost(hole: Hole, spot: tuple[float, float]) -> float:
    surface = strokes_surface(hole, ground_grid(hole), TABLE)
    return float(surface.strokes.ravel()[surface.grid.index(np.array(spot))])


def hole_with(*areas: Area) -> Hole:
    return Hole("x", 3, (0.0, 0.0), "tee", (150.0, 0.0), areas)


def table(distance_m: float, lie: str) -> float:
    return float(TABLE.strokes(distance_m, lie))


def test_dry_ground_costs_what_the_table_says() -> None:
    green = Area(Ground.GREEN, "green", shapely.Point(150.0, 0.0).buffer(12.0))
    bunker = Area(Ground.BUNKER, "b", shapely.box(120.0, 10.0, 130.0, 20.0))
    hole = hole_with(green, bunker)
    assert cost(hole, (142.0, 0.0)) == pytest.approx(table(8.0, "green"))
    assert cost(hole, (126.0, 17.0)) == pytest.approx(table(np.hypot(24, 17), "sand"))
    assert cost(hole, (100.0, 0.0)) == pytest.approx(table(50.0, "rough"))


def test_out_of_bounds_is_left_to_the_replay() -> None:
    hole = hole_with(Area(Ground.OUT_OF_BOUNDS, "out", shapely.box(100.0, -200.0, 140.0, -20.0)))
    assert cost(hole, (120.0, -40.0)) == 0.0


def test_water_before_the_green_is_one_penalty_and_a_drop_before_it() -> None:
    # Rules of Golf 17.1d(2): on the line from the hole through the point last crossed, here
    # straight back to the near edge at 100 m, 50 m from the hole.
    hole = hole_with(Area(Ground.WATER, "pond", shapely.box(100.0, -30.0, 130.0, 30.0)))
    near_edge = 1.0 + table(50.0, "rough")
    assert cost(hole, (120.0, 0.0)) == pytest.approx(near_edge, abs=0.02)


def test_a_drop_on_fairway_is_played_from_fairway() -> None:
    pond = Area(Ground.WATER, "pond", shapely.box(100.0, -30.0, 130.0, 30.0))
    mown = Area(Ground.FAIRWAY, "fairway", shapely.box(60.0, -30.0, 140.0, 30.0))
    expected = 1.0 + table(50.0, "fairway")
    assert cost(hole_with(pond, mown), (120.0, 0.0)) == pytest.approx(expected, abs=0.02)


def test_back_on_the_line_must_leave_all_of_the_water() -> None:
    # From (0, 0) to rest at (135, 10): crossed the side y = 8 at x = 108. The line from the flag
    # (150, 0) through (108, 8) runs back inside the pond until x = 40, y = 20.95.
    pond = shapely.box(40.0, 8.0, 140.0, 60.0)
    yellow = hole_with(Area(Ground.WATER, "pond", pond))
    far = 1.0 + table(np.hypot(110.0, 20.95), "rough")
    again = 1.0 + table(150.0, "tee")
    assert cost(yellow, (135.0, 10.0)) == pytest.approx(min(far, again), abs=0.02)
    red = hole_with(Area(Ground.WATER, "pond", pond, lateral=True))
    beside = 1.0 + table(np.hypot(42.0, 8.0), "rough")
    # The crossing is found on 1 m cells along a flat angle: up to 7 m either way along the edge.
    assert cost(red, (135.0, 10.0)) == pytest.approx(beside, abs=0.05)


def test_red_area_is_dropped_within_two_club_lengths_of_the_crossing() -> None:
    # The ball starts at (0, 0) and rests at (120, 30): it crossed the near side y = 20 at x = 80.
    hole = hole_with(Area(Ground.WATER, "pond", shapely.box(60.0, 20.0, 140.0, 60.0), lateral=True))
    crossing = np.hypot(150.0 - 80.0, 20.0)
    expected = 1.0 + table(crossing, "rough")
    assert cost(hole, (120.0, 30.0)) == pytest.approx(expected, abs=0.03)


def test_playing_again_caps_the_cost_of_water() -> None:
    # The only way back on the line from a pond that begins at the ball is the ball's own spot.
    hole = hole_with(Area(Ground.WATER, "lake", shapely.box(2.0, -70.0, 130.0, 70.0)))
    assert cost(hole, (125.0, 0.0)) <= 1.0 + table(150.0, "tee") + 1e-9


def test_raster_reaches_the_longest_shot() -> None:
    grid = ground_grid(hole_with(), reach_m=400.0)
    assert grid.centres[-1, 0, 0] >= 400.0
    assert grid.centres[0, 0, 0] <= -60.0
