"""What makes exports hard beyond words: rival columns, statements, footers, ragged lines."""

from __future__ import annotations

from typing import Any

import numpy as np
import polars as pl
from rangeledger.schemas.units import UNITS

from tests.exports.columns import Style, number_column
from tests.exports.layouts import Line, Sheet
from tests.exports.printing import Column, pick

STATED_UNITS = {
    "en": {
        "yd": "Distances in yards", "m": "Distances in metres", "mph": "Speeds in mph",
        "m/s": "Speeds in m/s", "km/h": "Speeds in km/h", "height:ft": "Heights in feet",
        "height:m": "Heights in metres", "height:yd": "Heights in yards",
    },
    "de": {
        "yd": "Distanzen in Yards", "m": "Distanzen in Metern", "mph": "Geschwindigkeiten in mph",
        "m/s": "Geschwindigkeiten in m/s", "km/h": "Geschwindigkeiten in km/h",
        "height:ft": "Höhen in Fuß", "height:m": "Höhen in Metern", "height:yd": "Höhen in Yards",
    },
}  # fmt: skip
RIVAL_CARRY = {
    "en": ("Carry, still air", "Normalised carry", "Carry (no wind)", "Target carry"),
    "de": ("Carry normalisiert", "Flugweite ohne Wind"),
    "fr": ("Carry normalisé", "Carry sans vent"),
    "es": ("Vuelo normalizado", "Vuelo sin viento"),
    "sv": ("Carry utan vind", "Normaliserad carry"),
}
FOOTERS = {
    "en": (
        "{n} shots",
        "Total shots: {n}",
        "End of report",
        "* estimated",
        "Printed on page 1 of 1",
    ),
    "de": ("{n} Schläge", "Ende des Berichts", "Anzahl Schläge: {n}"),
    "fr": ("{n} coups", "Fin du rapport", "Nombre de coups : {n}"),
    "es": ("{n} golpes", "Fin del informe", "Total de golpes: {n}"),
    "sv": ("{n} slag", "Slut på rapporten", "Antal slag: {n}"),
}


def state_units(style: Style, rng: np.random.Generator) -> list[str]:
    """Turn a file without units into one that states them on a line above; the lines to add."""
    words = STATED_UNITS.get(style.language)
    if words is None or style.unit_place != "none" or rng.random() > 0.4:
        return []
    style.unit_place = "stated"
    lines = [words[style.length], words[style.speed], words[f"height:{style.height}"]]
    return lines if rng.random() < 0.5 else [", ".join(lines)]


def rival_columns(
    columns: list[Column],
    data: dict[str, list[Any]],
    tolerance: dict[str, float],
    shots: pl.DataFrame,
    style: Style,
    rng: np.random.Generator,
) -> None:
    """A second carry in another unit, or one for other air; an empty and a nameless column."""
    if rng.random() < 0.07 and style.unit_place in ("heading", "bracket", "comma", "row", "cell"):
        _carry_twice(columns, data, tolerance, shots, style, rng)
    if rng.random() < 0.1:
        heading = str(pick(rng, RIVAL_CARRY[style.language]))
        rival = number_column("carry_m", shots["carry_m"] * 1.04, _plain(style), rng, heading)
        rival.name = ""
        columns.append(rival)
        style.trait.add("rival-carry")
    if rng.random() < 0.06:
        columns.insert(
            int(rng.integers(1, len(columns))),
            Column("", str(pick(rng, ["", "Notes", "Video"])), cells=[""] * len(shots)),
        )
        style.trait.add("empty-column")


def _plain(style: Style) -> Style:
    return Style(**{**style.__dict__, "carry": "plain", "trait": set()})


def _carry_twice(
    columns: list[Column],
    data: dict[str, list[Any]],
    tolerance: dict[str, float],
    shots: pl.DataFrame,
    style: Style,
    rng: np.random.Generator,
) -> None:
    """The same carry in yards and in metres; either may be taken."""
    first = next(c for c in columns if c.name == "carry_m")
    if style.carry != "plain":
        return
    other = Style(**{**style.__dict__, "length": "yd" if style.length == "m" else "m"})
    second = number_column("carry_m", shots["carry_m"], other, rng, first.heading)
    data["carry_m"] = [
        {"any": [*(a["any"] if isinstance(a, dict) else [a]), b]}
        for a, b in zip(data["carry_m"], second.worth, strict=True)
    ]
    tolerance["carry_m"] = max(tolerance["carry_m"], second.tolerance) * 1.05
    second.name = ""
    columns.insert(columns.index(first) + 1, second)
    style.trait.add("carry-twice")


def mis_scale(
    columns: list[Column], data: dict[str, list[Any]], style: Style, rng: np.random.Generator
) -> bool:
    """Print the ball speed in another unit than the file says; True if done.

    A reader may refuse the file, leave the column out, or find the right unit by the flights.
    """
    if rng.random() > 0.03 or style.unit_place in ("none", "stated"):
        return False
    column = next(c for c in columns if c.name == "ball_speed_mps")
    said = pick(rng, [u for u in ("mph", "m/s", "km/h") if u != column.unit])
    column.unit_word = str(said)
    factor = UNITS[column.unit].factor
    if style.unit_place == "cell":
        column.cells = [
            f"{style.numbers.write(worth / factor, 2)} {said}" for worth in column.worth
        ]
    data["ball_speed_mps"] = [{"any": [worth, None]} for worth in data["ball_speed_mps"]]
    style.trait.add("mis-scaled")
    return True


def summary_table(
    sheet: Sheet, shots: pl.DataFrame, style: Style, rng: np.random.Generator
) -> None:
    """A small table of means per club above the shots."""
    if style.language != "en" or rng.random() > 0.06:
        return
    sheet.add(["Club", "Shots", "Average carry", "Best carry"], "summary")
    for (club,), part in shots.group_by(["club"], maintain_order=True):
        carry = part["carry_m"] / UNITS[style.length].factor
        cells = [str(club), str(len(part))]
        cells += [style.numbers.write(float(v), 1) for v in (carry.mean(), carry.max())]
        sheet.add(cells, "summary")
    sheet.add([], "blank")
    style.trait.add("summary-table")


def footer(sheet: Sheet, shots: int, style: Style, rng: np.random.Generator) -> None:
    """A line or two after the shots."""
    if rng.random() > 0.1:
        return
    if rng.random() < 0.5:
        sheet.add([], "blank")
    sheet.add([str(pick(rng, FOOTERS[style.language])).format(n=shots)], "footer")
    style.trait.add("footer")


def ragged(sheet: Sheet, style: Style, rng: np.random.Generator) -> dict[int, tuple[str, str]]:
    """Drop blank cells at line ends, or add a cell too many; shots that may then be rejected."""
    lines = [line for line in sheet.lines if line.what == "shot"]
    found: dict[int, tuple[str, str]] = {}
    if rng.random() > 0.08 or not lines:
        return found
    for line in lines:
        while len(line.cells) > 3 and line.cells[-1] == "" and rng.random() < 0.7:
            line.cells.pop()
    extra: Line = lines[int(rng.integers(len(lines)))]
    if rng.random() < 0.5:
        extra.cells = [*extra.cells, "1"]
        found[extra.shot] = ("optional", "a cell too many")
    style.trait.add("ragged")
    return found


def repeat_lines(sheet: Sheet, style: Style, rng: np.random.Generator, timed: bool) -> None:
    """Print a shot twice, time and all; the second line must not count as a shot of its own."""
    if not timed or rng.random() > 0.05:
        return
    places = [k for k, line in enumerate(sheet.lines) if line.what == "shot"]
    place = places[int(rng.integers(len(places)))]
    again = sheet.lines[place]
    sheet.lines.insert(place + 1, Line(list(again.cells), "repeated"))
    style.trait.add("repeated-line")
