"""The layout of an export, or why none is found in it."""

from __future__ import annotations

from collections.abc import Sequence

from rangeledger.pipelines.reader.reading.grid import Grid
from rangeledger.pipelines.reader.recognising.clarity import refuse_table_of_averages
from rangeledger.pipelines.reader.recognising.heading import read_heading
from rangeledger.pipelines.reader.recognising.layout import Layout, find_layout
from rangeledger.pipelines.reader.recognising.mapping_file import HeadingMap
from rangeledger.pipelines.reader.recognising.proposal import proposed_mapping
from rangeledger.pipelines.reader.recognising.report import ColumnReport
from rangeledger.pipelines.reader.recognising.turning import AnyGrid, turned
from rangeledger.schemas.errors import ExportError
from rangeledger.schemas.reasons import FileReason

_HEAD_ROWS = 30


def found_layout(
    grid: AnyGrid, file_name: str, mappings: Sequence[HeadingMap]
) -> tuple[AnyGrid, Layout]:
    """The layout of a grid, turned where its shots are columns."""
    upright = turned(grid) if isinstance(grid, Grid) else grid
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
    """A mapping to be filled in for a table none of whose headings is known."""
    for row in grid.cells.head(_HEAD_ROWS).rows():
        words = [cell.strip() for cell in row if cell and cell.strip()]
        if any(any(c.isdigit() for c in word) for word in words):
            continue
        guesses = {w: best.column for w in words if (best := read_heading(w).best)}
        if len(words) >= 3 or (len(words) == 2 and guesses):
            doubts = {word: f"is this {column}?" for word, column in guesses.items()}
            reports = [ColumnReport(word, guesses.get(word)) for word in words]
            return proposed_mapping(reports, doubts)
    return None
