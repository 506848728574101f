"""Landing points of several clubs over each other, on one or two plans of the same scale."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl
from markupsafe import Markup
from rangeledger.models.arrays import FloatArray
from rangeledger.schemas.units import counted
from rangeledger.warehouse.pages import drawing as draw
from rangeledger.warehouse.pages.drawing import Scale
from rangeledger.warehouse.pages.plan_plots import outline_of, plan_grid, plan_scales
from rangeledger.warehouse.pages.units import PageUnit

# Colour and dash of each club in turn, so that no two neighbours share either.
_STYLES = (
    (draw.BLUE, ""), (draw.VERMILION, "6 3"), (draw.GREEN, "2 3"), (draw.PURPLE, "8 3 2 3"),
    (draw.ORANGE, "4 4"),
)  # fmt: skip
_LABEL_PX = 13


@dataclass(frozen=True, slots=True)
class Group:
    """Shots drawn alike.

    Parameters
    ----------
    label : str
        What they are.
    shots : polars.DataFrame
        still_side_m, still_carry_m, strike; all sides known.
    rings : polars.DataFrame or None
        Rows of the dispersion view to draw around them.
    """

    label: str
    shots: pl.DataFrame
    rings: pl.DataFrame | None = None

    def points(self, unit: PageUnit) -> tuple[FloatArray, FloatArray]:
        """Side and carry in the unit of the page."""
        side = self.shots["still_side_m"].to_numpy() / unit.length_m
        return side, self.shots["still_carry_m"].to_numpy() / unit.length_m

    def outlines(self, unit: PageUnit) -> list[tuple[float, list[tuple[float, float]]]]:
        """Level and outline of each ring."""
        rows = [] if self.rings is None else self.rings.to_dicts()
        return [outline_of(row, unit) for row in rows]


def overlay_plans(sides: Sequence[Sequence[Group]], unit: PageUnit) -> list[Markup]:
    """A plan for each side, all of the same scale.

    Parameters
    ----------
    sides : sequence of sequence of Group
        What each plan shows.
    unit : PageUnit
        Unit of the grid.

    Returns
    -------
    list of markupsafe.Markup
    """
    every = [group for side in sides for group in side]
    points = [group.points(unit) for group in every]
    rings = [ring for group in every for ring in group.outlines(unit)]
    side = np.concatenate([p[0] for p in points]) if points else np.zeros(0)
    carry = np.concatenate([p[1] for p in points]) if points else np.zeros(0)
    x, y, height = plan_scales(rings, side, carry)
    return [_plan(groups, x, y, height, unit) for groups in sides]


def _plan(groups: Sequence[Group], x: Scale, y: Scale, height: int, unit: PageUnit) -> Markup:
    parts = [*plan_grid(x, y, height)]
    for place, group in enumerate(groups):
        parts += _marks(group, *_STYLES[place % len(_STYLES)], x, y, unit)
    parts += _legend(groups, x) if len(groups) > 1 else []
    shots = sum(group.shots.height for group in groups)
    names = ", ".join(group.label for group in groups) or "no club"
    summary = f"{counted(shots, 'landing point')} in still air, in {unit.word}, target up the page."
    return draw.figure(300, height, f"Dispersion: {names}", summary, parts)


def _marks(group: Group, colour: str, dash: str, x: Scale, y: Scale, unit: PageUnit) -> list[str]:
    side, carry = group.points(unit)
    shown = (carry >= y.low) & (carry <= y.high) & (side >= x.low) & (side <= x.high)
    clean = (group.shots["strike"] != "mishit").fill_null(value=True).to_numpy()
    good, bad = shown & clean, shown & ~clean
    parts = [
        draw.dots(x.many(side[good]), y.many(carry[good]), colour),
        draw.crosses(x.many(side[bad]), y.many(carry[bad]), colour),
    ]
    for _, points in group.outlines(unit):
        ring = [(x(a), y(b)) for a, b in points]
        parts.append(draw.path(ring, colour, dash=dash, width=1.8, close=True))
    return parts


def _legend(groups: Sequence[Group], x: Scale) -> list[str]:
    """Each club's name with its line, at the right upper corner."""
    parts = []
    for place, group in enumerate(groups):
        colour, dash = _STYLES[place % len(_STYLES)]
        at = 16.0 + _LABEL_PX * place
        parts.append(draw.line(x.end - 20, at - 4, x.end - 2, at - 4, colour, 2.4, dash))
        parts.append(draw.text(x.end - 24, at, group.label, anchor="end", halo=True))
    return parts
