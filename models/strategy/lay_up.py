"""Go for the green or lay up: expected score of both at each distance left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from rangeledger.models.flight.day_flight import Conditions
from rangeledger.models.strategy.hole_geometry import Ground, Hole
from rangeledger.models.strategy.strokes_surface import GroundGrid
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut
from rangeledger.models.strategy.target_choice import (
    QUICK,
    Advantage,
    Option,
    OptionAtBestAim,
    advantage,
    choose_target,
)


@dataclass(frozen=True, slots=True)
class GoOrLayUp:
    """The best way to go and the best lay-up from one distance.

    Parameters
    ----------
    distance_m : float
        Straight distance left to the flag [m].
    go : OptionAtBestAim or None
        Best option that reaches the green in the day's air; None where no club does.
    lay_up : OptionAtBestAim or None
        Best option that stays short of the green.
    going_gains : Advantage or None
        Strokes saved by going, with its interval; None where there is nothing to compare.
    """

    distance_m: float
    go: OptionAtBestAim | None
    lay_up: OptionAtBestAim | None
    going_gains: Advantage | None

    @property
    def verdict(self) -> str:
        """`go`, `lay up` or `too close to call`."""
        if self.go is None or self.lay_up is None or self.going_gains is None:
            return "lay up" if self.go is None else "go"
        if self.going_gains.too_close_to_call:
            return "too close to call"
        return "go" if self.going_gains.strokes > 0.0 else "lay up"


def go_or_lay_up(
    hole: Hole,
    options: Sequence[Option],
    table: StrokesToHoleOut,
    conditions: Conditions,
    distances_m: Sequence[float],
    *,
    grid: GroundGrid,
) -> list[GoOrLayUp]:
    """Compare going for the green with laying up from spots on the line of play.

    Parameters
    ----------
    hole : Hole
        The hole.
    options : sequence of Option
        Clubs and swings to choose from.
    table : StrokesToHoleOut
        Strokes to hole out.
    conditions : Conditions
        Wind and air; the wind is told from the target line of the hole.
    distances_m : sequence of float
        Straight distances left to the flag [m], each to be played from the fairway.
    grid : GroundGrid
        Raster of the hole.

    Returns
    -------
    list of GoOrLayUp
        One entry a distance, in the order given.

    Notes
    -----
    An option goes if its stock shot of the day comes to rest past the front of the green. The
    strokes after the lay-up come from the table, so a table of the player's own matters here.
    """
    found = []
    for distance in distances_m:
        there = hole.played_from(hole.spot_at_distance_left(distance), "fairway")
        choice = choose_target(there, options, table, conditions, grid=grid, effort=QUICK)
        front = _front_of_green(there)
        go = next((option for option in choice.options if _rest_m(option) >= front), None)
        lay_up = next((option for option in choice.options if _rest_m(option) < front), None)
        gains = advantage(go, lay_up) if go and lay_up else None
        found.append(GoOrLayUp(distance, go, lay_up, gains))
    return found


def _rest_m(option: OptionAtBestAim) -> float:
    """Distance to rest of the stock shot of the day [m]."""
    pattern = option.option.pattern
    stock = np.array([[pattern.carry_m, pattern.side_m]])
    landing = option.day.landing(stock, (pattern.carry_m, pattern.side_m))[0]
    return float(landing[0] + option.day.run_m[0])


def _front_of_green(hole: Hole) -> float:
    """Distance from the ball to the near edge of the green, or to the flag without a green [m]."""
    greens = [area.shape for area in hole.of(Ground.GREEN)]
    if not greens:
        return hole.distance_m
    return float(shapely.distance(shapely.Point(hole.ball), shapely.union_all(greens)))
