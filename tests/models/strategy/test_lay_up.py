"""Going for the green or laying up."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from rangeledger.models.clubs.shot_pattern import ShotPattern
from rangeledger.models.flight.day_flight import STILL_AIR, Launch
from rangeledger.models.strategy.aimed_option import Option
from rangeledger.models.strategy.hole_geometry import Area, Ground, Hole
from rangeledger.models.strategy.lay_up import GoOrLayUp, go_or_lay_up
from rangeledger.models.strategy.strokes_surface import ground_grid
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut

TABLE = StrokesToHoleOut.published()
LENGTH = 460.0
FAIRWAY = Area(Ground.FAIRWAY, "fairway", shapely.box(50.0, -18.0, 445.0, 18.0))
GREEN = Area(Ground.GREEN, "green", shapely.Point(LENGTH, 0.0).buffer(14.0))
MOAT = Area(Ground.WATER, "moat", shapely.box(400.0, -80.0, 446.0, 80.0))


def club(name: str, carry_m: float, speed: float, angle: float, spin: float) -> Option:
    pattern = ShotPattern(
        name, "full", "premium", carry_m, 0.0, 0.05 * carry_m, 0.06 * carry_m,
        0.0, 1.5, 1.5, 25.0, 0.08, 0.18 * carry_m, 0.05, 0.1 * carry_m,
    )  # fmt: skip
    return Option(pattern, Launch(speed, angle, 0.0, spin, 0.0))


BAG = [
    club("3-wood", 205.0, 64.0, 11.0, 3600.0),
    club("7-iron", 140.0, 51.0, 17.0, 6800.0),
    club("pitching-wedge", 105.0, 42.0, 25.0, 8800.0),
]


def verdicts(*areas: Area) -> dict[int, str]:
    hole = Hole("x", 5, (0.0, 0.0), "tee", (LENGTH, 0.0), (FAIRWAY, GREEN, *areas))
    found = played(hole, 216.0, 280.0)
    return {round(entry.distance_m): entry.verdict for entry in found}


def played(hole: Hole, *distances_m: float) -> list[GoOrLayUp]:
    spots = [hole.played_from((LENGTH - far, 0.0), "fairway") for far in distances_m]
    grid = ground_grid(hole, reach_m=500.0)
    return go_or_lay_up(spots, BAG, TABLE, STILL_AIR, grid=grid)


def test_open_ground_says_go_and_a_green_out_of_reach_says_lay_up() -> None:
    # Common practice, no source.
    assert verdicts() == {216: "go", 280: "lay up"}


def test_a_moat_says_lay_up() -> None:
    # Common practice, no source: a long club that must carry water all the way to the green.
    assert verdicts(MOAT)[216] == "lay up"


def test_both_ways_are_reported_with_their_interval() -> None:
    hole = Hole("x", 5, (0.0, 0.0), "tee", (LENGTH, 0.0), (FAIRWAY, GREEN))
    (entry,) = played(hole, 205.0)
    assert entry.go is not None
    assert entry.lay_up is not None
    assert entry.going_gains is not None
    assert entry.go.option.pattern.club == "3-wood"
    gained = entry.lay_up.score - entry.go.score
    assert entry.going_gains.strokes == pytest.approx(gained)
    assert entry.going_gains.low <= gained <= entry.going_gains.high


def test_what_a_lay_up_leaves_is_what_its_carry_and_run_leave() -> None:
    hole = Hole("x", 5, (0.0, 0.0), "tee", (LENGTH, 0.0), (FAIRWAY, GREEN))
    (entry,) = played(hole, 205.0)
    assert entry.lay_up is not None
    short = entry.lay_up
    along = (short.carry_m + short.run_m) * np.cos(short.land_rad)
    assert entry.lay_up_leaves_m == pytest.approx(205.0 - along, abs=0.2)
