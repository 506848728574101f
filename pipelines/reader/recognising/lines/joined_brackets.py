"""Headings in which the delimiter stands within brackets and nobody put them in quotes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

import polars as pl
from rangeledger.pipelines.reader.reading.grid import Grid

_HEAD, _FEWEST_ROWS = 30, 3
_OPENING, _CLOSING = "([{", ")]}"


def with_whole_brackets(grid: Grid) -> Grid:
    """The grid with what the delimiter parted within the brackets of a heading put together.

    Parameters
    ----------
    grid : Grid
        As read.

    Returns
    -------
    Grid
        The same where no row is wider than the others by that: `Wind (°; 0 = head wind)` where
        semicolons part the cells.
    """
    widths = Counter(grid.width[: _HEAD * 2].tolist())
    usual = widths.most_common(1)[0][0] if widths else 0
    wide = [record for record in range(min(_HEAD, len(grid))) if grid.width[record] > usual]
    if not wide or widths[usual] < _FEWEST_ROWS:
        return grid
    rows = grid.cells.head(wide[-1] + 1).rows()
    mended = {}
    for record in wide:
        cells = [cell or "" for cell in rows[record][: int(grid.width[record])]]
        whole = _whole(cells, grid.delimiter)
        if len(whole) == usual:
            mended[record] = whole
    return _with_rows(grid, mended) if mended else grid


def _whole(cells: Sequence[str], delimiter: str) -> list[str]:
    """Cells of a row, joined where a bracket is still open."""
    found: list[str] = []
    for cell in cells:
        if found and _is_open(found[-1]):
            found[-1] = f"{found[-1]}{delimiter}{cell}"
        else:
            found.append(cell)
    return found


def _is_open(cell: str) -> bool:
    opened = sum(cell.count(mark) for mark in _OPENING)
    return opened > sum(cell.count(mark) for mark in _CLOSING)


def _with_rows(grid: Grid, mended: dict[int, list[str]]) -> Grid:
    last = max(mended)
    rows = grid.cells.head(last + 1).rows()
    size = grid.cells.width
    for record, cells in mended.items():
        rows[record] = (*cells, *[None] * (size - len(cells)))
    head = pl.DataFrame(rows, schema=grid.cells.schema, orient="row")
    width = grid.width.copy()
    for record, cells in mended.items():
        width[record] = len(cells)
    return replace(grid, cells=pl.concat([head, grid.cells.slice(last + 1)]), width=width)
