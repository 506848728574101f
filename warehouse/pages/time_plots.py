"""One club by the calendar: its level with each session's centre, and each session's spread."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

import polars as pl
from markupsafe import Markup
from rangeledger.schemas.units import counted
from rangeledger.warehouse.pages import drawing as draw
from rangeledger.warehouse.pages.drawing import Scale, ticks
from rangeledger.warehouse.pages.units import PageUnit, day

_WIDTH = 300
_LEFT, _RIGHT, _TOP, _BOTTOM = 34, 8, 14, 22
# A monitor's mark; the rest share the last.
_COLOURS = (draw.BLUE, draw.VERMILION, draw.GREEN, draw.PURPLE)


@dataclass(frozen=True, slots=True)
class Marks:
    """What is marked beside the sessions.

    Parameters
    ----------
    lessons : tuple of str
        Days, as YYYY-MM-DD.
    monitors : tuple of str
        Monitors that are told apart.
    """

    lessons: tuple[str, ...] = ()
    monitors: tuple[str, ...] = ()

    def about(self) -> str:
        """What the marks of the monitors mean; nothing where there is one or none."""
        if len(self.monitors) < 2:
            return ""
        labels = [f"{_shape_word(place)} {name}" for place, name in enumerate(self.monitors)]
        return f" Monitors: {', '.join(labels)}."

    def style(self, monitor: str | None) -> int:
        """Which mark a monitor has."""
        known = self.monitors.index(monitor) if monitor in self.monitors else 0
        return min(known, len(_COLOURS) - 1)


def _shape_word(place: int) -> str:
    return ("round", "square", "upright", "flat")[min(place, 3)]


def level_over_time(label: str, trend: pl.DataFrame, marks: Marks, unit: PageUnit) -> Markup:
    """Carry by session with the level and its band.

    Parameters
    ----------
    label : str
        Club and swing in words.
    trend : polars.DataFrame
        The club's rows of carry_trend in order, with `flagged` and `monitor`.
    marks : Marks
        Lessons and monitors.
    unit : PageUnit
        Unit of the axis.

    Returns
    -------
    markupsafe.Markup
    """
    rows = [row for row in trend.to_dicts() if row["carry_m"] is not None]
    names = ("carry_m", "level_low_m", "level_high_m")
    values = [unit.of(row[name]) for row in rows for name in names if row[name] is not None]
    pad = max(0.15 * (max(values) - min(values)), 2.0)
    frame = _Frame(rows, min(values) - pad, max(values) + pad, 150)
    parts = [*frame.grid(), *_level_band(rows, frame, unit), *frame.lessons(marks)]
    for row in rows:
        at = (frame.x_of(row), frame.y(unit.of(row["carry_m"])))
        parts.append(_mark(at, row, marks))
    summary = (
        f"Centre of clean strikes in each of {counted(len(rows), 'session')} in {unit.word}, with "
        "the level and its 90 per cent band."
    )
    return draw.figure(_WIDTH, 150, f"Carry of the {label} over time", summary, parts)


def spread_over_time(label: str, trend: pl.DataFrame, marks: Marks, unit: PageUnit) -> Markup:
    """Spread of carry by session.

    Parameters
    ----------
    label : str
        Club and swing in words.
    trend : polars.DataFrame
        As for `level_over_time`.
    marks : Marks
        Lessons and monitors.
    unit : PageUnit
        Unit of the axis.

    Returns
    -------
    markupsafe.Markup
    """
    rows = [row for row in trend.to_dicts() if row["carry_sd_m"] is not None]
    top = max([unit.of(row["carry_sd_m"]) for row in rows], default=1.0)
    frame = _Frame(rows, 0.0, max(1.15 * top, 2.0), 100)
    wide = min(5.0, 0.7 * (_WIDTH - _LEFT - _RIGHT) / max(len(rows), 1))
    parts = [*frame.grid(), *frame.lessons(marks)]
    for row in rows:
        x, y = frame.x_of(row), frame.y(unit.of(row["carry_sd_m"]))
        parts.append(draw.line(x, frame.y(0.0), x, y, draw.SKY, wide))
        parts.append(draw.line(x - 0.8 * wide, y, x + 0.8 * wide, y, draw.INK, 1.6))
    summary = f"Standard deviation of clean strikes in each session, in {unit.word}."
    return draw.figure(_WIDTH, 100, f"Spread of the {label} over time", summary, parts)


class _Frame:
    """Axes: days across, lengths up; sessions without a date stand one after the other."""

    def __init__(
        self, rows: Sequence[dict[str, Any]], low: float, high: float, height: int
    ) -> None:
        self._rows, self._height = rows, height
        self._dated = bool(rows) and all(row["started_at"] is not None for row in rows)
        self._places = {row["session_id"]: float(place) for place, row in enumerate(rows)}
        ends = [self._at(row) for row in rows] or [0.0]
        pad = max(0.03 * (ends[-1] - ends[0]), 0.5)
        self.x = Scale(min(ends) - pad, max(ends) + pad, _LEFT, _WIDTH - _RIGHT)
        self.y = Scale(low, high, height - _BOTTOM, _TOP)

    def _at(self, row: dict[str, Any]) -> float:
        if not self._dated:
            return self._places[row["session_id"]]
        started: datetime = row["started_at"]
        return started.timestamp() / 86400.0

    def x_of(self, row: dict[str, Any]) -> float:
        """Pixel of a session."""
        return self.x(self._at(row))

    def grid(self) -> list[str]:
        """Lines of the lengths, and the first and last day."""
        parts = []
        for value in ticks(self.y.low, self.y.high, 5 if self._height > 120 else 3):
            parts.append(draw.line(_LEFT, self.y(value), _WIDTH - _RIGHT, self.y(value)))
            parts.append(draw.text(_LEFT - 4, self.y(value) + 4, f"{value:g}", anchor="end"))
        if self._dated:
            first, last = self._rows[0]["started_at"], self._rows[-1]["started_at"]
            parts.append(draw.text(_LEFT, self._height - 7, day(first)))
            parts.append(draw.text(_WIDTH - _RIGHT, self._height - 7, day(last), anchor="end"))
        return parts

    def lessons(self, marks: Marks) -> list[str]:
        """An upright stroke at each lesson within the days shown."""
        parts: list[str] = []
        for text in marks.lessons if self._dated else ():
            at = _noon(text)
            if at is not None and self.x.low <= at <= self.x.high:
                x = self.x(at)
                parts.append(draw.line(x, _TOP - 4, x, self.y.start, draw.INK, 1.4, "3 2"))
                parts.append(draw.text(x, _TOP - 5, "lesson", anchor="middle", size=9, halo=True))
        return parts


def _noon(text: str) -> float | None:
    try:
        found = datetime.combine(date.fromisoformat(text), datetime.min.time())
    except ValueError:
        return None
    return (found + timedelta(hours=12)).timestamp() / 86400.0


def _mark(at: tuple[float, float], row: dict[str, Any], marks: Marks) -> str:
    """A session: a diamond where it stands out, else the mark of its monitor."""
    x, y = at
    if row["flagged"]:
        return draw.diamond(x, y, draw.ORANGE)
    style = marks.style(row["monitor"])
    colour = _COLOURS[style]
    wide, tall = ((3, 3), (3, 3), (1.8, 4), (4, 1.8))[style]
    if style == 0:
        return draw.disc(x, y, colour)
    corners = [
        (x - wide, y - tall),
        (x + wide, y - tall),
        (x + wide, y + tall),
        (x - wide, y + tall),
    ]
    return draw.path(corners, colour, fill=colour, close=True)


def _level_band(rows: Sequence[dict[str, Any]], frame: _Frame, unit: PageUnit) -> list[str]:
    known = [row for row in rows if row["level_m"] is not None]
    if not known:
        return []
    top = [(frame.x_of(row), frame.y(unit.of(row["level_high_m"]))) for row in known]
    foot = [(frame.x_of(row), frame.y(unit.of(row["level_low_m"]))) for row in reversed(known)]
    level = [(frame.x_of(row), frame.y(unit.of(row["level_m"]))) for row in known]
    return [
        draw.path([*top, *foot], "none", width=0, fill=draw.SKY, opacity=0.35, close=True),
        draw.path(level, draw.BLACK, width=1.6),
    ]
