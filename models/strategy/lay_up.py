"""Go for the green or lay up: expected score of both at each distance left."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from rangeledger.models.flight.day_flight import Conditions
from rangeledger.models.strategy.aim_search import (
    QUICK,
    RasterSearch,
    Stroke,
    evaluate_best_aim,
    search_raster,
)
from rangeledger.models.strategy.aimed_option import (
    Advantage,
    Option,
    OptionAtBestAim,
    advantage,
)
from rangeledger.models.strategy.hole_geometry import Ground, Hole
from rangeledger.models.strategy.strokes_surface import GroundGrid, strokes_surface
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut

# So many of each way are looked at closely: the raster ranks them to within a few hundredths.
_CLOSELY = 2


@dataclass(frozen=True, slots=True)
class GoOrLayUp:
    """The best way to go and the best lay-up from one distance.

    Parameters
    ----------
    distance_m : float
        Straight distance left to the flag [m].
    lie : str
        Lie of the ball there.
    go : OptionAtBestAim or None
        Best option that reaches the green in the day's air; None where no club does.
    lay_up : OptionAtBestAim or None
        Best option that stays short of the green.
    lay_up_leaves_m : float or None
        Distance to the flag from where the stock shot of the lay-up comes to rest [m].
    going_gains : Advantage or None
        Strokes saved by going, with its interval; None where there is nothing to compare.
    """

    distance_m: float
    lie: str
    go: OptionAtBestAim | None
    lay_up: OptionAtBestAim | None
    lay_up_leaves_m: float | None
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
    spots: Sequence[Hole],
    options: Sequence[Option],
    table: StrokesToHoleOut,
    conditions: Conditions,
    *,
    grid: GroundGrid,
) -> list[GoOrLayUp]:
    """Compare going for the green with laying up from several spots of a hole.

    Parameters
    ----------
    spots : sequence of Hole
        The hole with the ball at each spot.
    options : sequence of Option
        Clubs and swings to choose from.
    table : StrokesToHoleOut
        Strokes to hole out.
    conditions : Conditions
        Wind and air; the wind is told from the along axis of the hole.
    grid : GroundGrid
        Raster of the hole.

    Returns
    -------
    list of GoOrLayUp
        One entry a spot, in the order given.

    Notes
    -----
    An option goes if its stock shot of the day comes to rest past the front of the green. The
    strokes after the lay-up come from the table, so a table of the player's own matters here.
    """
    return [_both_ways(spot, options, table, conditions, grid) for spot in spots]


def _both_ways(
    spot: Hole,
    options: Sequence[Option],
    table: StrokesToHoleOut,
    conditions: Conditions,
    grid: GroundGrid,
) -> GoOrLayUp:
    """The best way to go and to lay up from one spot."""
    stroke = Stroke(spot, table, strokes_surface(spot, grid, table), conditions)
    searches = sorted(
        (search_raster(stroke, option, QUICK) for option in options),
        key=lambda search: search.score,
    )
    front = _front_of_green(spot)
    reach = [_rest_m(search, conditions) >= front for search in searches]
    go = _best_of(stroke, [search for search, there in zip(searches, reach, strict=True) if there])
    short = _best_of(
        stroke, [search for search, there in zip(searches, reach, strict=True) if not there]
    )
    gains = advantage(go, short) if go and short else None
    leaves = _leaves_m(spot, short) if short else None
    return GoOrLayUp(spot.distance_m, spot.lie, go, short, leaves, gains)


def _leaves_m(spot: Hole, option: OptionAtBestAim) -> float:
    """Distance to the flag from where the stock shot of the day comes to rest [m]."""
    rest, turn = option.carry_m + option.run_m, option.land_rad - spot.flag_aim_rad
    return math.hypot(spot.distance_m - rest * math.cos(turn), rest * math.sin(turn))


def _best_of(stroke: Stroke, searches: Sequence[RasterSearch]) -> OptionAtBestAim | None:
    """The best of ranked options, after a closer look at the first of them."""
    found = [evaluate_best_aim(stroke, search, QUICK, seed=1) for search in searches[:_CLOSELY]]
    return min(found, key=lambda option: option.score, default=None)


def _rest_m(search: RasterSearch, conditions: Conditions) -> float:
    """Distance to rest of the stock shot of the day [m]."""
    day = search.day(conditions)
    return float(day.stock_landing(search.option.stock)[0, 0] + day.run_m[0])


def _front_of_green(hole: Hole) -> float:
    """Distance from the ball to the near edge of the green, or to the flag without a green [m]."""
    greens = [area.shape for area in hole.of(Ground.GREEN)]
    if not greens:
        return hole.distance_m
    return float(shapely.distance(shapely.Point(hole.ball), shapely.union_all(greens)))
