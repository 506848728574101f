"""Plots seen from above: the bag, and where the shots of one club come down."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import polars as pl
from markupsafe import Markup
from rangeledger.warehouse.pages import drawing as draw
from rangeledger.warehouse.pages.drawing import Scale, ticks
from rangeledger.warehouse.pages.units import PageUnit, club_label

_PLAN_WIDTH = 300
_LEFT, _RIGHT, _TOP, _BOTTOM = 34, 8, 8, 22
# Dash of each ellipse by its level, so that they differ without colour.
_DASHES = {0.5: "", 0.8: "6 3", 0.9: "2 3"}


def dispersion_plan(
    label: str, ellipses: pl.DataFrame, shots: pl.DataFrame, unit: PageUnit
) -> Markup:
    """Where the shots of one club come down, seen from above, target up the page.

    Parameters
    ----------
    label : str
        Club and swing in words.
    ellipses : polars.DataFrame
        Rows of the club from the dispersion view.
    shots : polars.DataFrame
        The club's shots: still_carry_m, still_side_m, strike.
    unit : PageUnit
        Unit of the grid.

    Returns
    -------
    markupsafe.Markup
    """
    rings = [outline_of(row, unit) for row in ellipses.iter_rows(named=True)]
    known = shots.filter(pl.col("still_side_m").is_not_null())
    side = known["still_side_m"].to_numpy() / unit.length_m
    carry = known["still_carry_m"].to_numpy() / unit.length_m
    clean = (known["strike"] != "mishit").fill_null(value=True).to_numpy()
    x, y, height = plan_scales(rings, side, carry)
    shown = (carry >= y.low) & (carry <= y.high) & (side >= x.low) & (side <= x.high)
    parts = [*plan_grid(x, y, height)]
    parts.append(draw.dots(x.many(side[shown & clean]), y.many(carry[shown & clean]), draw.BLUE))
    missed = shown & ~clean
    parts.append(draw.crosses(x.many(side[missed]), y.many(carry[missed]), draw.VERMILION))
    for level, points in rings:
        ring = [(x(a), y(b)) for a, b in points]
        parts.append(draw.path(ring, draw.INK, dash=_DASHES.get(level, "4 2"), close=True))
    away = int((~shown).sum())
    if away:
        words = f"{away} farther off"
        parts.append(
            draw.text(
                _PLAN_WIDTH - _RIGHT - 2, height - _BOTTOM - 4, words, anchor="end", halo=True
            )
        )
    return draw.figure(
        _PLAN_WIDTH, height, f"Dispersion of the {label}", _summary(label, known, unit), parts
    )


def outline_of(row: dict[str, Any], unit: PageUnit) -> tuple[float, list[tuple[float, float]]]:
    """Level and outline of an ellipse in page units."""
    centre = (unit.of(row["centre_side_m"]), unit.of(row["centre_carry_m"]))
    axes = (unit.of(row["half_axis_long_m"]), unit.of(row["half_axis_short_m"]))
    return row["level"], draw.ellipse_points(centre, axes, row["angle_deg"])


def plan_scales(
    rings: Sequence[tuple[float, list[tuple[float, float]]]], side: np.ndarray, carry: np.ndarray
) -> tuple[Scale, Scale, int]:
    """One scale for both axes, wide enough for the ellipses and nearly all shots."""
    outline = np.array([point for _, points in rings for point in points]).reshape(-1, 2)
    sides = np.concatenate((outline[:, 0], _middle(side), [0.0]))
    carries = np.concatenate((outline[:, 1], _middle(carry)))
    if not len(carries):
        carries = np.array([0.0, 10.0])
    half = max(1.08 * float(np.abs(sides).max()), 6.0)
    low, high = float(carries.min()), float(carries.max())
    pad = 0.06 * max(high - low, 4.0)
    low, high = low - pad, high + pad
    pixels = (_PLAN_WIDTH - _LEFT - _RIGHT) / (2.0 * half)
    tall = min(max((high - low) * pixels, 130.0), 420.0)
    if (high - low) * pixels > tall:
        half *= (high - low) * pixels / tall
        pixels = (_PLAN_WIDTH - _LEFT - _RIGHT) / (2.0 * half)
    extra = (tall / pixels - (high - low)) / 2.0
    height = round(tall) + _TOP + _BOTTOM
    x = Scale(-half, half, _LEFT, _PLAN_WIDTH - _RIGHT)
    return x, Scale(low - extra, high + extra, height - _BOTTOM, _TOP), height


def _middle(values: np.ndarray) -> np.ndarray:
    """Ends between which 96 % of values lie, or all of a few."""
    if len(values) < 12:
        return values
    return np.asarray(np.quantile(values, (0.02, 0.98)))


def plan_grid(x: Scale, y: Scale, height: int) -> list[str]:
    """Grid, target line and numbers of a plan."""
    parts = []
    for value in ticks(y.low, y.high, 6):
        parts.append(draw.line(_LEFT, y(value), _PLAN_WIDTH - _RIGHT, y(value)))
        parts.append(draw.text(_LEFT - 4, y(value) + 4, f"{value:g}", anchor="end"))
    for value in ticks(x.low, x.high, 5):
        parts.append(draw.line(x(value), _TOP, x(value), height - _BOTTOM))
        words = f"{abs(value):g}{' L' if value < 0 else ' R' if value > 0 else ''}"
        parts.append(draw.text(x(value), height - 7, words, anchor="middle"))
    parts.append(draw.line(x(0.0), _TOP, x(0.0), height - _BOTTOM, draw.INK, 1.0))
    return parts


def _summary(label: str, shots: pl.DataFrame, unit: PageUnit) -> str:
    missed = shots.filter(pl.col("strike") == "mishit").height
    return (
        f"{shots.height} landing points of the {label} in still air, {missed} of them mishits, in "
        f"{unit.word}, with ellipses that hold half, 80 and 90 per cent of next shots."
    )


def bag_plan(ellipses: pl.DataFrame, unit: PageUnit, level: float = 0.8) -> Markup:
    """The 80 % ellipses of all full swings from above.

    Parameters
    ----------
    ellipses : polars.DataFrame
        Rows of the dispersion view.
    unit : PageUnit
        Unit of the grid.
    level : float
        Which ellipses.

    Returns
    -------
    markupsafe.Markup
    """
    rows = ellipses.filter((pl.col("level") == level) & (pl.col("swing") == "full"))
    rings = [
        (club_label(row["club"], "full"), outline_of(row, unit)[1])
        for row in rows.iter_rows(named=True)
    ]
    if not rings:
        return Markup("")
    outline = np.array([point for _, points in rings for point in points])
    half = 1.1 * float(np.abs(outline[:, 0]).max())
    low, high = max(float(outline[:, 1].min()) - 4.0, 0.0), float(outline[:, 1].max()) + 4.0
    width, label_room = 340, 96
    room = width - _LEFT - label_room
    pixels = min(room / (2.0 * half), 640.0 / (high - low))  # one scale for both axes
    half, tall = room / (2.0 * pixels), (high - low) * pixels
    height = round(tall) + _TOP + _BOTTOM
    x = Scale(-half, half, _LEFT, width - label_room)
    y = Scale(low, high, height - _BOTTOM, _TOP)
    parts = [draw.line(x(0.0), _TOP, x(0.0), height - _BOTTOM, draw.INK)]
    for value in ticks(low, high, 8):
        parts.append(draw.line(_LEFT, y(value), width - label_room, y(value)))
        parts.append(draw.text(_LEFT - 4, y(value) + 4, f"{value:g}", anchor="end"))
    for value in ticks(-half, half, 5):
        words = f"{abs(value):g}{' L' if value < 0 else ' R' if value > 0 else ''}"
        parts.append(draw.text(x(value), height - 7, words, anchor="middle"))
    parts += _bag_rings(rings, x, y, width - label_room + 6)
    return draw.figure(
        width,
        height,
        "The bag from above",
        f"Ellipses that hold {level:.0%} of next shots with each full swing, in {unit.word}.",
        parts,
    )


def _bag_rings(
    rings: Sequence[tuple[str, list[tuple[float, float]]]], x: Scale, y: Scale, label_x: float
) -> list[str]:
    """Outlines in alternating colours and dashes, each with its name beside it."""
    parts, taken = [], -math.inf
    middles = [(float(np.mean([b for _, b in points])), name, points) for name, points in rings]
    for place, (middle, name, points) in enumerate(sorted(middles, reverse=True)):
        colour = draw.BLUE if place % 2 else draw.VERMILION
        ring = [(x(a), y(b)) for a, b in points]
        parts.append(
            draw.path(
                ring, colour, fill=colour, opacity=0.08, dash="5 3" if place % 2 else "", close=True
            )
        )
        at = max(y(middle), taken + 13.0)
        taken = at
        right = max(a for a, _ in ring)
        parts.append(draw.line(right, y(middle), label_x - 2, at, colour, 0.8))
        parts.append(draw.text(label_x, at + 4, name, colour=colour))
    return parts
