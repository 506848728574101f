"""Chance of the fairway against the aim."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from rangeledger.models.clubs.shot_pattern import ShotPattern
from rangeledger.models.flight.day_flight import STILL_AIR, Launch
from rangeledger.models.strategy.aimed_option import Option
from rangeledger.models.strategy.hole_geometry import Area, Ground, Hole
from rangeledger.models.strategy.strokes_surface import ground_grid, strokes_surface
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut
from rangeledger.models.strategy.tee_shot import StockShape, fairway_by_aim, other_shape
from scipy import stats

FAIRWAY = Area(Ground.FAIRWAY, "fairway", shapely.box(50.0, -15.0, 330.0, 15.0))
HOLE = Hole("x", 4, (0.0, 0.0), "tee", (360.0, 0.0), (FAIRWAY,))
SURFACE = strokes_surface(HOLE, ground_grid(HOLE, cell_m=0.5), StrokesToHoleOut.published())
STRAIGHT = Option(
    ShotPattern("driver", "full", "premium", 210.0, 0.0, 8.0, 12.0),
    Launch(66.0, 12.5, 0.0, 2800.0, 0.0),
)


def test_a_straight_pattern_is_a_normal_in_a_strip() -> None:
    # Closed form: the run leaves the side angle alone, so at rest the side is wider by the run.
    table = fairway_by_aim(HOLE, SURFACE, STRAIGHT, STILL_AIR, count=3)
    run = 26.5
    sd = 12.0 * (210.0 + run) / 210.0
    exact = 2.0 * stats.norm.cdf(15.0 / sd) - 1.0
    assert float(table.one[1]) == pytest.approx(exact, abs=0.02)


def test_a_fade_starts_left_and_its_other_shape_ends_left() -> None:
    fade = replace(
        STRAIGHT,
        pattern=replace(STRAIGHT.pattern, side_m=0.0),
        launch=replace(STRAIGHT.launch, launch_direction_deg=-4.0),
    )
    # Closed form: curve 210 tan(4 deg) = 14.68 m to the right, the opposite one ends 29.4 m left.
    assert other_shape(fade) == pytest.approx(-29.37, abs=0.01)


def test_a_two_way_pattern_misses_more_fairways() -> None:
    # Common practice, no source: one shape makes one side of the hole safe.
    fade = replace(STRAIGHT, launch=replace(STRAIGHT.launch, launch_direction_deg=-4.0))
    table = fairway_by_aim(HOLE, SURFACE, fade, STILL_AIR)
    assert table.one.max() > table.both.max() + 0.1
    assert table.one_score.min() < table.both_score.min()


def test_aims_follow_a_line_of_play_that_bends() -> None:
    bent = replace(HOLE, line=((0.0, 0.0), (100.0, 0.0)), flag=(250.0, 200.0))
    table = fairway_by_aim(bent, SURFACE, STRAIGHT, STILL_AIR, count=5)
    # Closed form: 110 m along the second leg, which goes 3 along and 4 across: (166, 88).
    assert float(table.aims_rad[2]) == pytest.approx(np.arctan2(88.0, 166.0), abs=1e-9)


def test_a_player_of_two_curves_has_both_now_and_gains_by_one() -> None:
    # Closed form: the shots of one shape alone are a normal of three fifths of the spread.
    shape = StockShape("fade", 4.0, 0.6)
    table = fairway_by_aim(HOLE, SURFACE, STRAIGHT, STILL_AIR, stock_shape=shape, count=241)
    now = fairway_by_aim(HOLE, SURFACE, STRAIGHT, STILL_AIR, count=241)
    assert table.own_is_both
    assert not now.own_is_both
    np.testing.assert_array_equal(table.both, now.one)
    sd = 0.6 * 12.0 * (210.0 + 26.5) / 210.0
    assert table.one.max() == pytest.approx(2.0 * stats.norm.cdf(15.0 / sd) - 1.0, abs=0.02)
    best = 210.0 * np.tan(table.aims_rad[table.one >= table.one.max() - 0.002].mean())
    assert best == pytest.approx(-4.0, abs=1.0)
