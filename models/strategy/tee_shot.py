"""Chance of the fairway against the aim, for the stock shape and for a two-way pattern."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from rangeledger.models.arrays import FloatArray
from rangeledger.models.flight.day_flight import Conditions
from rangeledger.models.flight.day_table import day_table
from rangeledger.models.strategy.aim_search import heights_over_trees
from rangeledger.models.strategy.aimed_option import Option
from rangeledger.models.strategy.expected_score import landings_at_aims, score_at_aims
from rangeledger.models.strategy.hole_geometry import Ground, Hole
from rangeledger.models.strategy.strokes_surface import StrokesSurface

_POINTS = 1500
# A stock shot that curves less than this share of its carry has no shape to speak of; its
# other shape is then taken as one spread away.
_LEAST_CURVE = 0.01


@dataclass(frozen=True, slots=True)
class StockShape:
    """What the shots of a player who curves the ball in two ways show of the stock shape alone.

    Parameters
    ----------
    word : str
        Its name.
    side_shift_m : float
        Centre across the line of the shots of the stock shape less that of all [m].
    width_share : float
        Width that they need over the width that all need [1].
    """

    word: str
    side_shift_m: float
    width_share: float


@dataclass(frozen=True, slots=True)
class FairwayByAim:
    """Chance of the fairway and expected score by aim, with one shape and with both.

    Parameters
    ----------
    aims_rad : ndarray, shape (aims,)
        Angles of aim [rad].
    one, both : ndarray, shape (aims,)
        Chance of the fairway with one shape and with both [1].
    one_score, both_score : ndarray, shape (aims,)
        Expected strokes to hole out [strokes].
    own_is_both : bool
        Whether the player hits both shapes now; else one.
    """

    aims_rad: FloatArray
    one: FloatArray
    both: FloatArray
    one_score: FloatArray
    both_score: FloatArray
    own_is_both: bool


def other_shape(option: Option) -> float:
    """How far the opposite curve would bring the stock shot down from where it comes down now.

    Parameters
    ----------
    option : Option
        Club and swing.

    Returns
    -------
    float
        Shift across the target line [m], right positive.

    Notes
    -----
    The curve is the side less what the start direction gives; the opposite curve moves the
    landing by twice that. A shot without curve is shifted by one spread to the right.
    """
    pattern = option.pattern
    straight = pattern.carry_m * np.tan(np.radians(option.launch.launch_direction_deg))
    curve = pattern.side_m - straight
    if abs(curve) < _LEAST_CURVE * pattern.carry_m:
        return pattern.side_sd_m
    return float(-2.0 * curve)


def fairway_by_aim(
    hole: Hole,
    surface: StrokesSurface,
    option: Option,
    conditions: Conditions,
    *,
    stock_shape: StockShape | None = None,
    share: float = 0.5,
    half_width_m: float = 30.0,
    count: int = 25,
) -> FairwayByAim:
    """Chance of the fairway against the aim.

    Parameters
    ----------
    hole : Hole
        The hole with the ball on the tee.
    surface : StrokesSurface
        Cost of finishing, for the same ball.
    option : Option
        Club and swing.
    conditions : Conditions
        Wind and air.
    stock_shape : StockShape or None
        The stock shape alone of a player whose pattern holds both; None for one who has one.
    share : float
        Share of the other shape in the two-way pattern of a player of one shape [1], 0 to 1.
    half_width_m : float
        Aims go this far to both sides of the line of play at the stock carry [m].
    count : int
        Number of aims [1].

    Returns
    -------
    FairwayByAim

    Notes
    -----
    The pattern as it is stands for both shapes where the shots show two curves, and for one where
    they show one. What is missing is made of it: one shape by its centre and its width, the two-way
    pattern by moving a share of the weight to the landing of the opposite curve (`other_shape`).
    """
    pattern = option.pattern
    half = np.arctan2(half_width_m, pattern.carry_m)
    aims = _line_aim(hole, pattern.carry_m) + np.linspace(-half, half, count)
    day = day_table(option.launch, conditions).at(aims)
    heights = heights_over_trees(hole, surface, option.launch, conditions)
    points, weights = pattern.points(_POINTS)

    def scored(points: FloatArray, weights: FloatArray) -> tuple[FloatArray, FloatArray]:
        landings = landings_at_aims(points, option.stock, day)
        found = score_at_aims(surface, hole.ball, landings, weights, day.run_m, aims, heights)
        return found.chance[:, Ground.FAIRWAY], found.score

    own = scored(points, weights)
    if stock_shape is not None:
        away = stock_shape.width_share * (points[:, 1] - pattern.side_m)
        alone = pattern.side_m + stock_shape.side_shift_m + away
        one, both = scored(np.column_stack((points[:, 0], alone)), weights), own
    else:
        moved = points + np.array([0.0, other_shape(option)])
        mixed = np.concatenate(((1.0 - share) * weights, share * weights))
        one, both = own, scored(np.concatenate((points, moved)), mixed)
    return FairwayByAim(aims, one[0], both[0], one[1], both[1], stock_shape is not None)


def _line_aim(hole: Hole, carry_m: float) -> float:
    """Angle to the point of the line of play that is one carry away from the ball [rad]."""
    line = np.array([hole.ball, *hole.line, hole.flag])
    steps = np.hypot(*np.diff(line, axis=0).T)
    along = np.concatenate(([0.0], np.cumsum(steps)))
    spot = [np.interp(carry_m, along, line[:, axis]) for axis in range(2)]
    return float(np.arctan2(spot[1] - hole.ball[1], spot[0] - hole.ball[0]))
