"""The layout of an export, or why none is found in it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from statistics import median

from rangeledger.pipelines.reader.reading.grid import Grid
from rangeledger.pipelines.reader.recognising.lines.blocks import Layout
from rangeledger.pipelines.reader.recognising.lines.heading_cells import is_number
from rangeledger.pipelines.reader.recognising.lines.heading_rows import lines_of
from rangeledger.pipelines.reader.recognising.lines.joined_brackets import with_whole_brackets
from rangeledger.pipelines.reader.recognising.lines.layout import find_layout
from rangeledger.pipelines.reader.recognising.lines.long_tables import made_wide
from rangeledger.pipelines.reader.recognising.lines.named_values import with_headings
from rangeledger.pipelines.reader.recognising.lines.side_by_side import one_below_the_other
from rangeledger.pipelines.reader.recognising.lines.turning import AnyGrid, turned
from rangeledger.pipelines.reader.recognising.tables.clarity import (
    names_clubs,
    refuse_table_of_averages,
)
from rangeledger.pipelines.reader.recognising.tables.proposal import proposed_mapping
from rangeledger.pipelines.reader.recognising.tables.report import ColumnReport
from rangeledger.pipelines.reader.recognising.words.heading import read_heading
from rangeledger.pipelines.reader.recognising.words.legends import meanings_in
from rangeledger.pipelines.reader.recognising.words.mapping_file import HeadingMap
from rangeledger.schemas.clubs import club_of
from rangeledger.schemas.compositions import SIDED, column_dimension
from rangeledger.schemas.errors import ExportError
from rangeledger.schemas.reasons import FileReason

_HEAD_ROWS = 30
_LOOKED_AT = 8
# Spins of full shots, beside speed, angle and distance: common practice, no source.
_SLOWEST_RPM, _FASTEST_RPM, _MOST_SPINS, _FEWEST_MEASURED = 1500.0, 12_000.0, 3, 4


def found_layout(
    grid: AnyGrid, file_name: str, mappings: Sequence[HeadingMap]
) -> tuple[AnyGrid, Layout]:
    """The layout of a grid, turned where its shots are columns."""
    upright: AnyGrid = with_headings(with_whole_brackets(grid)) if isinstance(grid, Grid) else grid
    upright = made_wide(upright) if isinstance(upright, Grid) else upright
    try:
        upright = one_below_the_other(upright) if isinstance(upright, Grid) else upright
    except ExportError as refusal:
        raise ExportError(f"{file_name}: {refusal}", refusal.code) from refusal
    upright = turned(upright) if isinstance(upright, Grid) else upright
    layout = find_layout(upright, mappings)
    if layout is None:
        refuse_table_of_averages(file_name, upright.cells.head(_HEAD_ROWS).rows())
        raise ExportError(
            f"{file_name}: no row reads like the heading of a table of golf shots. Export the "
            "shots with a heading row, or put a mapping for its headings into the mappings folder.",
            FileReason.NOT_AN_EXPORT,
            _unread_mapping(upright),
        )
    if not layout.blocks and layout.ragged:
        record, width = layout.ragged[0]
        raise ExportError(
            f"{file_name}: the heading has {width} cells, but the rows below it don't: line "
            f"{upright.line[record]} has {upright.width[record]}. Export the shots again with a "
            "heading for every column.",
            FileReason.UNCLEAR_COLUMNS,
        )
    if not layout.blocks:
        raise ExportError(
            f"{file_name}: there is a heading but no shot below it. Export the session again "
            "with its shots.",
            FileReason.NO_SHOTS,
        )
    return upright, layout


def _unread_mapping(grid: AnyGrid) -> str | None:
    """A mapping to be filled in for a table whose headings nobody knows, if it may hold shots."""
    rows = grid.cells.head(_HEAD_ROWS).rows()
    legend = {meaning.code: meaning.words for meaning in meanings_in(lines_of(grid, rows))}
    for record, row in enumerate(rows):
        words = [cell.strip() for cell in row if cell and cell.strip()]
        below = rows[record + 1 :]
        if len(words) < 2 or any(w[0].isdigit() for w in words) or not _heads_numbers(below, row):
            continue
        reports = [
            _report(place, _stripped(cell), [cells[place] for cells in below], legend)
            for place, cell in enumerate(row[: int(grid.width[record])])
        ]
        if not _may_be_shots(reports, below):
            return None
        doubts = {r.heading: f"is this {r.column}?" if r.column else "what is this?"
                  for r in reports if r.column != "club"}  # fmt: skip
        clubbed = any(report.column == "club" for report in reports)
        line = int(grid.line[record])
        return proposed_mapping(reports, doubts, heading_line=line, club=clubbed)
    return None


def _may_be_shots(reports: Sequence[ColumnReport], below: Sequence[Sequence[str | None]]) -> bool:
    """Whether rows name clubs, with something measured or more than once, or have spins of balls.

    A stock list names each club once, and measures nothing that a ball does.
    """
    clubs = [r.place for r in reports if r.column == "club" and r.place is not None]
    club_cells = [_stripped(cells[place]) for cells in below for place in clubs[:1]]
    filled = [cell for cell in club_cells if club_of(cell).known]
    measured = any(r.column and column_dimension(r.column) for r in reports)
    if filled and (measured or 2 * len(set(filled)) <= len(filled)):
        return True
    middles = [
        float(median(numbers))
        for place in range(len(reports))
        if len(numbers := [_number(cells[place]) for cells in below if _number(cells[place])]) > 1
    ]
    spins = sum(_SLOWEST_RPM <= middle <= _FASTEST_RPM for middle in middles)
    return 0 < spins < _MOST_SPINS and len(middles) >= _FEWEST_MEASURED


def _number(cell: str | None) -> float:
    try:
        return float(_stripped(cell).replace(",", "."))
    except ValueError:
        return 0.0


def _stripped(cell: str | None) -> str:
    return (cell or "").strip()


def _heads_numbers(below: Sequence[Sequence[str | None]], row: Sequence[str | None]) -> bool:
    """Whether numbers stand below a row."""
    counts = [
        sum(is_number(_stripped(cells[place])) for cells in below[:_LOOKED_AT])
        for place, cell in enumerate(row)
        if _stripped(cell)
    ]
    return any(count >= 2 for count in counts)


def _report(
    place: int, text: str, cells: Sequence[str | None], legend: Mapping[str, str]
) -> ColumnReport:
    """What a heading and the cells below it may be."""
    heading = read_heading(text)
    if heading.best is None and text in legend:
        heading = read_heading(legend[text])
    column = heading.best.column if heading.best else None
    words = {_stripped(cell) for cell in cells if cell and any(map(str.isalpha, cell))}
    if words and names_clubs(words):
        column = "club"
    unit = next(iter(heading.units), None) if column and column_dimension(column) else None
    return ColumnReport(text, column, unit, heading.positive if column in SIDED else None,
                        place=place)  # fmt: skip
