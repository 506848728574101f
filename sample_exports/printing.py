"""Print struck visits as the text of an export, in any layout.

A `Layout` is a table of fields and a few marks: delimiter, encoding, decimal mark, what stands
above the table and below it. This module turns it and the shots into bytes, and remembers which
line each shot went to, so that a test can ask a reader for the same values.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from rangeledger.sample_exports.scenario import Export, Visit
from rangeledger.sample_exports.swings import Columns, strike

# Exact by definition. Source: NIST Special Publication 811 (2008), appendix B.8.
UNIT_FACTORS: dict[str, float] = {
    "1": 1.0,
    "m": 1.0,
    "yd": 0.9144,
    "ft": 0.3048,
    "m/s": 1.0,
    "mph": 0.44704,
    "km/h": 1.0 / 3.6,
    "ft/s": 0.3048,
    "deg": 1.0,
    "rpm": 1.0,
    "s": 1.0,
    "degC": 1.0,
}


@dataclass(frozen=True, slots=True)
class Field:
    """One printed column: its heading, what it holds, unit, digits, and how a side is written.

    `side` is empty where right is positive, `left` where left is positive, and `words` where the
    number is followed by the word for left or right.
    """

    heading: str
    quantity: str
    unit: str = ""
    decimals: int = 1
    side: str = ""
    unit_word: str = ""


@dataclass(frozen=True, slots=True)
class Layout:
    """How an export looks: marks, encoding, what stands above and below its table."""

    name: str
    fields: tuple[Field, ...]
    delimiter: str = ","
    encoding: str = "utf-8"
    newline: str = "\n"
    decimal: str = "."
    thousands: str = ""
    missing: str = ""
    quote_all: bool = False
    above: Callable[[Export], list[list[str]]] | None = None
    groups: tuple[str, ...] = ()
    units_below: bool = False
    means: str = ""
    mean_word: str = ""
    spread_word: str = ""
    day_format: str = "%Y-%m-%d"
    time_format: str = "%H:%M:%S"
    club_word: Callable[[str], str] = str
    swing_words: Mapping[str, str] = field(default_factory=dict)
    side_words: tuple[str, str] = ("left", "right")
    ball_words: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class PrintedShot:
    """Where a shot was printed: line of the file from 1, its visit, its place in the visit."""

    line: int
    visit: Visit
    number: int


@dataclass(frozen=True, slots=True)
class PrintedExport:
    """An export's bytes, where its shots are, and the shots of its visits in order."""

    content: bytes
    shots: tuple[PrintedShot, ...]
    struck: tuple[Columns, ...]


def print_export(export: Export, layout: Layout) -> PrintedExport:
    """Print an export.

    Parameters
    ----------
    export : Export
        The file of the scenario.
    layout : Layout
        How it looks.

    Returns
    -------
    PrintedExport
        Bytes of the file and the line of each shot.
    """
    struck = tuple(strike(visit) for visit in export.visits)
    lines = list(layout.above(export)) if layout.above else []
    plain = len(lines)
    lines += _headings(layout)
    shots = []
    for visit, columns in zip(export.visits, struck, strict=True):
        for number in range(len(columns["club"])):
            lines.append([_cell(layout, f, visit, columns, number) for f in layout.fields])
            shots.append(PrintedShot(len(lines), visit, number))
    lines += _means(layout, struck)
    return PrintedExport(_encode(layout, lines, plain), tuple(shots), struck)


def _encode(layout: Layout, lines: list[list[str]], plain: int) -> bytes:
    """Join the cells; the first `plain` lines stand above the table and are never quoted."""
    text = io.StringIO()
    writer = csv.writer(
        text,
        delimiter=layout.delimiter,
        lineterminator=layout.newline,
        quoting=csv.QUOTE_ALL if layout.quote_all else csv.QUOTE_MINIMAL,
    )
    for cells in lines[:plain]:
        text.write(layout.delimiter.join(cells) + layout.newline)
    writer.writerows(lines[plain:])
    return text.getvalue().encode(layout.encoding)


def _headings(layout: Layout) -> list[list[str]]:
    """Group line, headings and unit line, as far as the layout has them."""
    rows = [list(layout.groups)] if layout.groups else []
    rows.append([f.heading for f in layout.fields])
    if layout.units_below:
        rows.append([f.unit_word for f in layout.fields])
    return rows


def _cell(layout: Layout, f: Field, visit: Visit, columns: Columns, number: int) -> str:
    """Text of one cell."""
    if f.quantity in _WORDS:
        return _WORDS[f.quantity](layout, visit, columns, number)
    value = quantity_of(columns, f.quantity)[number] / UNIT_FACTORS[f.unit]
    return _number_text(layout, f, value)


def quantity_of(columns: Columns, quantity: str) -> Any:
    """Values of a printed quantity in SI units; back and side spin come from spin and axis."""
    if quantity == "back_spin_rpm":
        return columns["spin_rate_rpm"] * np.cos(np.radians(columns["spin_axis_deg"]))
    if quantity == "side_spin_rpm":
        return columns["spin_rate_rpm"] * np.sin(np.radians(columns["spin_axis_deg"]))
    return columns[quantity]


def _number_text(layout: Layout, f: Field, value: float) -> str:
    """A number with the layout's marks; a missing one as the layout's word for it."""
    if not np.isfinite(value):
        return layout.missing
    if f.side == "left":
        value = -value
    rounded = round(float(value), f.decimals) + 0.0
    shown = abs(rounded) if f.side == "words" else rounded
    text = f"{shown:,.{f.decimals}f}" if layout.thousands else f"{shown:.{f.decimals}f}"
    if layout.thousands:
        text = text.replace(",", layout.thousands)
    text = text.replace(".", layout.decimal) if layout.decimal != "." else text
    if f.side == "words" and rounded != 0.0:
        text += " " + layout.side_words[rounded > 0]
    return text


def _means(layout: Layout, struck: tuple[Columns, ...]) -> list[list[str]]:
    """Summary rows below the table: means by club, or one mean and one spread of all shots."""
    if layout.means == "by club":
        return [
            _summary(layout, columns, f"{layout.mean_word} {layout.club_word(club)}", rows, np.mean)
            for columns in struck
            for club, rows in _rows_by_club(columns).items()
        ]
    if layout.means == "all":
        rows = np.arange(len(struck[0]["club"]))
        return [
            _summary(layout, struck[0], layout.mean_word, rows, np.mean),
            _summary(layout, struck[0], layout.spread_word, rows, np.std),
        ]
    return []


def _rows_by_club(columns: Columns) -> dict[str, Any]:
    """Places of each club's shots."""
    clubs = np.array(columns["club"])
    return {club: np.flatnonzero(clubs == club) for club in dict.fromkeys(columns["club"])}


def _summary(
    layout: Layout, columns: Columns, word: str, rows: Any, statistic: Callable[[Any], Any]
) -> list[str]:
    """One summary row; its word stands in the first column, times and words stay empty."""
    cells = []
    for f in layout.fields:
        if f.quantity in _WORDS:
            cells.append("")
            continue
        values = quantity_of(columns, f.quantity)[rows]
        value = statistic(values[np.isfinite(values)]) / UNIT_FACTORS[f.unit]
        cells.append(_number_text(layout, f, float(value)))
    cells[0] = word
    return cells


Word = Callable[[Layout, Visit, Columns, int], str]

_WORDS: dict[str, Word] = {
    "shot": lambda _layout, _visit, _columns, n: str(n + 1),
    "player": lambda _layout, visit, _columns, _n: visit.player,
    "day": lambda layout, _visit, columns, n: columns["struck_at"][n].strftime(layout.day_format),
    "time": lambda layout, _visit, columns, n: columns["struck_at"][n].strftime(layout.time_format),
    "instant": lambda _layout, _visit, columns, n: (
        columns["struck_at"][n].strftime("%Y-%m-%dT%H:%M:%S") + "+02:00"
    ),
    "club": lambda layout, _visit, columns, n: layout.club_word(columns["club"][n]),
    "swing": lambda layout, _visit, columns, n: layout.swing_words.get(
        columns["swing"][n], columns["swing"][n]
    ),
    "ball": lambda layout, visit, _columns, _n: layout.ball_words.get(visit.ball, visit.ball),
    "surface": lambda _layout, visit, _columns, _n: visit.surface,
    "flight_basis": lambda _layout, visit, _columns, _n: visit.flight_basis,
    "air_temp_c": lambda layout, visit, _columns, _n: f"{visit.weather.air_temp_c:.1f}".replace(
        ".", layout.decimal
    ),
    "wind_speed_mps": lambda _layout, visit, _columns, _n: f"{visit.weather.wind_speed_mps:.1f}",
    "wind_from_deg": lambda _layout, visit, _columns, _n: f"{visit.weather.wind_from_deg:.0f}",
}
