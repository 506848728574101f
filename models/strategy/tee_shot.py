"""Chance of the fairway against the aim, for the stock shape and for a two-way pattern."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from rangeledger.models.arrays import FloatArray
from rangeledger.models.flight.day_flight import Conditions, day_flight
from rangeledger.models.strategy.expected_score import landings_at_aims, score_at_aims
from rangeledger.models.strategy.hole_geometry import Ground, Hole
from rangeledger.models.strategy.strokes_surface import StrokesSurface
from rangeledger.models.strategy.target_choice import Option, heights_over_trees

_POINTS = 1500
# A stock shot that curves less than this share of its carry has no shape to speak of; its
# other shape is then taken as one spread away.
_LEAST_CURVE = 0.01


@dataclass(frozen=True, slots=True)
class FairwayByAim:
    """Chance of the fairway and expected score by aim.

    Parameters
    ----------
    aims_rad : ndarray, shape (aims,)
        Angles of aim [rad].
    stock, two_way : ndarray, shape (aims,)
        Chance of the fairway with the player's own pattern and with both shapes [1].
    stock_score, two_way_score : ndarray, shape (aims,)
        Expected strokes to hole out [strokes].
    """

    aims_rad: FloatArray
    stock: FloatArray
    two_way: FloatArray
    stock_score: FloatArray
    two_way_score: FloatArray


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
    share : float
        Share of the other shape in the two-way pattern [1], 0 to 1.
    half_width_m : float
        Aims go this far to both sides of the line of play at the stock carry [m].
    count : int
        Number of aims [1].

    Returns
    -------
    FairwayByAim

    Notes
    -----
    The two-way pattern is the player's own with a share of its weight moved to the landing of
    the opposite curve (`other_shape`).
    """
    pattern = option.pattern
    half = np.arctan2(half_width_m, pattern.carry_m)
    aims = _line_aim(hole, pattern.carry_m) + np.linspace(-half, half, count)
    day = day_flight(option.launch, conditions, aims)
    points, weights = pattern.points(_POINTS)
    moved = points + np.array([0.0, other_shape(option)])
    stock = (pattern.carry_m, pattern.side_m)
    both = np.concatenate((points, moved))
    mixed = np.concatenate(((1.0 - share) * weights, share * weights))
    own = landings_at_aims(points, stock, day)
    heights = heights_over_trees(hole, surface, option.launch, conditions)
    one = score_at_aims(surface, hole.ball, own, weights, day.run_m, aims, heights)
    spread = landings_at_aims(both, stock, day)
    two = score_at_aims(surface, hole.ball, spread, mixed, day.run_m, aims, heights)
    return FairwayByAim(
        aims, one.chance[:, Ground.FAIRWAY], two.chance[:, Ground.FAIRWAY], one.score, two.score
    )


def _line_aim(hole: Hole, carry_m: float) -> float:
    """Angle to the point of the line of play that is one carry away from the ball [rad]."""
    line = np.array([hole.ball, *hole.line, hole.flag])
    steps = np.hypot(*np.diff(line, axis=0).T)
    along = np.concatenate(([0.0], np.cumsum(steps)))
    spot = [np.interp(carry_m, along, line[:, axis]) for axis in range(2)]
    return float(np.arctan2(spot[1] - hole.ball[1], spot[0] - hole.ball[0]))
