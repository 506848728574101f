"""A hole as shapes in the plane: what ground a ball finishes on and what lies on its line.

Coordinates are metres in a plane: `along` the target line and `across` it, right positive, from
an origin that the hole file sets (usually the tee). An angle of aim is measured from the along
direction, clockwise seen from above, so right is positive here too.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import IntEnum
from functools import cached_property

import numpy as np
import numpy.typing as npt
import shapely
from rangeledger.models.arrays import FloatArray
from rangeledger.schemas.errors import UsageError
from rangeledger.schemas.units import YARD_M
from shapely.geometry.base import BaseGeometry

Codes = npt.NDArray[np.int8]


class Ground(IntEnum):
    """What a ball finishes on; where shapes overlap, the greater number wins."""

    ROUGH = 0
    FAIRWAY = 1
    TREES = 2
    GREEN = 3
    BUNKER = 4
    WATER = 5
    OUT_OF_BOUNDS = 6

    @property
    def word(self) -> str:
        """The word used in hole files, tables and messages."""
        return self.name.lower()


GROUND_BY_WORD: dict[str, Ground] = {ground.word: ground for ground in Ground}
HAZARDS = (Ground.BUNKER, Ground.WATER, Ground.TREES, Ground.OUT_OF_BOUNDS)

# The lie from which the next stroke is played; water and out of bounds have rules of their own.
LIE_OF_GROUND: dict[Ground, str] = {
    Ground.ROUGH: "rough",
    Ground.FAIRWAY: "fairway",
    Ground.TREES: "recovery",
    Ground.GREEN: "green",
    Ground.BUNKER: "sand",
}

# Grown trees beside a fairway where a hole file says nothing, 15 yd; common practice, no source.
TREE_HEIGHT_M = 15.0 * YARD_M


@dataclass(frozen=True)
class Area:
    """One shape of a hole.

    Parameters
    ----------
    ground : Ground
        What it is.
    name : str
        What people call it.
    shape : shapely geometry
        Polygon or multipolygon, in metres along (x) and across (y).
    lateral : bool
        For water: a red penalty area, where relief to the side is allowed.
    height_m : float
        For trees: how high they stand above the ball [m]; a lower ball is stopped. 0 stops none.
    """

    ground: Ground
    name: str
    shape: BaseGeometry
    lateral: bool = False
    height_m: float = TREE_HEIGHT_M


@dataclass(frozen=True)
class Hole:
    """A hole to be played from one spot.

    Parameters
    ----------
    name : str
        What people call it.
    par : int
        Par, 3 to 6.
    ball : tuple of float
        Where the ball lies, along and across [m].
    lie : str
        Lie of the ball, one of `rangeledger.models.strategy.strokes_to_hole_out.LIES`.
    flag : tuple of float
        Where the flag stands, along and across [m].
    areas : tuple of Area
        Shapes in any order; ground outside all of them is rough.
    flag_rise_m : float
        Height of the flag above the ball [m], down negative.
    line : tuple of tuple of float
        Points of the usual line of play from tee to flag, along and across [m]; empty means a
        straight line.
    """

    name: str
    par: int
    ball: tuple[float, float]
    lie: str
    flag: tuple[float, float]
    areas: tuple[Area, ...]
    flag_rise_m: float = 0.0
    line: tuple[tuple[float, float], ...] = ()

    @property
    def distance_m(self) -> float:
        """Straight distance from the ball to the flag [m]."""
        return float(np.hypot(self.flag[0] - self.ball[0], self.flag[1] - self.ball[1]))

    @property
    def flag_aim_rad(self) -> float:
        """Angle of the line from the ball to the flag [rad], right positive."""
        return float(np.arctan2(self.flag[1] - self.ball[1], self.flag[0] - self.ball[0]))

    def of(self, ground: Ground) -> tuple[Area, ...]:
        """Areas of one kind."""
        return tuple(area for area in self.areas if area.ground is ground)

    def played_from(self, ball: tuple[float, float], lie: str) -> Hole:
        """The same hole with the ball somewhere else.

        Parameters
        ----------
        ball : tuple of float
            Along and across [m].
        lie : str
            Lie of the ball there.

        Returns
        -------
        Hole
        """
        return replace(self, ball=ball, lie=lie)

    @cached_property
    def _layers(self) -> tuple[tuple[Ground, BaseGeometry], ...]:
        """One prepared shape a kind, in the order in which they overrule each other."""
        layers = []
        for ground in Ground:
            shapes = [area.shape for area in self.of(ground)]
            if shapes:
                layer = shapely.union_all(shapes)
                shapely.prepare(layer)
                layers.append((ground, layer))
        return tuple(layers)

    def ground(self, points: npt.ArrayLike) -> Codes:
        """Kind of ground at points.

        Parameters
        ----------
        points : array_like, shape (..., 2)
            Along and across [m].

        Returns
        -------
        ndarray of int8, shape (...)
            `Ground` codes; points on an edge count as outside.
        """
        where = np.asarray(points, dtype=float)
        flat = where.reshape(-1, 2)
        codes = np.zeros(len(flat), dtype=np.int8)
        for ground, layer in self._layers:
            left, low, right, high = layer.bounds
            near = (flat[:, 0] >= left) & (flat[:, 0] <= right)
            near &= (flat[:, 1] >= low) & (flat[:, 1] <= high)
            index = np.flatnonzero(near)
            inside = shapely.contains_xy(layer, flat[index, 0], flat[index, 1])
            codes[index[inside]] = ground
        return codes.reshape(where.shape[:-1])

    def tree_height(self, points: npt.ArrayLike) -> FloatArray:
        """Height of the trees over points.

        Parameters
        ----------
        points : array_like, shape (..., 2)
            Along and across [m].

        Returns
        -------
        ndarray, shape (...)
            Height [m], 0 where no trees stand; trees that the ball lies among count as none, for
            a player finds a gap.
        """
        where = np.asarray(points, dtype=float)
        tallest = np.zeros(where.shape[:-1])
        for area in self.of(Ground.TREES):
            if area.height_m > 0.0 and not shapely.contains_xy(area.shape, *self.ball):
                inside = shapely.contains_xy(area.shape, where[..., 0], where[..., 1])
                tallest = np.where(inside, np.maximum(tallest, area.height_m), tallest)
        return tallest

    def spot_at_distance_left(self, distance_m: float) -> tuple[float, float]:
        """Point of the line of play from which the flag is a given distance away.

        Parameters
        ----------
        distance_m : float
            Straight distance left to the flag [m].

        Returns
        -------
        tuple of float
            Along and across [m].

        Raises
        ------
        UsageError
            If the line of play is never that far from the flag.
        """
        line = shapely.LineString([*(self.line or (self.ball,)), self.flag])
        steps = np.linspace(1.0, 0.0, 2001)
        spots = shapely.get_coordinates(
            shapely.line_interpolate_point(line, steps, normalized=True)
        )
        away = np.hypot(*(spots - np.array(self.flag)).T)
        beyond = np.flatnonzero(away >= distance_m)
        if not beyond.size:
            raise UsageError(
                f"Hole '{self.name}' has no spot {distance_m:.0f} m from the flag on its line."
            )
        return float(spots[beyond[0], 0]), float(spots[beyond[0], 1])


@dataclass(frozen=True)
class HazardOnLine:
    """A hazard as met on one line of aim.

    Parameters
    ----------
    area : Area
        The hazard.
    reach_m : float
        Carry at which the hazard begins within the corridor [m].
    clear_m : float
        Carry at which the last of it within the corridor is behind the ball [m].
    """

    area: Area
    reach_m: float
    clear_m: float


def hazards_on_line(hole: Hole, aim_rad: float, half_width_m: float = 10.0) -> list[HazardOnLine]:
    """Hazards that a corridor about a line of aim touches, nearest first.

    Parameters
    ----------
    hole : Hole
        The hole with the ball in place.
    aim_rad : float
        Angle of aim [rad], right positive.
    half_width_m : float
        Half width of the corridor [m], > 0.

    Returns
    -------
    list of HazardOnLine
        With the carries to reach and to clear each [m], measured along the line of aim.

    Notes
    -----
    Only the part of a hazard inside the corridor counts, so a stream that turns up beside the
    green is cleared where the line leaves it. Hazards behind the ball are left out.
    """
    length = hole.distance_m + 200.0
    corridor = shapely.box(0.0, -half_width_m, length, half_width_m)
    found = []
    for area in hole.areas:
        if area.ground not in HAZARDS:
            continue
        part = shapely.intersection(_from_ball(area.shape, hole.ball, aim_rad), corridor)
        if not part.is_empty:
            reach, _, clear, _ = part.bounds
            found.append(HazardOnLine(area, float(reach), float(clear)))
    return sorted(found, key=lambda hazard: (hazard.reach_m, hazard.area.name))


def _from_ball(shape: BaseGeometry, ball: tuple[float, float], aim_rad: float) -> BaseGeometry:
    """The shape seen from the ball, the line of aim as first axis."""
    cosine, sine = np.cos(aim_rad), np.sin(aim_rad)
    turn = np.array([[cosine, -sine], [sine, cosine]])
    return shapely.transform(shape, lambda xy: (xy - np.array(ball)) @ turn)
