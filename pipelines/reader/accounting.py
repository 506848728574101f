"""The account of an export: each of its records is a source of shots, rejected, or an other line.

A record may go over several lines (a quoted line break) and may give several shots (a table
whose shots are columns); it is counted once, at the line on which it begins. Lines that are no
records, such as blank ones and comments, are other lines too.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt
import polars as pl
from rangeledger.pipelines.reader.reading.grid import Grid
from rangeledger.pipelines.reader.recognising.lines.blocks import OtherLine
from rangeledger.pipelines.reader.recognising.lines.turning import AnyGrid, TurnedGrid
from rangeledger.schemas.arrow import OTHER_LINES_SCHEMA
from rangeledger.schemas.reasons import LineKind

# Which export a line is of is known to whoever offers it.
OTHER_LINES = pl.Schema({n: kind for n, kind in OTHER_LINES_SCHEMA.items() if n != "source_file"})
_Lines = npt.NDArray[np.int32]


def other_lines(
    grid: AnyGrid, found: Sequence[OtherLine], shots: pl.Series, rejected: pl.Series
) -> pl.DataFrame:
    """The lines of an export that are neither shots nor rejected rows, checked to be the rest.

    Parameters
    ----------
    grid : Grid or TurnedGrid
        The export as it was read.
    found : sequence of OtherLine
        Records that were taken for something else.
    shots, rejected : pl.Series
        Lines of the accepted shots and of the rejected rows.

    Returns
    -------
    pl.DataFrame
        `source_row`, `taken_for`, `raw_text` in file order.

    Raises
    ------
    AssertionError
        If a record is accounted for twice, or not at all: a fault of the program.
    """
    export = grid.origin if isinstance(grid, TurnedGrid) else grid
    taken = np.union1d(shots.to_numpy(), rejected.to_numpy()).astype(np.int32)
    kinds = {int(grid.line[line.record]): line.kind for line in found}
    others = {line: kind for line, kind in kinds.items() if not _among(line, taken)}
    if isinstance(grid, TurnedGrid):
        rest = (int(line) for line in export.line if not _among(int(line), taken))
        others |= {line: LineKind.TURNED for line in rest if line not in others}
    _check(export, taken, others)
    text = {line: export.raw_text(int(np.searchsorted(export.line, line))) for line in others}
    rows = [(line, str(kind), text[line]) for line, kind in others.items()]
    records = pl.DataFrame(rows, schema=OTHER_LINES, orient="row")
    return pl.concat([records, export.skipped.frame(OTHER_LINES)]).sort("source_row")


def _among(line: int, lines: _Lines) -> bool:
    place = int(np.searchsorted(lines, line))
    return place < len(lines) and lines[place] == line


def _check(export: Grid, taken: _Lines, others: Mapping[int, LineKind]) -> None:
    """Stop where the records of a file are not those of which something was made."""
    made = np.concatenate([taken, np.fromiter(others, np.int32, len(others))])
    made.sort()
    if not np.array_equal(made, export.line):
        lost = np.setdiff1d(export.line, made)
        where = f"; nothing is said of line {lost[0]}" if lost.size else ""
        raise AssertionError(
            f"{len(export.line)} records became {len(taken)} shots and rejected rows and "
            f"{len(others)} other lines{where}"
        )
