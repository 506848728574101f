"""A hole from above, target up the page, with the pattern of a choice drawn on it."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from markupsafe import Markup
from rangeledger.models.arrays import FloatArray
from rangeledger.models.strategy.hole_geometry import Ground, Hole
from rangeledger.warehouse.pages import drawing as draw
from rangeledger.warehouse.pages.drawing import Scale, ticks
from rangeledger.warehouse.pages.units import PageUnit
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

_WIDTH, _TALLEST = 340, 640
_LEFT, _RIGHT, _TOP, _BOTTOM = 34, 10, 10, 22
# Colour, opacity and dash of each ground: every one has a line of its own beside its colour.
_STYLES = {
    Ground.FAIRWAY: (draw.GREEN, 0.16, ""), Ground.GREEN: (draw.GREEN, 0.45, ""),
    Ground.BUNKER: (draw.ORANGE, 0.4, "2 2"), Ground.WATER: (draw.BLUE, 0.4, "6 3"),
    Ground.TREES: (draw.INK, 0.22, "1 3"), Ground.OUT_OF_BOUNDS: (draw.VERMILION, 0.15, "8 3 2 3"),
}  # fmt: skip
# How far around ball and flag the drawing goes [m], so that what lies beside is seen.
_MARGIN_M, _BEYOND_M, _BEHIND_M = 45.0, 35.0, 12.0


def hole_plan(
    hole: Hole, unit: PageUnit, landings: FloatArray | None = None, aim_rad: float | None = None
) -> Markup:
    """A hole, and where shots come down on it.

    Parameters
    ----------
    hole : Hole
        With the ball in place.
    unit : PageUnit
        Unit of the grid.
    landings : ndarray, shape (n, 2) or None
        Landing points: carry along the aim, side across it [m].
    aim_rad : float or None
        Angle of aim from the along axis, right positive.

    Returns
    -------
    markupsafe.Markup
    """
    x, y, height = _scales(hole, unit)
    view = box(y.low * unit.length_m, x.low * unit.length_m, y.high * unit.length_m,
               x.high * unit.length_m)  # fmt: skip
    parts = list(_areas(hole, view, x, y, unit))
    parts += _grid(x, y, height)
    if aim_rad is not None:
        parts.append(_aim(hole, aim_rad, x, y, unit))
    if landings is not None:
        parts.append(_dots(hole, _turned(landings, aim_rad or 0.0), x, y, unit))
    parts += _marks(hole, x, y, unit)
    names = ", ".join(dict.fromkeys(area.name.replace("_", " ") for area in hole.areas))
    summary = f"From above, target up the page, in {unit.word}: {names}."
    return draw.figure(_WIDTH, height, hole.name, summary, parts)


def _scales(hole: Hole, unit: PageUnit) -> tuple[Scale, Scale, int]:
    """One scale for both directions around ball and flag."""
    spots = [hole.ball, hole.flag, *hole.line]
    low = min(spot[0] for spot in spots) - _BEHIND_M
    high = max(spot[0] for spot in spots) + _BEYOND_M
    left = min(spot[1] for spot in spots) - _MARGIN_M
    right = max(spot[1] for spot in spots) + _MARGIN_M
    room = _WIDTH - _LEFT - _RIGHT
    pixels = min(room / (right - left), _TALLEST / (high - low))
    middle, half = (left + right) / 2.0, room / (2.0 * pixels)
    height = round((high - low) * pixels) + _TOP + _BOTTOM
    x = Scale(unit.of(middle - half), unit.of(middle + half), _LEFT, _WIDTH - _RIGHT)
    return x, Scale(unit.of(low), unit.of(high), height - _BOTTOM, _TOP), height


def _areas(hole: Hole, view: BaseGeometry, x: Scale, y: Scale, unit: PageUnit) -> Iterator[str]:
    """Shapes as far as they are in view, the green above the fairway."""
    for area in sorted(hole.areas, key=lambda area: list(_STYLES).index(area.ground)):
        colour, opacity, dash = _STYLES[area.ground]
        for outline in _outlines(area.shape.intersection(view)):
            points = [(x(unit.of(across)), y(unit.of(along))) for along, across in outline]
            yield draw.path(
                points, colour, width=1.2, fill=colour, opacity=opacity, dash=dash, close=True
            )


def _outlines(shape: BaseGeometry) -> Iterator[list[tuple[float, float]]]:
    for part in getattr(shape, "geoms", [shape]):
        if isinstance(part, Polygon) and not part.is_empty:
            yield [(float(a), float(b)) for a, b in part.exterior.coords]


def _grid(x: Scale, y: Scale, height: int) -> list[str]:
    parts = []
    for value in ticks(y.low, y.high, 8):
        parts.append(draw.line(_LEFT, y(value), _WIDTH - _RIGHT, y(value)))
        parts.append(draw.text(_LEFT - 4, y(value) + 4, f"{value:g}", anchor="end"))
    for value in ticks(x.low, x.high, 4):
        words = f"{abs(value):g}{' L' if value < 0 else ' R' if value > 0 else ''}"
        parts.append(draw.text(x(value), height - 7, words, anchor="middle"))
    return parts


def _marks(hole: Hole, x: Scale, y: Scale, unit: PageUnit) -> list[str]:
    """Ball and flag."""
    ball = (x(unit.of(hole.ball[1])), y(unit.of(hole.ball[0])))
    foot = (x(unit.of(hole.flag[1])), y(unit.of(hole.flag[0])))
    flag = [(foot[0], foot[1] - 16), (foot[0] + 9, foot[1] - 12), (foot[0], foot[1] - 8)]
    return [
        draw.disc(*ball, draw.INK, 7.0),
        draw.line(*foot, foot[0], foot[1] - 16, draw.INK, 1.6),
        draw.path(flag, draw.INK, width=0.8, fill=draw.VERMILION, close=True),
    ]


def _aim(hole: Hole, aim_rad: float, x: Scale, y: Scale, unit: PageUnit) -> str:
    """The line of aim, as long as the hole."""
    far = hole.distance_m
    along = hole.ball[0] + far * math.cos(aim_rad)
    across = hole.ball[1] + far * math.sin(aim_rad)
    start = (x(unit.of(hole.ball[1])), y(unit.of(hole.ball[0])))
    return draw.line(*start, x(unit.of(across)), y(unit.of(along)), draw.INK, 1.0, "5 4")


def _turned(landings: FloatArray, aim_rad: float) -> FloatArray:
    """Points along and across an aim, along and across the hole."""
    turn = np.array(
        [[math.cos(aim_rad), math.sin(aim_rad)], [-math.sin(aim_rad), math.cos(aim_rad)]]
    )
    return np.asarray(landings @ turn)


def _dots(hole: Hole, landings: FloatArray, x: Scale, y: Scale, unit: PageUnit) -> str:
    along = (landings[:, 0] + hole.ball[0]) / unit.length_m
    across = (landings[:, 1] + hole.ball[1]) / unit.length_m
    inside = (along > y.low) & (along < y.high) & (across > x.low) & (across < x.high)
    at = (np.asarray(x.many(across[inside])), np.asarray(y.many(along[inside])))
    return draw.dots(*at, draw.PURPLE, size=3.2, opacity=0.75)
