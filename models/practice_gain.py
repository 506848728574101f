"""What practice would gain: strokes a round saved by a better pattern with one club and swing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import shapely

from models.day_flight import STILL_AIR, DayFlight, day_flight
from models.expected_score import score_at_aims
from models.hole_geometry import Area, Ground, Hole
from models.shot_pattern import ShotPattern
from models.strokes_surface import StrokesSurface, ground_grid, strokes_surface
from models.strokes_to_hole_out import StrokesToHoleOut
from models.target_choice import Option

# The places that gains are worked out for, common practice, no source: a round green of 13 m
# radius with the flag in its middle and rough around it, approached from the fairway; and, for the
# longest club, a fairway 30 m wide with trees from 32 m off its middle, 130 m left after the drive.
GREEN_RADIUS_M = 13.0
FAIRWAY_HALF_WIDTH_M = 15.0
TREES_FROM_M = 32.0
LEFT_AFTER_DRIVE_M = 130.0
# Strokes of a round, common practice, no source: drives, full swings to a green, part swings.
DRIVES, APPROACHES, PART_SWINGS = 12.0, 16.0, 6.0
# How much practice is taken to achieve: a quarter off a spread, half the mishits.
SPREAD_LEFT, MISHITS_LEFT = 0.75, 0.5
_POINTS = 2000


@dataclass(frozen=True, slots=True)
class PracticeGain:
    """One thing to practise.

    Parameters
    ----------
    club, swing : str
        What with.
    aspect : str
        `distance`, `direction` or `mishits`.
    strokes_a_stroke : float
        Strokes saved each time the club is used [strokes].
    strokes_a_round : float
        Strokes saved in a usual round [strokes].
    """

    club: str
    swing: str
    aspect: str
    strokes_a_stroke: float
    strokes_a_round: float


def practice_gains(options: Sequence[Option], table: StrokesToHoleOut) -> list[PracticeGain]:
    """Strokes saved by each improvement of each club and swing, the greatest first.

    Parameters
    ----------
    options : sequence of Option
        A player's clubs and swings.
    table : StrokesToHoleOut
        Strokes to hole out.

    Returns
    -------
    list of PracticeGain

    Notes
    -----
    Each pattern is aimed so that its centre comes to rest on the target; then the spread along or
    across is cut by a quarter, or the mishits are halved, and the expected score taken again. The
    uses a round are shared evenly among the clubs and swings of a kind.
    """
    if not options:
        return []
    longest = max(options, key=lambda option: option.pattern.carry_m)
    part = [option for option in options if option.pattern.swing != "full"]
    full = [option for option in options if option.pattern.swing == "full"]
    approach, tee = _approach(table), _tee(table)
    gains = []
    for option in options:
        if option is longest:
            uses, place = DRIVES, tee
        elif option in part:
            uses, place = PART_SWINGS / len(part), approach
        else:
            uses, place = APPROACHES / max(len(full) - 1, 1), approach
        gains += _gains_of(option, place, uses)
    return sorted(gains, key=lambda gain: -gain.strokes_a_round)


def improved(pattern: ShotPattern, aspect: str) -> ShotPattern:
    """The pattern after practice of one aspect.

    Parameters
    ----------
    pattern : ShotPattern
        As it is now.
    aspect : str
        `distance`, `direction` or `mishits`.

    Returns
    -------
    ShotPattern
    """
    if aspect == "distance":
        return replace(pattern, carry_sd_m=SPREAD_LEFT * pattern.carry_sd_m)
    if aspect == "direction":
        return replace(
            pattern,
            side_sd_m=SPREAD_LEFT * pattern.side_sd_m,
            mishit_side_scale_m=SPREAD_LEFT * pattern.mishit_side_scale_m,
        )
    return replace(pattern, mishit_rate=MISHITS_LEFT * pattern.mishit_rate)


@dataclass(frozen=True, slots=True)
class _Place:
    """A surface about a target; the ball lies so far back that the stock shot rests on it."""

    surface: StrokesSurface
    target_along_m: float


def _gains_of(option: Option, place: _Place, uses: float) -> list[PracticeGain]:
    """Gains of one club and swing."""
    day = day_flight(option.launch, STILL_AIR)
    now = _score(option.pattern, day, place)
    pattern = option.pattern
    gains = []
    for aspect in ("distance", "direction", "mishits"):
        saved = now - _score(improved(pattern, aspect), day, place)
        gains.append(PracticeGain(pattern.club, pattern.swing, aspect, saved, uses * saved))
    return gains


def _score(pattern: ShotPattern, day: DayFlight, place: _Place) -> float:
    """Expected score of a pattern aimed with its centre at the target."""
    points, weights = pattern.points(_POINTS)
    aim = np.array([-np.arctan2(pattern.side_m, pattern.carry_m)])
    rest = float(np.hypot(pattern.carry_m, pattern.side_m)) + float(day.run_m[0])
    ball = (place.target_along_m - rest, 0.0)
    table = score_at_aims(place.surface, ball, points[None], weights, day.run_m, aim)
    return float(table.score[0])


@lru_cache(maxsize=4)
def _approach(table: StrokesToHoleOut) -> _Place:
    """A green about the origin, and room for the shortest mishits before it."""
    green = Area(
        Ground.GREEN, "green", shapely.Point(0.0, 0.0).buffer(GREEN_RADIUS_M, quad_segs=16)
    )
    hole = Hole("approach", 3, (-220.0, 0.0), "fairway", (0.0, 0.0), (green,))
    return _Place(strokes_surface(hole, ground_grid(hole), table), 0.0)


@lru_cache(maxsize=4)
def _tee(table: StrokesToHoleOut) -> _Place:
    """A fairway with trees on both sides; the drive's target is the origin."""
    half, far = FAIRWAY_HALF_WIDTH_M, 120.0
    mown = Area(Ground.FAIRWAY, "fairway", shapely.box(-140.0, -half, LEFT_AFTER_DRIVE_M, half))
    woods = [
        Area(Ground.TREES, "trees", shapely.box(-300.0, side * TREES_FROM_M, far, side * far))
        for side in (-1.0, 1.0)
    ]
    flag = (LEFT_AFTER_DRIVE_M, 0.0)
    hole = Hole("drive", 4, (-260.0, 0.0), "tee", flag, (mown, *woods))
    return _Place(strokes_surface(hole, ground_grid(hole), table), 0.0)
