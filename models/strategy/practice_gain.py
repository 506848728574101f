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
from rangeledger.models.population import POPULATION
from rangeledger.models.statistics.many_questions import discoveries
from rangeledger.models.strategy.aimed_option import Option
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
from scipy import special

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
# Where nothing stands out, anything is named for this share of players at most, all clubs and
# aspects of a player asked together.
FALSE_RATE = 0.10
# A spread of n shots is off by sqrt((kurtosis - 1) / 4 n), and strikes are no normals; mishits come
# in runs, of which so many count as one. Tuned on the makes of players kept for that.
KURTOSIS = 6.0
MISHIT_RUN = 1.5
# Shots far off look like mishits where a player's clean strikes have heavy tails: what all clubs
# show up to twice the usual is taken for that, and only what a club has beyond it counts.
MISHIT_ALLOWANCE = 2.0
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
    side_measured : bool
        Whether any shot had a side; without, its direction is the population's.
    """

    option: Option
    shots: int
    sessions: int
    side_measured: bool = True

    @property
    def enough(self) -> bool:
        """Whether the shots say enough of the spread."""
        return self.shots >= LEAST_SHOTS and self.sessions >= LEAST_SESSIONS

    @property
    def measured(self) -> tuple[str, ...]:
        """Aspects that were measured."""
        return tuple(a for a in ASPECTS if a != "direction" or self.side_measured)


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
    probability : float
        Chance that a player who is as usual shows so much with this club by luck [1].
    """

    club: str
    swing: str
    aspect: str
    excess: float
    uses_a_round: float
    strokes_a_stroke: float
    probability: float = 0.0

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
    over it, ln of the ratio ``e`` with standard error ``s``, is one question of all that are asked
    of the player (clubs times aspects that were measured); those are told that keep the rate of
    wrong ones to 10 % (`discoveries`). It is shrunk to ``e (1 - s^2 / e^2)``; what is left is taken
    off the pattern, aimed with its centre at the target, and the expected score taken again. A club
    counts for the strokes of a round whose distance it is for (`shot_needs`). No advice where no
    club tells the player's length.

    References
    ----------
    [james1961]
    """
    drive_m = drive_carry([_carry_of(club) for club in clubs])
    known_clubs = [club for club in clubs if not math.isnan(_carry_of(club).share_of_drive)]
    judged = [club for club in known_clubs if club.enough]
    gains: list[PracticeGain] = []
    if judged:
        found = excesses(judged, drive_m)
        uses = strokes_by_club([_carry_of(club) for club in clubs], drive_m)
        for club, often in zip(clubs, uses, strict=True):
            if club.enough and often > 0.0:
                # No other club comes near so many strokes as the one for the tee.
                place = _tee(table) if often >= DRIVES else _approach(table)
                gains += _gains_of(club, [e for e in found if e.club is club], place, often)
    return PracticeAdvice(
        tuple(sorted(gains, key=lambda gain: -gain.strokes_a_round)),
        tuple(club for club in known_clubs if not club.enough),
        tuple(club for club in clubs if club not in known_clubs),
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


@dataclass(frozen=True, slots=True)
class Excess:
    """What stands out of one club in one aspect.

    Parameters
    ----------
    club : PracticeClub
        Which club.
    aspect : str
        `distance`, `direction` or `mishits`.
    log_ratio : float
        ln of the spread or rate over the usual one, less what chance explains [1].
    probability : float
        Chance of so much where there is nothing [1].
    """

    club: PracticeClub
    aspect: str
    log_ratio: float
    probability: float


def excesses(clubs: Sequence[PracticeClub], drive_m: float) -> list[Excess]:
    """What stands out of all that is asked of a player.

    Parameters
    ----------
    clubs : sequence of PracticeClub
        Clubs with enough shots and a known loft.
    drive_m : float
        Carry of the player's drive [m].

    Returns
    -------
    list of Excess
        Those told at the stated rate of wrong ones.
    """
    ratios = [_ratios(club, drive_m) for club in clubs]
    level = _own_level(ratios)
    questions = []
    for club, ratio in zip(clubs, ratios, strict=True):
        for aspect in club.measured:
            log_ratio = math.log(ratio[aspect] / level[aspect])
            error = _doubt(club, aspect)
            chance = float(special.ndtr(-log_ratio / error))
            questions.append(Excess(club, aspect, shrunk_excess(log_ratio, error), chance))
    answers = discoveries(np.array([question.probability for question in questions]), FALSE_RATE)
    return [question for question, discovered in zip(questions, answers, strict=True) if discovered]


def shrunk_excess(log_ratio: float, standard_error: float) -> float:
    """An excess less what chance explains.

    Parameters
    ----------
    log_ratio : float
        ln of the spread or rate over the usual one [1].
    standard_error : float
        Its standard error [1].

    Returns
    -------
    float
        Shrunk ln excess [1], 0 where it is no more than its error.
    """
    if log_ratio <= standard_error:
        return 0.0
    return log_ratio * (1.0 - (standard_error / log_ratio) ** 2)


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
    return {aspect: now[aspect] / usual[aspect] for aspect in club.measured}


def _own_level(ratios: Sequence[Mapping[str, float]]) -> dict[str, float]:
    """The usual against the defaults: what the player's clubs show in the middle.

    Never more than the default, but for mishits.
    """
    if len(ratios) < _OWN_CLUBS:
        return dict.fromkeys(ASPECTS, 1.0)
    shown = {aspect: [r[aspect] for r in ratios if aspect in r] for aspect in ASPECTS}
    level = {
        aspect: float(np.median(values)) if len(values) >= _OWN_CLUBS else 1.0
        for aspect, values in shown.items()
    }
    usual = {aspect: min(value, 1.0) for aspect, value in level.items()}
    return usual | {"mishits": min(max(level["mishits"], 1.0), MISHIT_ALLOWANCE)}


@dataclass(frozen=True, slots=True)
class _Place:
    """A surface about a target; the ball lies so far back that the stock shot rests on it."""

    surface: StrokesSurface
    target_along_m: float


def _gains_of(
    club: PracticeClub, found: Sequence[Excess], place: _Place, uses: float
) -> list[PracticeGain]:
    """What bringing one club and swing to the usual would gain."""
    pattern, gains = club.option.pattern, []
    day = day_flight(club.option.launch, STILL_AIR)
    now: float | None = None
    for one in found:
        now = _score(pattern, day, place) if now is None else now
        less = lessened(pattern, one.aspect, math.exp(-one.log_ratio))
        saved = now - _score(less, day, place)
        if saved > 0.0:
            more = math.expm1(one.log_ratio)
            name = pattern.club, pattern.swing, one.aspect
            gains.append(PracticeGain(*name, more, uses, saved, one.probability))
    return gains


def _doubt(club: PracticeClub, aspect: str) -> float:
    """Standard error of ln spread, or of ln rate, of a club that is as usual [1].

    The estimate leans on the defaults, which moves it less than the club's own shots say.
    """
    pattern = club.option.pattern
    if aspect == "mishits":
        own = max(pattern.worth_shots - POPULATION.club_mishit_weight, 1.0)
        rate = POPULATION.mishit_rate
        error = math.sqrt(MISHIT_RUN * (1.0 - rate) / (rate * own))
        return error * own / pattern.worth_shots
    if math.isinf(pattern.degrees_of_freedom):
        return 1e-6
    own = max(club.shots * (1.0 - pattern.mishit_rate) - club.sessions, 1.0)
    error = math.sqrt((KURTOSIS - 1.0) / (4.0 * own))
    return error * own / (own + POPULATION.club_spread_weight)


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
