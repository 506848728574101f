"""Mean strokes to hole out by distance and lie, from a table of nodes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache

import numpy as np
import numpy.typing as npt
from rangeledger.models.arrays import FloatArray
from rangeledger.models.strategy.published_strokes import PUTTS, STROKES_BY_LIE
from rangeledger.schemas.errors import UsageError
from rangeledger.schemas.units import FOOT_M, YARD_M
from scipy.interpolate import PchipInterpolator

LIES = ("tee", "fairway", "rough", "sand", "recovery", "green")
NEEDED_LIES = ("fairway", "rough", "sand", "green")


@dataclass(frozen=True)
class _Curve:
    """Monotone cubic through the nodes, carried on beyond them by the end chords."""

    distance_m: FloatArray
    strokes: FloatArray
    inside: PchipInterpolator = field(repr=False)

    def __call__(self, distance_m: npt.ArrayLike) -> FloatArray:
        x = np.asarray(distance_m, dtype=float)
        nodes, values = self.distance_m, self.strokes
        inner = self.inside(np.clip(x, nodes[0], nodes[-1]))
        first = (values[1] - values[0]) / (nodes[1] - nodes[0])
        last = (values[-1] - values[-2]) / (nodes[-1] - nodes[-2])
        below, above = np.minimum(x - nodes[0], 0.0), np.maximum(x - nodes[-1], 0.0)
        return np.asarray(np.maximum(inner + first * below + last * above, 1.0))


@dataclass(frozen=True, eq=False)
class StrokesToHoleOut:
    """Mean strokes to hole out as a function of distance and lie.

    Parameters
    ----------
    curves : mapping of str to curve
        One interpolated curve a lie; build it with `published` or `from_nodes`.
    source : str
        Where the numbers come from, in plain words.
    """

    curves: Mapping[str, _Curve]
    source: str

    @classmethod
    def published(cls) -> StrokesToHoleOut:
        """The published averages of tour professionals.

        Returns
        -------
        StrokesToHoleOut
            Table of `models.strategy.published_strokes`; most nodes there are from memory. The
            same one at each call, so that what is kept by table is found again.

        References
        ----------
        [broadie2012], [broadie2014].
        """
        return _published()

    @classmethod
    def from_nodes(
        cls, nodes: Mapping[str, Mapping[float, float]], source: str
    ) -> StrokesToHoleOut:
        """A table of one's own.

        Parameters
        ----------
        nodes : mapping of str to mapping of float to float
            For each lie, distance to the hole [m] and mean strokes to hole out [strokes].
            `tee` and `recovery` may be missing: a tee is then read as fairway, and a recovery
            as rough plus half a stroke (common practice, no source).
        source : str
            Where the numbers come from, in plain words.

        Returns
        -------
        StrokesToHoleOut

        Raises
        ------
        UsageError
            If a lie is unknown or missing, or its nodes are too few, repeated or impossible.
        """
        unknown = sorted(set(nodes) - set(LIES))
        if unknown:
            raise UsageError(
                f"Strokes table: lie '{unknown[0]}' is unknown; use one of {', '.join(LIES)}."
            )
        missing = [lie for lie in NEEDED_LIES if lie not in nodes]
        if missing:
            raise UsageError(f"Strokes table: lie '{missing[0]}' is missing; add its distances.")
        return cls({lie: _curve(lie, row) for lie, row in nodes.items()}, source)

    def strokes(self, distance_m: npt.ArrayLike, lie: str) -> FloatArray:
        """Mean strokes to hole out.

        Parameters
        ----------
        distance_m : array_like
            Distance to the hole [m], any shape, >= 0.
        lie : str
            One of `LIES`.

        Returns
        -------
        ndarray
            Mean strokes to hole out [strokes], same shape.

        Raises
        ------
        UsageError
            If the lie is unknown.

        Notes
        -----
        Nodes are reproduced; between them a monotone cubic (Fritsch and Carlson) never leaves
        the range of its two nodes. Beyond the first and last node the end chord is carried on,
        never below one stroke.
        """
        if lie not in LIES:
            raise UsageError(f"Lie '{lie}' is unknown; use one of {', '.join(LIES)}.")
        if lie not in self.curves:
            substitute, extra = ("fairway", 0.0) if lie == "tee" else ("rough", 0.5)
            return np.asarray(self.curves[substitute](distance_m) + extra)
        return self.curves[lie](distance_m)


def _curve(lie: str, row: Mapping[float, float]) -> _Curve:
    """Check one lie's nodes and interpolate them."""
    distance = np.array(sorted(row), dtype=float)
    strokes = np.array([row[d] for d in sorted(row)], dtype=float)
    if distance.size < 2:
        raise UsageError(f"Strokes table, lie '{lie}': give at least two distances.")
    if not np.all(np.isfinite(distance)) or not np.all(np.isfinite(strokes)):
        raise UsageError(f"Strokes table, lie '{lie}': every distance and stroke must be a number.")
    if distance[0] < 0.0 or strokes.min() < 1.0 or strokes.max() > 20.0:
        raise UsageError(
            f"Strokes table, lie '{lie}': distances start at 0 and strokes lie between 1 and 20."
        )
    return _Curve(distance, strokes, PchipInterpolator(distance, strokes))


@cache
def _published() -> StrokesToHoleOut:
    nodes = {
        lie: {distance * YARD_M: strokes for distance, strokes in row.items()}
        for lie, row in STROKES_BY_LIE.items()
    }
    nodes["green"] = {distance * FOOT_M: putts for distance, putts in PUTTS.items()}
    source = "averages of tour professionals, after Broadie (2012, 2014)"
    return StrokesToHoleOut.from_nodes(nodes, source)
