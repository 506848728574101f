"""Expected score and chances of a stroke: at many aims on a raster, at one aim exactly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from rangeledger.models.arrays import FloatArray
from rangeledger.models.flight.day_flight import DayFlight
from rangeledger.models.strategy.hole_geometry import LIE_OF_GROUND, Codes, Ground, Hole
from rangeledger.models.strategy.strokes_surface import GroundGrid, StrokesSurface
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut

# How often the ground under a running ball is looked up, evenly along its run.
_RUN_STEPS = 3
_STOPS = np.zeros(len(Ground), dtype=bool)
_STOPS[[Ground.WATER, Ground.BUNKER]] = True
# A flight that no trees stop.
NO_HEIGHTS: FloatArray = np.empty(0)
# A stroke that is nearly always out of bounds would be replayed for ever.
_MOST_OUT = 0.99


@dataclass(frozen=True, slots=True)
class AimTable:
    """What a stroke does at each aim.

    Parameters
    ----------
    aims_rad : ndarray, shape (aims,)
        Angles of aim [rad].
    score : ndarray, shape (aims,)
        Expected strokes to hole out, this stroke included [strokes].
    chance : ndarray, shape (aims, kinds of ground)
        Chance to finish on each `Ground` [1].
    """

    aims_rad: FloatArray
    score: FloatArray
    chance: FloatArray


def score_of(out: FloatArray, strokes: FloatArray) -> FloatArray:
    """Expected score of a stroke that is played again after each ball out of bounds.

    Parameters
    ----------
    out : ndarray
        Chance of out of bounds [1].
    strokes : ndarray
        Mean penalty and strokes to hole out over all other finishes, weighted by their chance
        [strokes].

    Returns
    -------
    ndarray
        Expected strokes to hole out, this stroke included [strokes].

    Notes
    -----
    Stroke and distance (Rules of Golf, 18.2): ``E = 1 + p (1 + E) + s``, so
    ``E = (1 + p + s) / (1 - p)``; p is held at 0.99 at most.
    """
    p = np.minimum(out, _MOST_OUT)
    return np.asarray((1.0 + p + strokes) / (1.0 - p))


def score_at_aims(
    surface: StrokesSurface,
    ball: tuple[float, float],
    landings: FloatArray,
    weights: FloatArray,
    run_m: FloatArray,
    aims_rad: FloatArray,
    heights: FloatArray = NO_HEIGHTS,
) -> AimTable:
    """Expected score at aims from weighted landing points, on the raster.

    Parameters
    ----------
    surface : StrokesSurface
        Cost of finishing in each cell.
    ball : tuple of float
        Where the ball lies [m].
    landings : ndarray, shape (aims, n, 2)
        Carry and side from the ball along and across each aim [m].
    weights : ndarray, shape (n,) or (aims, n)
        Weights that add to one at each aim [1].
    run_m : ndarray, shape (1,) or (aims,)
        Run after landing [m].
    aims_rad : ndarray, shape (aims,)
        Angles of aim [rad], right positive.
    heights : ndarray
        `models.flight.flight_height.height_profile` [1]; empty lets every ball fly over the trees.

    Returns
    -------
    AimTable

    Notes
    -----
    A ball that lands in or runs into a bunker or water stays there; any other rests at the end
    of its run, along the line from where it was struck. A ball that flies lower than the trees
    on its way, taken straight from start to landing, drops where it meets them.
    """
    from rangeledger.models.strategy._score_kernel import add_finishes

    count, points, _ = landings.shape
    turns = np.empty((count, 4))
    turns[:, 0], turns[:, 1] = np.cos(aims_rad), np.sin(aims_rad)
    turns[:, 2:] = ball
    chance, strokes = np.zeros((count, len(Ground))), np.zeros(count)
    grid = surface.grid
    add_finishes(
        np.ascontiguousarray(landings),
        np.ascontiguousarray(np.broadcast_to(weights, (count, points))),
        turns,
        np.ascontiguousarray(np.broadcast_to(run_m, count)),
        (*grid.origin, 1.0 / grid.cell_m),
        grid.ground,
        surface.strokes,
        (_RUN_STEPS, int(Ground.BUNKER), int(Ground.WATER)),
        *_trees(grid, heights),
        chance,
        strokes,
    )
    return AimTable(aims_rad, score_of(chance[:, Ground.OUT_OF_BOUNDS], strokes), chance)


def _trees(
    grid: GroundGrid, heights: FloatArray
) -> tuple[FloatArray, tuple[float, ...], FloatArray]:
    """Heights of trees, where they stand, and heights of the flight; nothing without trees."""
    if grid.tree_height_m is None or not heights.size:
        return np.empty((0, 0)), (0.0,) * 5, NO_HEIGHTS
    return grid.tree_height_m, grid.trees_box, heights


def score_exactly(
    hole: Hole,
    table: StrokesToHoleOut,
    surface: StrokesSurface,
    landings: FloatArray,
    weights: FloatArray,
    run_m: float,
    aim_rad: float,
    heights: FloatArray = NO_HEIGHTS,
) -> AimTable:
    """Expected score at one aim from weighted landings, with exact shapes in place of the raster.

    Parameters
    ----------
    hole : Hole
        The hole with the ball in place.
    table : StrokesToHoleOut
        Strokes to hole out.
    surface : StrokesSurface
        Cost of finishing in each cell, read only for relief from water and for trees.
    landings : ndarray, shape (n, 2)
        Carry and side of the day [m]: quantile points or random draws.
    weights : ndarray, shape (n,)
        Weights that add to one [1].
    run_m : float
        Run after landing [m].
    aim_rad : float
        Angle of aim [rad].
    heights : ndarray
        `models.flight.flight_height.height_profile` [1]; empty lets every ball fly over the trees.

    Returns
    -------
    AimTable
        One row.

    Notes
    -----
    An edge that runs along the raster may lie up to half a cell off; here it lies where it is.
    """
    spots, ground = rest_of(hole, landings, run_m, aim_rad)
    stopped, where = stopped_by_trees(surface.grid, hole.ball, landings, aim_rad, heights)
    spots[stopped] = where
    ground[stopped] = np.maximum(hole.ground(where), np.int8(Ground.TREES))
    strokes = np.zeros(len(spots))
    away = np.hypot(*(spots - np.array(hole.flag)).T)
    for kind, lie in LIE_OF_GROUND.items():
        here = ground == kind
        strokes[here] = table.strokes(away[here], lie)
    wet = ground == Ground.WATER
    strokes[wet] = _wet_strokes(surface, spots[wet])
    chance = np.array([[weights[ground == kind].sum() for kind in Ground]])
    score = score_of(chance[:, Ground.OUT_OF_BOUNDS], np.array([strokes @ weights]))
    return AimTable(np.array([aim_rad]), score, chance)


def stopped_by_trees(
    grid: GroundGrid,
    ball: tuple[float, float],
    landings: FloatArray,
    aim_rad: float,
    heights: FloatArray,
) -> tuple[npt.NDArray[np.intp], FloatArray]:
    """Which balls trees stop in the air, and where.

    Parameters
    ----------
    grid : GroundGrid
        Raster of the hole.
    ball : tuple of float
        Where the ball lies [m].
    landings : ndarray, shape (n, 2)
        Carry and side along and across the aim [m].
    aim_rad : float
        Angle of aim [rad].
    heights : ndarray, shape (places,)
        Height along the way over the distance to the landing [1]; empty stops none.

    Returns
    -------
    stopped : ndarray of int
        Rows of the landings that are never reached.
    where : ndarray, shape (stopped, 2)
        Where those balls come down, along and across [m].
    """
    from rangeledger.models.strategy._score_kernel import add_stops

    if grid.tree_height_m is None or not heights.size:
        return np.empty(0, dtype=np.intp), np.empty((0, 2))
    start = np.array(ball, dtype=float)
    ends = start + _turned(landings[None], np.array([aim_rad]))[0]
    places = np.zeros(len(ends), dtype=np.int64)
    raster = (*grid.origin, 1.0 / grid.cell_m)
    add_stops(ends, start, raster, *_trees(grid, heights), places)
    stopped = np.flatnonzero(places)
    share = places[stopped, None] / (len(heights) - 1)
    return stopped, start + share * (ends[stopped] - start)


def _wet_strokes(surface: StrokesSurface, spots: FloatArray) -> FloatArray:
    """Cost of water at spots; a spot whose cell is dry by a hair takes a wet neighbour's."""
    grid, flat = surface.grid, surface.grid.ground.ravel()
    strokes = np.full(len(spots), np.nan)
    for shift in np.array([(0, 0), (0, 1), (0, -1), (1, 0), (-1, 0), (1, 1), (-1, -1)]):
        cell = grid.index(spots + grid.cell_m * shift)
        in_water = np.isnan(strokes) & (flat[cell] == Ground.WATER)
        strokes[in_water] = surface.strokes.ravel()[cell[in_water]]
    return np.where(np.isnan(strokes), 1.0 + surface.strokes.ravel()[grid.index(spots)], strokes)


def rest_of(
    hole: Hole, landings: FloatArray, run_m: float, aim_rad: float
) -> tuple[FloatArray, Codes]:
    """Where random landings come to rest, with exact shapes.

    Parameters
    ----------
    hole : Hole
        The hole with the ball in place.
    landings : ndarray, shape (n, 2)
        Carry and side along and across the aim [m].
    run_m : float
        Run after landing [m].
    aim_rad : float
        Angle of aim [rad].

    Returns
    -------
    spots : ndarray, shape (n, 2)
        Points of rest, along and across [m].
    ground : ndarray of int8, shape (n,)
        `Ground` codes there.
    """
    heading = _unit_from_ball(landings)
    aims = np.array([aim_rad])
    spots = np.zeros_like(landings)
    ground = np.zeros(len(landings), dtype=np.int8)
    running = np.arange(len(landings))
    for step in range(_RUN_STEPS + 1):
        reach = landings[running] + step / _RUN_STEPS * run_m * heading[running]
        spots[running] = _turned(reach[None], aims)[0] + np.array(hole.ball)
        ground[running] = hole.ground(spots[running])
        running = running[~_STOPS[ground[running]]]
    return spots, ground


def _turned(points: FloatArray, aims_rad: FloatArray) -> FloatArray:
    """Points along and across each aim, turned into the axes of the hole."""
    cosine, sine = np.cos(aims_rad)[:, None], np.sin(aims_rad)[:, None]
    along, across = points[..., 0], points[..., 1]
    return np.stack((cosine * along - sine * across, sine * along + cosine * across), axis=-1)


def _unit_from_ball(landings: FloatArray) -> FloatArray:
    """Headings from the ball to the landings."""
    length = np.hypot(landings[..., 0], landings[..., 1])
    return np.asarray(landings / np.maximum(length, 1e-9)[..., None])


def landings_at_aims(points: FloatArray, stock: tuple[float, float], day: DayFlight) -> FloatArray:
    """Still-air points as landings of the day at every aim.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        Still-air carry and side [m].
    stock : tuple of float
        Still-air carry and side of the stock shot [m].
    day : DayFlight
        Effect of the day, one row an aim.

    Returns
    -------
    ndarray, shape (aims, n, 2)
        Carry and side of the day [m].
    """
    return np.stack([day.landing(points, stock, aim) for aim in range(len(day.run_m))])
