"""Where to aim with which club: the choice of a target by expected score."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from rangeledger.models.arrays import FloatArray
from rangeledger.models.clubs.shot_pattern import ShotPattern
from rangeledger.models.flight.day_flight import Conditions, DayFlight, Launch, day_flight
from rangeledger.models.flight.flight_height import height_profile
from rangeledger.models.strategy.expected_score import (
    NO_HEIGHTS,
    AimTable,
    landings_at_aims,
    score_at_aims,
    score_exactly,
)
from rangeledger.models.strategy.hole_geometry import Ground, HazardOnLine, Hole, hazards_on_line
from rangeledger.models.strategy.strokes_surface import (
    GroundGrid,
    StrokesSurface,
    ground_grid,
    strokes_surface,
)
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut
from rangeledger.schemas.errors import NotEnoughShotsError

# Aims searched: to this far either side of the flag's line, measured at the stock carry.
_AIM_HALF_WIDTH_M = 40.0
_LEAST_HALF_ANGLE_RAD = np.radians(4.0)
_MOST_HALF_ANGLE_RAD = np.radians(30.0)
_FINE_AIMS = 9
_DRAW_POINTS = 400
# Aims that cost no more than this above the best are called as good [strokes].
AS_GOOD_STROKES = 0.02


@dataclass(frozen=True, slots=True)
class Effort:
    """How finely to search: aims of the grid, points a pattern, points at last, plausible models.

    The search on the raster needs only differences between aims; the score that is told is
    worked out at the end with more points and exact shapes.
    """

    aims: int = 41
    points: int = 1000
    last_points: int = 4000
    draws: int = 100


THOROUGH = Effort()
QUICK = Effort(aims=21, points=500, last_points=2000, draws=40)


@dataclass(frozen=True, slots=True)
class Option:
    """A club and swing to choose: the pattern in still air and the stock launch."""

    pattern: ShotPattern
    launch: Launch


@dataclass(frozen=True, slots=True)
class OptionAtBestAim:
    """A club and swing at its best aim.

    Parameters
    ----------
    option : Option
        Club and swing.
    aims : AimTable
        Score and chances at all aims searched.
    best : AimTable
        The row of the best aim.
    at_flag : AimTable
        The row of an aim straight at the flag.
    day : DayFlight
        Effect of the day at the best aim.
    landings : ndarray, shape (n, 2)
        Weighted landing points at the best aim [m].
    weights : ndarray, shape (n,)
        Their weights [1].
    draws : ndarray, shape (draws,)
        Score at the best aim for plausible models of the player [strokes].
    """

    option: Option
    aims: AimTable
    best: AimTable
    at_flag: AimTable
    day: DayFlight
    landings: FloatArray
    weights: FloatArray
    draws: FloatArray

    @property
    def score(self) -> float:
        """Expected strokes to hole out at the best aim [strokes]."""
        return float(self.best.score[0])

    @property
    def aim_rad(self) -> float:
        """Best angle of aim [rad], right of the target line positive."""
        return float(self.best.aims_rad[0])

    @property
    def flag_cost(self) -> float:
        """Strokes lost by aiming at the flag instead [strokes], never negative."""
        return max(float(self.at_flag.score[0]) - self.score, 0.0)

    @property
    def as_good_rad(self) -> tuple[float, float]:
        """First and last aim about the best that cost at most `AS_GOOD_STROKES` more [rad]."""
        good = self.aims.score <= self.score + AS_GOOD_STROKES
        nearest = int(np.argmin(np.abs(self.aims.aims_rad - self.aim_rad)))
        left = right = nearest
        while left > 0 and good[left - 1]:
            left -= 1
        while right < len(good) - 1 and good[right + 1]:
            right += 1
        aims = self.aims.aims_rad
        return min(float(aims[left]), self.aim_rad), max(float(aims[right]), self.aim_rad)

    def chance(self, ground: Ground) -> float:
        """Chance to finish on a kind of ground at the best aim [1]."""
        return float(self.best.chance[0, ground])

    def chance_to_carry(self, carry_m: float) -> float:
        """Chance that the ball carries at least this far along the line of aim [1]."""
        return float(self.weights[self.landings[:, 0] >= carry_m].sum())


@dataclass(frozen=True, slots=True)
class Advantage:
    """By how much one option beats another, with the uncertainty of the player's model.

    Parameters
    ----------
    strokes : float
        Mean advantage [strokes], positive where the first is better.
    low, high : float
        Central 90 % interval [strokes].
    """

    strokes: float
    low: float
    high: float

    @property
    def too_close_to_call(self) -> bool:
        """Whether the interval holds both signs."""
        return self.low <= 0.0 <= self.high


@dataclass(frozen=True, slots=True)
class TargetChoice:
    """All options of a stroke, best first, and what lies on the line of the best one."""

    hole: Hole
    surface: StrokesSurface
    options: tuple[OptionAtBestAim, ...]
    hazards: tuple[HazardOnLine, ...]

    def advantage(self, second: int = 1) -> Advantage:
        """Advantage of the best option over another.

        Parameters
        ----------
        second : int
            Place of the other option, 1 for the runner-up [1].

        Returns
        -------
        Advantage
            Strokes with their interval.
        """
        return advantage(self.options[0], self.options[second])


def advantage(first: OptionAtBestAim, second: OptionAtBestAim) -> Advantage:
    """Advantage of one option over another, carried through plausible models of the player.

    Parameters
    ----------
    first, second : OptionAtBestAim
        Two options of the same stroke.

    Returns
    -------
    Advantage
        Mean and central 90 % interval [strokes].

    Notes
    -----
    The models of two clubs are drawn independently; what they share (one ball, one day) would
    make the interval narrower, so the verdict errs towards "too close to call".
    """
    difference = second.draws - first.draws
    low, high = np.quantile(difference, (0.05, 0.95))
    return Advantage(second.score - first.score, float(low), float(high))


def choose_target(
    hole: Hole,
    options: Sequence[Option],
    table: StrokesToHoleOut,
    conditions: Conditions,
    *,
    grid: GroundGrid | None = None,
    effort: Effort = THOROUGH,
    seed: int = 1,
) -> TargetChoice:
    """Best aim of every option, ranked by expected score.

    Parameters
    ----------
    hole : Hole
        The hole with the ball in place.
    options : sequence of Option
        Clubs and swings to choose from, at least one.
    table : StrokesToHoleOut
        Strokes to hole out by distance and lie.
    conditions : Conditions
        Wind and air; the wind is told from the target line of the hole.
    grid : GroundGrid or None
        Raster of the hole, if it is at hand already.
    effort : Effort
        How finely to search.
    seed : int
        Start of the random numbers [1].

    Returns
    -------
    TargetChoice
        Options by rising expected score.

    Raises
    ------
    NotEnoughShotsError
        If there is no option.

    Notes
    -----
    The same quantile points serve every aim, so differences between aims are smooth; the best
    aim is searched on a grid and refined by a finer one about the best.
    """
    if not options:
        raise NotEnoughShotsError(
            "There is no club model to choose from; ingest a session and run 'fit' first."
        )
    longest = max(option.pattern.carry_m for option in options)
    grid = grid or ground_grid(hole, reach_m=longest)
    surface = strokes_surface(hole, grid, table)
    found = [
        _at_best_aim(hole, table, surface, option, conditions, effort, seed) for option in options
    ]
    found.sort(key=lambda option: (option.score, option.option.pattern.name))
    hazards = hazards_on_line(hole, found[0].aim_rad)
    return TargetChoice(hole, surface, tuple(found), tuple(hazards))


def _at_best_aim(
    hole: Hole,
    table: StrokesToHoleOut,
    surface: StrokesSurface,
    option: Option,
    conditions: Conditions,
    effort: Effort,
    seed: int,
) -> OptionAtBestAim:
    """Search the aims of one option."""
    heights = heights_over_trees(hole, surface, option.launch, conditions)

    def on_raster(aims: FloatArray, count: int) -> _Scored:
        points, weights = option.pattern.points(count)
        day = day_flight(option.launch, conditions, aims)
        landings = landings_at_aims(points, _stock(option.pattern), day)
        scored = score_at_aims(surface, hole.ball, landings, weights, day.run_m, aims, heights)
        return _Scored(scored, day, landings[0], weights)

    def exactly(aim: float) -> tuple[AimTable, _Scored]:
        rough = on_raster(np.array([aim]), effort.last_points)
        run = float(rough.day.run_m[0])
        landed = (rough.landings, rough.weights, run)
        exact = score_exactly(hole, table, surface, *landed, aim, heights)
        return exact, rough

    coarse = on_raster(_aims(hole, option.pattern, effort.aims), effort.points).table
    fine = on_raster(_fine_aims(coarse), effort.points).table
    best, rough = exactly(_best_aim(fine))
    at_flag, _ = exactly(hole.flag_aim_rad)
    drawn = _plausible_scores(
        hole, surface, option.pattern, rough.day, best.aims_rad, heights, effort, seed
    )
    return OptionAtBestAim(
        option=option,
        aims=coarse,
        best=best,
        at_flag=at_flag,
        day=rough.day,
        landings=rough.landings,
        weights=rough.weights,
        draws=drawn + best.score[0] - rough.table.score[0],
    )


class _Scored(NamedTuple):
    """Scores at aims with the day and the landings of the first aim behind them."""

    table: AimTable
    day: DayFlight
    landings: FloatArray
    weights: FloatArray


def heights_over_trees(
    hole: Hole, surface: StrokesSurface, launch: Launch, conditions: Conditions
) -> FloatArray:
    """Height along the way of the stock shot, where the hole has trees that could stop it.

    Parameters
    ----------
    hole : Hole
        The hole with the ball in place.
    surface : StrokesSurface
        Its raster.
    launch : Launch
        Stock launch.
    conditions : Conditions
        Wind and air; the wind is told from the along axis of the hole.

    Returns
    -------
    ndarray
        `height_profile` for an aim at the flag [1]; empty without trees, and where the raster was
        made for a ball elsewhere and this one lies among trees.
    """
    trees = surface.grid.tree_height_m
    if trees is None or trees.ravel()[surface.grid.index(np.array(hole.ball))] > 0.0:
        return NO_HEIGHTS
    turned = replace(
        conditions,
        wind_from_deg=conditions.wind_from_deg - float(np.degrees(hole.flag_aim_rad)),
    )
    return height_profile(launch, turned)


def _stock(pattern: ShotPattern) -> tuple[float, float]:
    """Still-air centre of a pattern [m]."""
    return pattern.carry_m, pattern.side_m


def _aims(hole: Hole, pattern: ShotPattern, count: int) -> FloatArray:
    """Coarse grid of aims about the flag's line; the flag's own line is one of them."""
    half = np.arctan2(_AIM_HALF_WIDTH_M, min(pattern.carry_m, hole.distance_m))
    half = np.clip(half, _LEAST_HALF_ANGLE_RAD, _MOST_HALF_ANGLE_RAD)
    return np.asarray(hole.flag_aim_rad + np.linspace(-half, half, count))


def _fine_aims(coarse: AimTable) -> FloatArray:
    """Finer grid about the best aim of the coarse one."""
    at = int(np.argmin(coarse.score))
    step = coarse.aims_rad[1] - coarse.aims_rad[0]
    return np.asarray(coarse.aims_rad[at] + np.linspace(-1.5 * step, 1.5 * step, _FINE_AIMS))


def _best_aim(fine: AimTable) -> float:
    """Lowest point of a parabola through the fine grid, or its best aim if it has none."""
    aims, middle = fine.aims_rad, fine.aims_rad[_FINE_AIMS // 2]
    half = aims[-1] - middle
    curve, slope, _ = np.polyfit((aims - middle) / half, fine.score, 2)
    if curve <= 0.0:
        return float(aims[np.argmin(fine.score)])
    return float(middle + half * np.clip(-0.5 * slope / curve, -1.0, 1.0))


def _plausible_scores(
    hole: Hole,
    surface: StrokesSurface,
    pattern: ShotPattern,
    day: DayFlight,
    aim_rad: FloatArray,
    heights: FloatArray,
    effort: Effort,
    seed: int,
) -> FloatArray:
    """Score at one aim for plausible models of the player."""
    random = np.random.default_rng([seed, *pattern.name.encode()])
    drawn = [
        plausible.points(_DRAW_POINTS) for plausible in pattern.plausible(effort.draws, random)
    ]
    landings = np.stack([day.landing(points, _stock(pattern)) for points, _ in drawn])
    weights = np.stack([weights for _, weights in drawn])
    aims = np.full(effort.draws, aim_rad[0])
    return score_at_aims(surface, hole.ball, landings, weights, day.run_m, aims, heights).score
