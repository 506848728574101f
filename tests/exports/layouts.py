"""From columns to the lines of a file: headings, units, notes, blocks, means, ragged rows."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass, field

import numpy as np

from tests.exports.columns import Style, dressed
from tests.exports.oddities import odd_statistics
from tests.exports.printing import Column, pick
from tests.exports.trade_words import GROUP_OF_OTHERS, GROUPED, LABELS, SUMMARY


@dataclass
class Line:
    """One line of the file and what it is: `shot`, or why it is none."""

    cells: list[str]
    what: str
    shot: int = -1


@dataclass
class Sheet:
    """The lines of a file as they are put together."""

    lines: list[Line] = field(default_factory=list)

    def add(self, cells: list[str], what: str, shot: int = -1) -> None:
        """Append a line."""
        self.lines.append(Line(cells, what, shot))


def heading_cells(columns: list[Column], style: Style) -> list[str]:
    """The heading of every column, with its unit where the style puts it there."""
    return [dressed(column.heading, column.unit_word, style) for column in columns]


def _group_cells(columns: list[Column], language: str) -> list[str] | None:
    """Group headings above those columns whose own word then gets shorter; None if none fit."""
    groups = GROUPED.get(language, {})
    above, changed = [], 0
    last = ""
    for column in columns:
        group = next((g for g, words in groups.items() if column.name in words), "")
        if group:
            column.heading = groups[group][column.name]
            changed += 1
        others = GROUP_OF_OTHERS[language]
        group = group or others.get(column.name, others[""])
        above.append("" if group == last else group)
        last = group
    return above if changed >= 2 else None


def preamble(
    sheet: Sheet,
    style: Style,
    facts: dict[str, str],
    rng: np.random.Generator,
    *,
    wide: bool,
    more: list[str],
) -> None:
    """Lines above the table: a title, facts as `Label: value`, more lines, a blank line."""
    labels = LABELS[style.language]
    mark = pick(rng, ["", "", "# "])
    sheet.add([mark + labels["title"]], "before the table")
    for key, value in facts.items():
        cells = [mark + labels[key], value] if wide else [f"{mark}{labels[key]}: {value}"]
        sheet.add(cells, "before the table")
    for text in more:
        sheet.add([mark + text], "before the table")
    if rng.random() < 0.7:
        sheet.add([], "before the table")


def heading_lines(
    sheet: Sheet, columns: list[Column], style: Style, rng: np.random.Generator
) -> list[str]:
    """The heading, perhaps under group headings, perhaps over a row of units."""
    plain = style.carry == "plain" and not style.left_positive
    if style.language in GROUPED and rng.random() < 0.12 and plain:
        above = _group_cells(columns, style.language)
        if above:
            sheet.add(above, "heading")
            style.trait.add("heading:two-rows")
    cells = heading_cells(columns, style)
    sheet.add(cells, "heading")
    if style.unit_place == "row":
        words = [column.unit_word for column in columns]
        if rng.random() < 0.3:
            words = [f"({w})" if w else "" for w in words]
        sheet.add(words, "units")
    return cells


def summary_lines(
    sheet: Sheet, columns: list[Column], shots: list[int], style: Style, rng: np.random.Generator
) -> None:
    """Mean and spread of the shots above, named in the first column."""
    odd = odd_statistics(columns, shots, style, rng) if rng.random() < 0.2 else []
    if odd:
        for cells in odd:
            sheet.add(cells, "summary")
        return
    style.trait.add("summary")
    for place, word in enumerate(pick(rng, SUMMARY[style.language])):
        cells = []
        for column in columns:
            values = [column.worth[i] for i in shots if column.worth and column.unit]
            numbers = [v for v in values if isinstance(v, float)]
            if not numbers:
                cells.append("")
                continue
            worth = np.mean(numbers) if place == 0 else np.std(numbers)
            cells.append(_like(column, float(worth), style, spread=place > 0))
        cells[0] = word
        sheet.add(cells, "summary")


def _like(column: Column, worth: float, style: Style, spread: bool) -> str:
    """A mean or spread written like the cells of its column."""
    from rangeledger.schemas.units import UNITS

    unit = UNITS[column.unit]
    value = worth / unit.factor - (0.0 if spread else unit.offset)
    return style.numbers.write(value, 0 if column.unit == "rpm" else 1)


def table_lines(
    sheet: Sheet,
    columns: list[Column],
    order: list[int],
    style: Style,
    rng: np.random.Generator,
    clubs: list[str],
) -> None:
    """The shots line by line, with repeated headings, blank lines and means among them."""
    heading = heading_lines(sheet, columns, style, rng)
    repeat = rng.random() < 0.08
    blank = rng.random() < 0.1
    between = rng.random() < 0.08
    pending: list[int] = []
    for place, shot in enumerate(order):
        new_club = bool(pending) and clubs[shot] != clubs[pending[-1]]
        if between and new_club:
            summary_lines(sheet, columns, pending, style, rng)
            pending = []
        if blank and new_club:
            sheet.add([], "blank")
            style.trait.add("blank-lines")
        if repeat and place and place % 10 == 0:
            sheet.add(list(heading), "heading")
            style.trait.add("heading:repeated")
        sheet.add([column.cells[shot] for column in columns], "shot", shot)
        pending.append(shot)
    if between and len(pending) > 1:
        summary_lines(sheet, columns, pending, style, rng)
    elif rng.random() < 0.12:
        if rng.random() < 0.5:
            sheet.add([], "blank")
        summary_lines(sheet, columns, order, style, rng)


def block_lines(
    sheet: Sheet,
    columns: list[Column],
    order: list[int],
    by: Column,
    style: Style,
    rng: np.random.Generator,
) -> None:
    """Shots in blocks, each under a line that names the club or the player."""
    rest = [column for column in columns if column is not by]
    style.trait.add(f"blocks:{by.name}")
    heading: list[str] | None = None
    each_heading = rng.random() < 0.7
    last = None
    for shot in order:
        if by.cells[shot] != last:
            if sheet.lines:
                sheet.add([], "blank")
            sheet.add([f"{by.heading}: {by.cells[shot]}"], "block")
            last = by.cells[shot]
            if heading is None:
                heading = heading_lines(sheet, rest, style, rng)
            elif each_heading:
                sheet.add(list(heading), "heading")
        sheet.add([column.cells[shot] for column in rest], "shot", shot)


def transposed_lines(sheet: Sheet, columns: list[Column], order: list[int], style: Style) -> None:
    """Headings down the first column, a shot a column."""
    style.trait.add("transposed")
    for column in columns:
        cells = [dressed(column.heading, column.unit_word, style)]
        if style.unit_place == "row":
            cells.append(column.unit_word)
        sheet.add(cells + [column.cells[i] for i in order], "transposed")


@dataclass(frozen=True)
class Dialect:
    """Delimiter, quoting, line ends and encoding of a file."""

    delimiter: str
    quote_all: bool
    line_end: str
    encoding: str
    trailing: bool


def random_dialect(rng: np.random.Generator, style: Style) -> Dialect:
    """A dialect by chance that can hold the file's marks."""
    delimiters = (
        [";", ";", "\t", "|"] if style.numbers.decimal == "," else [",", ",", ",", ";", "\t"]
    )
    encoding = pick(rng, ["utf-8"] * 5 + ["utf-8-sig", "cp1252", "utf-16", "utf-16-le"])
    return Dialect(
        pick(rng, delimiters),
        rng.random() < 0.1,
        pick(rng, ["\n", "\n", "\r\n"]),
        encoding,
        rng.random() < 0.06,
    )


def encoded(sheet: Sheet, dialect: Dialect) -> tuple[bytes, list[int]]:
    """The bytes of the file and the line number of each line of the sheet."""
    out = io.StringIO()
    writer = csv.writer(
        out,
        delimiter=dialect.delimiter,
        lineterminator=dialect.line_end,
        quoting=csv.QUOTE_ALL if dialect.quote_all else csv.QUOTE_MINIMAL,
    )
    numbers, at = [], 1
    for line in sheet.lines:
        numbers.append(at)
        trailing = [""] if dialect.trailing and len(line.cells) > 1 else []
        if len(line.cells) == 1 and not dialect.quote_all and '"' not in line.cells[0]:
            single = line.cells[0]
            out.write((f'"{single}"' if dialect.delimiter in single else single) + dialect.line_end)
        else:
            writer.writerow(line.cells + trailing)
        at += 1
    text = out.getvalue()
    try:
        body = text.encode(dialect.encoding)
    except UnicodeEncodeError:
        body = text.encode("utf-8")
    if dialect.encoding == "utf-16-le":
        body = b"\xff\xfe" + body
    return body, numbers
