"""What finishing at a spot costs: strokes to hole out and penalties on a fine raster of a hole."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
from rangeledger.models.arrays import FloatArray
from rangeledger.models.strategy.hole_geometry import LIE_OF_GROUND, Codes, Ground, Hole
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut

CELL_M = 1.0
MARGIN_M = 70.0
# Two club-lengths of the longest club allowed outside the putter, 46 in (Rules of Golf, 17.1d).
TWO_CLUB_LENGTHS_M = 2.0 * 46.0 * 0.0254
_LONGEST_WALK_M = 250.0


@dataclass(frozen=True)
class GroundGrid:
    """Ground of a hole on a square raster.

    Parameters
    ----------
    origin : tuple of float
        Along and across of the centre of the first cell [m].
    cell_m : float
        Edge of a cell [m].
    ground : ndarray of int8, shape (n_along, n_across)
        `Ground` codes at the centres.
    tree_height_m : ndarray or None
        Height of the trees over the centres [m], of the same shape; None where there are none.
    """

    origin: tuple[float, float]
    cell_m: float
    ground: Codes
    tree_height_m: FloatArray | None = None

    def index(self, points: FloatArray) -> npt.NDArray[np.intp]:
        """Flat index of the cell of each point; points off the raster take its nearest cell."""
        rows, columns = self.ground.shape
        i = np.rint((points[..., 0] - self.origin[0]) / self.cell_m).astype(np.intp)
        j = np.rint((points[..., 1] - self.origin[1]) / self.cell_m).astype(np.intp)
        return np.asarray(
            np.clip(i, 0, rows - 1) * columns + np.clip(j, 0, columns - 1), dtype=np.intp
        )

    @cached_property
    def trees_box(self) -> tuple[float, float, float, float, float]:
        """Least and greatest along and across of trees that stand up, and their greatest height."""
        heights = self.tree_height_m
        if heights is None or not heights.any():
            return np.inf, np.inf, -np.inf, -np.inf, 0.0
        along, across = (
            self.origin[axis] + self.cell_m * at for axis, at in enumerate(np.nonzero(heights))
        )
        # A cell reaches half its edge beyond its centre.
        half = 0.5 * self.cell_m
        return (
            float(along.min() - half),
            float(across.min() - half),
            float(along.max() + half),
            float(across.max() + half),
            float(heights.max()),
        )

    @property
    def centres(self) -> FloatArray:
        """Centres of all cells, shape (n_along, n_across, 2) [m]."""
        rows, columns = self.ground.shape
        along = self.origin[0] + self.cell_m * np.arange(rows)
        across = self.origin[1] + self.cell_m * np.arange(columns)
        return np.stack(np.meshgrid(along, across, indexing="ij"), axis=-1)


def ground_grid(
    hole: Hole, cell_m: float = CELL_M, margin_m: float = MARGIN_M, reach_m: float = 0.0
) -> GroundGrid:
    """Raster of the ground around a hole.

    Parameters
    ----------
    hole : Hole
        The hole.
    cell_m : float
        Edge of a cell [m], > 0.
    margin_m : float
        How far the raster goes beyond ball, flag, green and fairway [m].
    reach_m : float
        How far the raster goes from the ball along the line to the flag at least [m].

    Returns
    -------
    GroundGrid
        Each cell has the ground at its centre.
    """
    aim = hole.flag_aim_rad
    end = (hole.ball[0] + reach_m * np.cos(aim), hole.ball[1] + reach_m * np.sin(aim))
    spots = [hole.ball, hole.flag, end, *hole.line]
    boxes = [area.shape.bounds for area in hole.areas if area.ground is not Ground.OUT_OF_BOUNDS]
    boxes += [(spot[0], spot[1], spot[0], spot[1]) for spot in spots]
    low = np.min([box[:2] for box in boxes], axis=0) - margin_m
    high = np.max([box[2:] for box in boxes], axis=0) + margin_m
    shape = np.ceil((high - low) / cell_m).astype(int) + 1
    empty = GroundGrid((float(low[0]), float(low[1])), cell_m, np.zeros(shape, dtype=np.int8))
    heights = hole.tree_height(empty.centres) if hole.of(Ground.TREES) else None
    return GroundGrid(empty.origin, cell_m, hole.ground(empty.centres), heights)


@dataclass(frozen=True)
class StrokesSurface:
    """Cost of finishing in each cell, the stroke just played not counted.

    Parameters
    ----------
    grid : GroundGrid
        The raster.
    strokes : ndarray, shape of the raster
        Penalty and mean strokes to hole out [strokes]; 0 where out of bounds, because there the
        same stroke is played again.
    """

    grid: GroundGrid
    strokes: FloatArray


def strokes_surface(hole: Hole, grid: GroundGrid, table: StrokesToHoleOut) -> StrokesSurface:
    """Cost of finishing in each cell of a raster.

    Parameters
    ----------
    hole : Hole
        The hole with the ball in place: relief from water depends on where the ball came from.
    grid : GroundGrid
        Raster of the same hole.
    table : StrokesToHoleOut
        Strokes to hole out by distance and lie.

    Returns
    -------
    StrokesSurface

    Notes
    -----
    Water costs one penalty stroke (Rules of Golf, 17.1): the ball is dropped back on the line
    from the hole through the spot where it last crossed the edge, or, in a red penalty area,
    within two club-lengths of that spot, or played again from where it was, whichever leaves
    the fewest strokes. A drop on fairway is played from fairway, any other from rough.
    """
    flat, spots = grid.ground.ravel(), grid.centres.reshape(-1, 2)
    away = np.hypot(*(spots - np.array(hole.flag)).T)
    strokes = np.zeros(len(flat))
    for ground, lie in LIE_OF_GROUND.items():
        here = flat == ground
        strokes[here] = table.strokes(away[here], lie)
    replayed = float(table.strokes(hole.distance_m, hole.lie))
    for wet, lateral in _water_cells(hole, grid):
        strokes[wet] = 1.0 + np.minimum(_relief(hole, grid, table, spots[wet], lateral), replayed)
    return StrokesSurface(grid, strokes.reshape(grid.ground.shape))


def _water_cells(hole: Hole, grid: GroundGrid) -> list[tuple[npt.NDArray[np.intp], bool]]:
    """Flat indices of water cells, apart for yellow and red penalty areas."""
    wet = np.flatnonzero(grid.ground.ravel() == Ground.WATER)
    if not wet.size:
        return []
    red = [area for area in hole.of(Ground.WATER) if area.lateral]
    if not red:
        return [(wet, False)]
    spots = grid.centres.reshape(-1, 2)[wet]
    lateral = Hole("", 3, hole.ball, hole.lie, hole.flag, tuple(red)).ground(spots) > 0
    return [(wet[lateral], True), (wet[~lateral], False)]


def _relief(
    hole: Hole, grid: GroundGrid, table: StrokesToHoleOut, spots: FloatArray, lateral: bool
) -> FloatArray:
    """Mean strokes from the best drop for balls that finished in water at `spots`."""
    back = _unit(np.array(hole.ball) - spots)
    crossing = _walk(grid, spots, back, (Ground.WATER,))
    last_wet = crossing - grid.cell_m * back
    from_flag = _unit(last_wet - np.array(hole.flag))
    drop = _walk(grid, last_wet, from_flag, (Ground.WATER, Ground.OUT_OF_BOUNDS))
    strokes = _from_drop(hole, grid, table, drop, 0.0)
    if lateral:
        strokes = np.minimum(
            strokes, _from_drop(hole, grid, table, crossing, 0.5 * TWO_CLUB_LENGTHS_M)
        )
    return strokes


def _walk(
    grid: GroundGrid, start: FloatArray, step: FloatArray, leave: tuple[Ground, ...]
) -> FloatArray:
    """Walk from each start, a cell at a time, until the ground is not one to leave."""
    spots, ground = start.copy(), grid.ground.ravel()
    walking = np.arange(len(spots))
    for _ in range(int(_LONGEST_WALK_M / grid.cell_m)):
        walking = walking[np.isin(ground[grid.index(spots[walking])], leave)]
        if not walking.size:
            break
        spots[walking] += grid.cell_m * step[walking]
    spots[walking] = np.nan
    return spots


def _from_drop(
    hole: Hole, grid: GroundGrid, table: StrokesToHoleOut, drop: FloatArray, farther_m: float
) -> FloatArray:
    """Mean strokes from dropped balls; infinite where there is no place to drop."""
    nowhere = np.isnan(drop[:, 0])
    spots = np.where(nowhere[:, None], np.array(hole.flag), drop)
    away = np.hypot(*(spots - np.array(hole.flag)).T) + farther_m
    on_fairway = grid.ground.ravel()[grid.index(spots)] == Ground.FAIRWAY
    strokes = np.where(on_fairway, table.strokes(away, "fairway"), table.strokes(away, "rough"))
    return np.where(nowhere, np.inf, strokes)


def _unit(vectors: FloatArray) -> FloatArray:
    """Vectors scaled to length one."""
    length = np.hypot(vectors[:, 0], vectors[:, 1])
    return np.asarray(vectors / np.maximum(length, 1e-9)[:, None])
