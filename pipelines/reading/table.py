"""The tables inside a grid: heading rows, body, and what stands around them.

Nothing here knows what the columns mean. Records are told apart by three counts: how many of
their cells begin like a number, how many are words, how many are empty.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import polars as pl

from pipelines.reading.grid import Grid, read_grid

NUMBER_LIKE = r"^\s*[-+−–$€£¥(~<>≈]*\s*[.,]?\d"
NOTHING = r"(?i)^\s*(?:[-–—.?*]{0,3}|n\.?/?a\.?|nan|null|none)\s*$"

_MANY = 20_000  # records above which only some columns are looked at
_SOME_COLUMNS = 12

_Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Block:
    """One table of a grid: ranges of record numbers; `heading` is empty where there is none."""

    heading: range
    body: range
    width: int


@dataclass(frozen=True)
class Table:
    """A table as text: one heading a column, rows at least as long as the heading."""

    header: list[str]
    rows: list[list[str]]
    line: list[int]
    notes: list[str]


@dataclass(frozen=True)
class _Counts:
    """What the cells of each record are like."""

    numbers: npt.NDArray[np.int64]
    words: npt.NDArray[np.int64]
    width: npt.NDArray[np.int64]


def read_table(path: Path | str | bytes) -> Table:
    """Read the largest table of any delimited text.

    Parameters
    ----------
    path : Path, str or bytes
        The file, or its content.

    Returns
    -------
    Table
        Heading rows joined by a blank, without the lines around the table. `header` is empty
        where the first row of the table looks like the others.

    Raises
    ------
    ExportError
        As `read_grid`.
    """
    grid = read_grid(path)
    blocks = find_blocks(grid)
    block = largest(blocks)
    header = heading_of(grid, block)
    rows = cells_of(grid, block.body)
    lines = grid.line[block.body.start : block.body.stop].tolist()
    notes = list(grid.notes)
    if len(blocks) > 1:
        notes.append(f"{len(blocks)} tables were found; this is the largest.")
    return Table(header, _fitted(rows, len(header)), lines, notes)


def find_table(grid: Grid) -> Block:
    """The largest table of a grid, the first of several equal ones.

    Parameters
    ----------
    grid : Grid
        All records.

    Returns
    -------
    Block
        Heading and body as ranges of records.
    """
    return largest(find_blocks(grid))


def largest(blocks: Sequence[Block]) -> Block:
    """The block with most records.

    Parameters
    ----------
    blocks : sequence of Block
        At least one.

    Returns
    -------
    Block
        The first with the longest body.
    """
    return max(blocks, key=lambda block: len(block.body))


def heading_of(grid: Grid, block: Block) -> list[str]:
    """Headings of a block: the cells of its heading rows joined by a blank.

    Parameters
    ----------
    grid : Grid
        All records.
    block : Block
        One table of it.

    Returns
    -------
    list of str
        One a column, empty where the block has no heading.
    """
    rows = cells_of(grid, block.heading)
    columns = max(map(len, rows), default=0)
    return [
        " ".join(row[column].strip() for row in rows if column < len(row) and row[column].strip())
        for column in range(columns)
    ]


def cells_of(grid: Grid, records: range) -> list[list[str]]:
    """Cells of some records, each with as many as it really has.

    Parameters
    ----------
    grid : Grid
        All records.
    records : range
        Record numbers.

    Returns
    -------
    list of list of str
        One list a record.
    """
    rows = grid.cells.slice(records.start, len(records)).rows()
    widths = grid.width[records.start : records.stop].tolist()
    return [list(row[:width]) for row, width in zip(rows, widths, strict=True)]


def find_blocks(grid: Grid) -> list[Block]:
    """All tables of a grid, from top to bottom.

    Parameters
    ----------
    grid : Grid
        All records.

    Returns
    -------
    list of Block
        At least one; where no table can be made out, one that holds every record.
    """
    counts = _count(grid)
    if len(grid) == 0:
        return [Block(range(0), range(0), 0)]
    width = _usual(counts)
    data, heading = _kinds(counts, width)
    if not data.any():
        return [_words_only(counts, width)]
    return _blocks(grid, counts, data, heading)


def _count(grid: Grid) -> _Counts:
    names = grid.cells.columns
    if len(grid) > _MANY and len(names) > _SOME_COLUMNS:
        step = len(names) / _SOME_COLUMNS
        names = [names[int(column * step)] for column in range(_SOME_COLUMNS)]
    columns = [pl.col(name) for name in names]
    counted = (
        grid.cells.select(
            pl.sum_horizontal(column.str.contains(NUMBER_LIKE) for column in columns).alias(
                "numbers"
            ),
            pl.sum_horizontal(column.str.contains(NOTHING) for column in columns).alias("nothing"),
            pl.sum_horizontal(column.is_not_null() for column in columns).alias("seen"),
        )
        .to_numpy()
        .astype(np.int64)
    )
    numbers, nothing, seen = counted.T
    return _Counts(numbers, seen - numbers - nothing, seen)


def _usual(counts: _Counts) -> int:
    """Commonest width of records with more than one cell."""
    several = counts.width[counts.width > 1]
    return int(np.bincount(several).argmax()) if len(several) else 1


def _kinds(counts: _Counts, width: int) -> tuple[_Flags, _Flags]:
    """Which records are like the body of a table, and which like its heading."""
    usual = counts.width == width
    numbers = (
        float(np.median(counts.numbers[usual & (counts.numbers > 0)]))
        if (usual & (counts.numbers > 0)).any()
        else np.inf
    )
    filled = counts.numbers + counts.words
    data = (counts.numbers > 0) & (counts.numbers >= 0.5 * numbers)
    heading = ~data & (counts.words > 4 * counts.numbers) & (filled >= max(0.5 * width, 1))
    if width > 1:
        heading &= counts.words >= 2
    return data, heading


def _words_only(counts: _Counts, width: int) -> Block:
    """A table without numbers: the first full record is the heading."""
    full = np.flatnonzero(counts.words >= max(0.5 * width, 1))
    first = int(full[0]) if len(full) else 0
    last = int(full[-1]) + 1 if len(full) else len(counts.width)
    return Block(range(first, first + 1), range(first + 1, last), width)


def _blocks(grid: Grid, counts: _Counts, data: _Flags, heading: _Flags) -> list[Block]:
    """Cut the records at each run of heading records that begins a table."""
    runs = _heading_runs(grid, counts, data, heading)
    first = int(np.argmax(data))
    if not runs or runs[0].start > first:
        runs.insert(0, range(first, first))
    stops = [run.start for run in runs[1:]] + [len(data)]
    return [_block(counts, data, run, stop) for run, stop in zip(runs, stops, strict=True)]


def _heading_runs(grid: Grid, counts: _Counts, data: _Flags, heading: _Flags) -> list[range]:
    """Runs of heading records that stand before the body, or begin another table."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], heading, [False]]).astype(np.int8)))
    runs: list[range] = []
    for start, stop in edges.reshape(-1, 2).tolist():
        if not data[:start].any():
            if data[start:].any():
                runs = [range(start, stop)]
        elif _begins_another(grid, counts, runs, start, stop):
            runs.append(range(start, stop))
    return runs


def _begins_another(grid: Grid, counts: _Counts, runs: list[range], start: int, stop: int) -> bool:
    """Whether words amid data are a heading: repeated, behind a gap, or of another width."""
    if stop == len(grid):
        return False
    if any(grid.cells.row(start) == grid.cells.row(run.start) for run in runs):
        return True
    if int(grid.line[start]) > grid.last_line(start - 1) + 1:
        return True
    above = counts.width[runs[-1].stop if runs else 0 : start]
    return bool(counts.width[start] == counts.width[stop] != np.bincount(above).argmax())


def _block(counts: _Counts, data: _Flags, heading: range, stop: int) -> Block:
    """Heading and body up to the next table, without the thin lines at its end."""
    start = heading.stop
    some = data[start:stop]
    if not some.any():
        return Block(heading, range(start, start), int(counts.width[heading.start]))
    usual = int(np.bincount(counts.width[start:stop][some]).argmax())
    filled = counts.numbers + counts.words
    while stop > start and not data[stop - 1]:
        if counts.width[stop - 1] == usual and filled[stop - 1] > 1:
            break
        stop -= 1
    return Block(heading, range(start, stop), usual)


def _fitted(rows: list[list[str]], width: int) -> list[list[str]]:
    """Rows filled up to the heading; an empty cell behind it that all rows have is cut off."""
    while width and rows and all(len(row) > width and row[-1] == "" for row in rows):
        rows = [row[:-1] for row in rows]
    return [row + [""] * (width - len(row)) for row in rows]
