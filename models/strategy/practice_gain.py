"""What to practise: strokes a round that a club costs beyond what is usual, where that is sure."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import shapely
from rangeledger.models.clubs.shot_pattern import ShotPattern
from rangeledger.models.clubs.usual_spread import ASPECTS, usual_level
from rangeledger.models.flight.day_flight import STILL_AIR, DayFlight, day_flight
from rangeledger.models.strategy.expected_score import score_at_aims
from rangeledger.models.strategy.hole_geometry import Area, Ground, Hole
from rangeledger.models.strategy.shot_needs import (
    DRIVES,
    ClubAndCarry,
    drive_carry,
    strokes_by_club,
)
from rangeledger.models.strategy.strokes_surface import StrokesSurface, ground_grid, strokes_surface
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut
from rangeledger.models.strategy.target_choice import Option

# The places that gains are worked out for, common practice, no source: a round green of 13 m
# radius with the flag in its middle and rough around it, approached from the fairway; and, for the
# longest club, a fairway 30 m wide with trees from 32 m off its middle, 130 m left after the drive.
GREEN_RADIUS_M = 13.0
FAIRWAY_HALF_WIDTH_M = 15.0
TREES_FROM_M = 32.0
LEFT_AFTER_DRIVE_M = 130.0
# Fewer shots, or one session alone, say too little of a spread to advise on it; common practice,
# no source.
LEAST_SHOTS, LEAST_SESSIONS = 10, 2
# Standard errors that an excess must be above nothing: the end of a central 90 % interval.
SURE = 1.645
# So many clubs must be judged before their middle tells of the player.
_OWN_CLUBS = 3
_POINTS = 2000


@dataclass(frozen=True, slots=True)
class PracticeClub:
    """A club and swing with what its model rests on.

    Parameters
    ----------
    option : Option
        Pattern and launch.
    shots, sessions : int
        Shots and sessions behind the pattern [1].
    """

    option: Option
    shots: int
    sessions: int

    @property
    def enough(self) -> bool:
        """Whether the shots say enough of the spread."""
        return self.shots >= LEAST_SHOTS and self.sessions >= LEAST_SESSIONS


@dataclass(frozen=True, slots=True)
class PracticeGain:
    """One thing to practise.

    Parameters
    ----------
    club, swing : str
        What with.
    aspect : str
        `distance`, `direction` or `mishits`.
    excess : float
        How far the spread or the rate lies above the usual one, shrunk by its doubt [1]; 0.25
        is a quarter more.
    uses_a_round : float
        Strokes of a round that the club is for [1].
    strokes_a_stroke : float
        Strokes saved each time the club is used [strokes].
    """

    club: str
    swing: str
    aspect: str
    excess: float
    uses_a_round: float
    strokes_a_stroke: float

    @property
    def strokes_a_round(self) -> float:
        """Strokes saved in a usual round [strokes]."""
        return self.uses_a_round * self.strokes_a_stroke


@dataclass(frozen=True, slots=True)
class PracticeAdvice:
    """What to practise, and what can't be judged yet.

    Parameters
    ----------
    gains : tuple of PracticeGain
        What stands out, the greatest first.
    too_few : tuple of PracticeClub
        Clubs and swings with too few shots or sessions.
    loft_unknown : tuple of PracticeClub
        Clubs whose word says no loft, so that nothing usual is known for them.
    """

    gains: tuple[PracticeGain, ...] = ()
    too_few: tuple[PracticeClub, ...] = ()
    loft_unknown: tuple[PracticeClub, ...] = ()


def practice_advice(clubs: Sequence[PracticeClub], table: StrokesToHoleOut) -> PracticeAdvice:
    """What stands out of a player's clubs, by the strokes of a round that it costs.

    Parameters
    ----------
    clubs : sequence of PracticeClub
        A player's clubs and swings.
    table : StrokesToHoleOut
        Strokes to hole out.

    Returns
    -------
    PracticeAdvice

    Notes
    -----
    The usual spread of a club is the tighter of two: the default for its loft and the player's
    length, and that default times what the player's judged clubs show in the middle. The excess
    over it, ln of the ratio ``e`` with standard error ``s``, counts where its central 90 % interval
    lies above 0, and is shrunk to ``e (1 - s^2 / e^2)``; what is left is taken off the pattern,
    aimed with its centre at the target, and the expected score taken again. A club counts for the
    strokes of a round whose distance it is for (`shot_needs`). No advice where no club
    tells the player's length.

    References
    ----------
    [james1961]
    """
    drive_m = drive_carry([_carry_of(club) for club in clubs])
    named = [club for club in clubs if not math.isnan(_carry_of(club).share_of_drive)]
    judged = [club for club in named if club.enough]
    gains: list[PracticeGain] = []
    if judged:
        ratios = {id(club): _ratios(club, drive_m) for club in judged}
        level = _own_level(list(ratios.values()))
        uses = strokes_by_club([_carry_of(club) for club in clubs], drive_m)
        for club, often in zip(clubs, uses, strict=True):
            if id(club) in ratios and often > 0.0:
                # No other club comes near so many strokes as the one for the tee.
                place = _tee(table) if often >= DRIVES else _approach(table)
                gains += _gains_of(club, ratios[id(club)], level, place, often)
    return PracticeAdvice(
        tuple(sorted(gains, key=lambda gain: -gain.strokes_a_round)),
        tuple(club for club in named if not club.enough),
        tuple(club for club in clubs if club not in named),
    )


def lessened(pattern: ShotPattern, aspect: str, factor: float) -> ShotPattern:
    """The pattern with one aspect made smaller.

    Parameters
    ----------
    pattern : ShotPattern
        As it is now.
    aspect : str
        `distance`, `direction` or `mishits`.
    factor : float
        What its spread or rate is multiplied with [1].

    Returns
    -------
    ShotPattern
    """
    if aspect == "distance":
        return replace(pattern, carry_sd_m=factor * pattern.carry_sd_m)
    if aspect == "direction":
        return replace(
            pattern,
            side_sd_m=factor * pattern.side_sd_m,
            mishit_side_scale_m=factor * pattern.mishit_side_scale_m,
        )
    return replace(pattern, mishit_rate=factor * pattern.mishit_rate)


def shrunk_excess(ratio: float, usual: float, standard_error: float) -> float:
    """How far a ratio lies above the usual one, less what chance explains.

    Parameters
    ----------
    ratio, usual : float
        Spread or rate against the default, of the club and as usual [1], > 0.
    standard_error : float
        Standard error of ln ratio [1].

    Returns
    -------
    float
        Shrunk ln excess [1], 0 where its central 90 % interval reaches down to the usual.
    """
    excess = math.log(ratio / usual)
    if excess <= SURE * standard_error:
        return 0.0
    return excess * (1.0 - (standard_error / excess) ** 2)


def _carry_of(club: PracticeClub) -> ClubAndCarry:
    pattern = club.option.pattern
    return ClubAndCarry(pattern.club, pattern.swing, pattern.carry_m)


def _ratios(club: PracticeClub, drive_m: float) -> dict[str, float]:
    """Spreads and rate of a club against the defaults for its loft and the player's length."""
    pattern = club.option.pattern
    usual = usual_level(pattern.club, pattern.swing, pattern.carry_m, drive_m)
    now = {
        "distance": pattern.carry_sd_m / pattern.carry_m,
        "direction": pattern.side_sd_m / pattern.carry_m,
        "mishits": max(pattern.mishit_rate, 1e-6),
    }
    return {aspect: now[aspect] / usual[aspect] for aspect in ASPECTS}


def _own_level(ratios: Sequence[Mapping[str, float]]) -> dict[str, float]:
    """The usual against the defaults: what the player's clubs show, never more than the default."""
    if len(ratios) < _OWN_CLUBS:
        return dict.fromkeys(ASPECTS, 1.0)
    middles = {aspect: np.median([ratio[aspect] for ratio in ratios]) for aspect in ASPECTS}
    return {aspect: min(float(middle), 1.0) for aspect, middle in middles.items()}


@dataclass(frozen=True, slots=True)
class _Place:
    """A surface about a target; the ball lies so far back that the stock shot rests on it."""

    surface: StrokesSurface
    target_along_m: float


def _gains_of(
    club: PracticeClub,
    ratios: Mapping[str, float],
    level: Mapping[str, float],
    place: _Place,
    uses: float,
) -> list[PracticeGain]:
    """What bringing one club and swing to the usual would gain."""
    pattern, gains = club.option.pattern, []
    day = day_flight(club.option.launch, STILL_AIR)
    now: float | None = None
    for aspect in ASPECTS:
        excess = shrunk_excess(ratios[aspect], level[aspect], _doubt(pattern, aspect))
        if excess == 0.0:
            continue
        now = _score(pattern, day, place) if now is None else now
        saved = now - _score(lessened(pattern, aspect, math.exp(-excess)), day, place)
        if saved > 0.0:
            more = math.expm1(excess)
            gains.append(PracticeGain(pattern.club, pattern.swing, aspect, more, uses, saved))
    return gains


def _doubt(pattern: ShotPattern, aspect: str) -> float:
    """Standard error of ln spread, or of ln rate [1]."""
    if aspect == "mishits":
        rate = max(pattern.mishit_rate, 1e-6)
        return math.sqrt((1.0 - rate) / (rate * pattern.worth_shots))
    return 1.0 / math.sqrt(2.0 * pattern.degrees_of_freedom)


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
