"""Headings that a mark or an index puts one column away from their cells."""

from __future__ import annotations

from dataclasses import replace

import polars as pl
from rangeledger.pipelines.reader.recognising.lines.heading_rows import (
    GridRows,
    HeadingRows,
    named_width,
)
from rangeledger.pipelines.reader.recognising.words.heading import read_heading
from rangeledger.schemas.compositions import SHOT_COUNT, SHOT_NUMBER

_FEWEST_NUMBERED = 3
_MARKS = frozenset({"#", "//", "%", ";", "--"})  # of comments


def without_a_mark(table: GridRows, heading: HeadingRows) -> HeadingRows:
    """A heading without the mark of a comment that stands before it in a cell of its own."""
    grid, start = table.grid, heading.last + 1
    widths = grid.width[start:]
    named = named_width(heading.texts)
    if heading.texts[0] not in _MARKS or not len(widths) or (widths >= named).any():
        return heading
    units = heading.units[1:] if heading.units else ()
    return replace(heading, texts=heading.texts[1:], units=units, headings=heading.headings[1:])


def behind_an_index(table: GridRows, heading: HeadingRows) -> HeadingRows:
    """A heading moved on by one column where every row begins with a running number of its own.

    Tools for statistics write the number of the row before the columns that they name.
    """
    grid, start = table.grid, heading.last + 1
    widths = grid.width[start:]
    named = named_width(heading.texts)
    if len(widths) < _FEWEST_NUMBERED or not (widths == named + 1).all():
        return heading
    first = heading.headings[0].best
    if first is None or first.column in (SHOT_NUMBER, SHOT_COUNT):
        return heading
    numbers = grid.cells["c0"].slice(start).cast(pl.Int64, strict=False)
    if numbers.null_count() or not bool((numbers.diff().drop_nulls() == 1).all()):
        return heading
    return replace(
        heading,
        texts=("", *heading.texts),
        units=("", *heading.units) if heading.units else (),
        headings=(read_heading(""), *heading.headings),
    )
