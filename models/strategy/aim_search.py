"""The search for the best aim of a club: a look at all aims on a raster, then a closer one."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from rangeledger.models.arrays import FloatArray
from rangeledger.models.flight.day_flight import Conditions, DayFlight, Launch
from rangeledger.models.flight.day_table import day_table
from rangeledger.models.flight.flight_height import height_profile
from rangeledger.models.strategy.aimed_option import Option, OptionAtBestAim
from rangeledger.models.strategy.expected_score import (
    NO_HEIGHTS,
    AimTable,
    landings_at_aims,
    score_at_aims,
    score_exactly,
)
from rangeledger.models.strategy.hole_geometry import Hole
from rangeledger.models.strategy.strokes_surface import StrokesSurface
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut

# Aims searched: to this far either side of the flag's line, measured at the stock carry, about
# the aim from which the stock shot of the day lands on that line.
_AIM_HALF_WIDTH_M = 40.0
_LEAST_HALF_ANGLE_RAD = np.radians(4.0)
_MOST_HALF_ANGLE_RAD = np.radians(30.0)
# That aim is looked for so far to both sides, a degree at a time.
_FLAG_AIMS_RAD = np.radians(np.arange(-60.0, 61.0))
_FINE_AIMS = 9
# Least squares of a parabola through scores at that many aims, evenly spaced from -1 to 1.
_PARABOLA = np.linalg.pinv(np.vander(np.linspace(-1.0, 1.0, _FINE_AIMS), 3))
_DRAW_POINTS = 400


@dataclass(frozen=True, slots=True)
class Effort:
    """How finely to search: aims of the grid, points a pattern, points at last, plausible models.

    The search on the raster needs only differences between aims; the score that is told is
    worked out at the end with more points and exact shapes.
    """

    aims: int = 41
    points: int = 700
    last_points: int = 4000
    draws: int = 100


THOROUGH = Effort()
QUICK = Effort(aims=21, points=350, last_points=2000, draws=40)


@dataclass(frozen=True, slots=True)
class Stroke:
    """What a stroke is played on: hole, strokes to hole out, raster and the day."""

    hole: Hole
    table: StrokesToHoleOut
    surface: StrokesSurface
    conditions: Conditions


@dataclass(frozen=True, slots=True)
class RasterSearch:
    """A club and swing after the search on the raster.

    Parameters
    ----------
    option : Option
        Club and swing.
    heights : ndarray
        Height along the way, where trees could stop the ball [1].
    aims : AimTable
        Score and chances at the aims of the grid.
    aim_rad : float
        Best aim [rad].
    score : float
        Least score found [strokes], a few hundredths off.
    flag_rad : float
        Aim from which the stock shot of the day lands on the line to the flag [rad].
    """

    option: Option
    heights: FloatArray
    aims: AimTable
    aim_rad: float
    score: float
    flag_rad: float

    def day(self, conditions: Conditions) -> DayFlight:
        """Effect of the day at the best aim."""
        return day_table(self.option.launch, conditions).at(self.aim_rad)


def search_raster(stroke: Stroke, option: Option, effort: Effort) -> RasterSearch:
    """Search the aims of a club and swing on the raster.

    Parameters
    ----------
    stroke : Stroke
        What it is played on.
    option : Option
        Club and swing.
    effort : Effort
        How finely to search.

    Returns
    -------
    RasterSearch

    Notes
    -----
    The same quantile points serve every aim, so differences between aims are smooth; the best
    aim is searched on a grid and refined by a finer one about the best.
    """
    heights = heights_over_trees(stroke.hole, stroke.surface, option.launch, stroke.conditions)
    points, weights = option.pattern.points(effort.points)

    def scored(aims: FloatArray) -> AimTable:
        return _on_raster(stroke, option, points, weights, aims, heights)

    flag = _flag_aim(stroke, option)
    coarse = scored(_aims(stroke.hole, option, flag, effort.aims))
    fine = scored(_fine_aims(coarse))
    least = min(float(coarse.score.min()), float(fine.score.min()))
    return RasterSearch(option, heights, coarse, _best_aim(fine), least, flag)


def evaluate_best_aim(
    stroke: Stroke, search: RasterSearch, effort: Effort, seed: int
) -> OptionAtBestAim:
    """Work out what is told of a club and swing at its best aim.

    Parameters
    ----------
    stroke : Stroke
        What it is played on.
    search : RasterSearch
        What the search found.
    effort : Effort
        How many points and plausible models.
    seed : int
        Start of the random numbers [1].

    Returns
    -------
    OptionAtBestAim
    """
    option, heights = search.option, search.heights
    points, weights = option.pattern.points(effort.last_points)

    def exactly(aim: float) -> tuple[AimTable, DayFlight, FloatArray]:
        day = day_table(option.launch, stroke.conditions).at(aim)
        landings = day.landing(points, option.stock)
        landed = (landings, weights, float(day.run_m[0]), aim, heights)
        return score_exactly(stroke.hole, stroke.table, stroke.surface, *landed), day, landings

    best, day, landings = exactly(search.aim_rad)
    at_flag, _, _ = exactly(search.flag_rad)
    aim = np.array([search.aim_rad])
    rough = _on_raster(stroke, option, points, weights, aim, heights)
    drawn = _plausible_scores(stroke, option, day, search.aim_rad, heights, effort.draws, seed)
    return OptionAtBestAim(
        option=option,
        aims=search.aims,
        best=best,
        at_flag=at_flag,
        day=day,
        landings=landings,
        weights=weights,
        draws=drawn + best.score[0] - rough.score[0],
    )


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


def _on_raster(
    stroke: Stroke,
    option: Option,
    points: FloatArray,
    weights: FloatArray,
    aims: FloatArray,
    heights: FloatArray,
) -> AimTable:
    """Scores of a pattern at aims on the raster."""
    day = day_table(option.launch, stroke.conditions).at(aims)
    landings = landings_at_aims(points, option.stock, day)
    landed = (landings, weights, day.run_m, aims, heights)
    return score_at_aims(stroke.surface, stroke.hole.ball, *landed)


def _flag_aim(stroke: Stroke, option: Option) -> float:
    """Aim from which the stock shot of the day lands on the line to the flag [rad]."""
    flag = stroke.hole.flag_aim_rad
    aims = flag + _FLAG_AIMS_RAD
    day = day_table(option.launch, stroke.conditions).at(aims)
    carry, side = day.stock_landing(option.stock).T
    lands = np.maximum.accumulate(aims + np.arctan2(side, carry))
    return float(np.interp(flag, lands, aims))


def _aims(hole: Hole, option: Option, flag_rad: float, count: int) -> FloatArray:
    """Coarse grid of aims about the one whose stock shot lands on the flag's line."""
    half = np.arctan2(_AIM_HALF_WIDTH_M, min(option.pattern.carry_m, hole.distance_m))
    half = np.clip(half, _LEAST_HALF_ANGLE_RAD, _MOST_HALF_ANGLE_RAD)
    return np.asarray(flag_rad + np.linspace(-half, half, count))


def _fine_aims(coarse: AimTable) -> FloatArray:
    """Finer grid about the best aim of the coarse one."""
    at = int(np.argmin(coarse.score))
    step = coarse.aims_rad[1] - coarse.aims_rad[0]
    return np.asarray(coarse.aims_rad[at] + np.linspace(-1.5 * step, 1.5 * step, _FINE_AIMS))


def _best_aim(fine: AimTable) -> float:
    """Lowest point of a parabola through the fine grid, or its best aim if it has none."""
    aims, middle = fine.aims_rad, fine.aims_rad[_FINE_AIMS // 2]
    half = aims[-1] - middle
    curve, slope, _ = _PARABOLA @ fine.score
    if curve <= 0.0:
        return float(aims[np.argmin(fine.score)])
    return float(middle + half * np.clip(-0.5 * slope / curve, -1.0, 1.0))


def _plausible_scores(
    stroke: Stroke,
    option: Option,
    day: DayFlight,
    aim_rad: float,
    heights: FloatArray,
    models: int,
    seed: int,
) -> FloatArray:
    """Score at one aim for plausible models of the player."""
    random = np.random.default_rng([seed, *option.pattern.name.encode()])
    points, weights = option.pattern.plausible_points(models, _DRAW_POINTS, random)
    landings = day.landing(points.reshape(-1, 2), option.stock).reshape(points.shape)
    aims = np.full(models, aim_rad)
    landed = (landings, weights, day.run_m, aims, heights)
    return score_at_aims(stroke.surface, stroke.hole.ball, *landed).score
