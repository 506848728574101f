"""Plots of carry: the bands of all clubs, and one club over time."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import polars as pl
from markupsafe import Markup
from rangeledger.schemas.units import counted
from rangeledger.warehouse.pages import drawing as draw
from rangeledger.warehouse.pages.drawing import Scale, ticks
from rangeledger.warehouse.pages.units import PageUnit, club_label, day

_WIDTH = 300
_LEFT, _RIGHT, _TOP, _BOTTOM = 34, 8, 8, 22


def carry_bands(carry: pl.DataFrame, usual: str, unit: PageUnit) -> Markup:
    """The band of the next shot of each club and swing, with its centre.

    Parameters
    ----------
    carry : polars.DataFrame
        Rows of carry_by_club, longest first.
    usual : str
        Ball that is not named.
    unit : PageUnit
        Unit of the axis.

    Returns
    -------
    markupsafe.Markup
    """
    rows = carry.to_dicts()
    if not rows:
        return Markup("")
    labels = [club_label(row["club"], row["swing"], row["ball"], usual) for row in rows]
    width, row_height = 360, 19
    label_room = min(max(6.0 * max(len(label) for label in labels) + 12.0, 70.0), 190.0)
    height = row_height * len(rows) + _TOP + _BOTTOM
    lows = [unit.of(row["carry_p10_m"] or row["carry_m"]) for row in rows]
    highs = [unit.of(row["carry_p90_m"] or row["carry_m"]) for row in rows]
    x = Scale(max(min(lows) - 5.0, 0.0), max(highs) + 5.0, label_room, width - 12)
    parts = []
    for value in ticks(x.low, x.high, 6):
        parts.append(draw.line(x(value), _TOP, x(value), height - _BOTTOM))
        parts.append(draw.text(x(value), height - 7, f"{value:g}", anchor="middle"))
    for place, (row, low, high) in enumerate(zip(rows, lows, highs, strict=True)):
        y = _TOP + row_height * (place + 0.5)
        parts.append(draw.text(label_room - 6, y + 4, labels[place], anchor="end"))
        parts.append(draw.line(x(low), y, x(high), y, draw.SKY, 8.0))
        centre = unit.of(row["carry_m"])
        parts.append(draw.line(x(centre), y - 7, x(centre), y + 7, draw.BLACK, 2.0))
    return draw.figure(
        width, height, "Carry of each club",
        f"Bars: the band that holds eight of ten next shots, mishits included, in {unit.word}; "
        "upright strokes: the centre of clean strikes.", parts,
    )  # fmt: skip


def carry_over_time(
    label: str, trend: pl.DataFrame, flagged: frozenset[str], unit: PageUnit
) -> Markup:
    """Carry of one club session by session, with the level and its band.

    Parameters
    ----------
    label : str
        Club and swing in words.
    trend : polars.DataFrame
        The club's rows of carry_trend in order.
    flagged : frozenset of str
        Sessions that stand out.
    unit : PageUnit
        Unit of the axis.

    Returns
    -------
    markupsafe.Markup
    """
    rows = [row for row in trend.to_dicts() if row["carry_m"] is not None]
    if not rows:
        return Markup("")
    width, height = _WIDTH, 150
    values = [
        row[name]
        for row in rows
        for name in ("carry_m", "level_low_m", "level_high_m")
        if row[name] is not None
    ]
    low, high = unit.of(min(values)), unit.of(max(values))
    pad = max(0.15 * (high - low), 2.0)
    x = Scale(-0.5, max(len(rows) - 0.5, 0.5), _LEFT, width - _RIGHT)
    y = Scale(low - pad, high + pad, height - _BOTTOM, _TOP)
    parts = []
    for value in ticks(y.low, y.high, 5):
        parts.append(draw.line(_LEFT, y(value), width - _RIGHT, y(value)))
        parts.append(draw.text(_LEFT - 4, y(value) + 4, f"{value:g}", anchor="end"))
    parts += _level_band(rows, x, y, unit)
    for place, row in enumerate(rows):
        at = (x(place), y(unit.of(row["carry_m"])))
        if row["session_id"] in flagged:
            parts.append(draw.diamond(*at, draw.ORANGE))
        else:
            parts.append(
                draw.dots(np.array([at[0]]), np.array([at[1]]), draw.BLUE, size=6, opacity=1)
            )
    parts += _dates(rows, x, height)
    return draw.figure(
        width, height, f"Carry of the {label} over time",
        f"Centre of clean strikes in each of {counted(len(rows), 'session')} in {unit.word}, with "
        "the level of carry and its 90 per cent band; diamonds are sessions that stand out.", parts,
    )  # fmt: skip


def _level_band(rows: Sequence[dict[str, Any]], x: Scale, y: Scale, unit: PageUnit) -> list[str]:
    known = [(place, row) for place, row in enumerate(rows) if row["level_m"] is not None]
    if not known:
        return []
    top = [(x(place), y(unit.of(row["level_high_m"]))) for place, row in known]
    foot = [(x(place), y(unit.of(row["level_low_m"]))) for place, row in reversed(known)]
    level = [(x(place), y(unit.of(row["level_m"]))) for place, row in known]
    return [
        draw.path([*top, *foot], "none", width=0, fill=draw.SKY, opacity=0.35, close=True),
        draw.path(level, draw.BLACK, width=1.6),
    ]


def _dates(rows: Sequence[dict[str, Any]], x: Scale, height: int) -> list[str]:
    """Date of the first and of the last session."""
    parts = []
    for place, anchor in ((0, "start"), (len(rows) - 1, "end")):
        started = rows[place]["started_at"]
        words = day(started) if started is not None else f"session {place + 1}"
        if place == 0 or len(rows) > 1:
            at = _LEFT if anchor == "start" else x.end
            parts.append(draw.text(at, height - 7, words, anchor=anchor))
    return parts
