"""Tables whose shots are columns, turned upright."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
import polars as pl
from rangeledger.pipelines.reader.reading.grid import Grid
from rangeledger.pipelines.reader.reading.skipped_lines import SkippedLines
from rangeledger.pipelines.reader.recognising.words.heading import read_heading
from rangeledger.schemas.compositions import column_dimension
from rangeledger.schemas.headings import unit_symbols

_MOST_RECORDS, _LEAST_WIDTH, _FEWEST_HEADINGS = 300, 3, 3
_LEAST_WEIGHT = 0.6
Row = tuple[str | None, ...]


@dataclass(frozen=True)
class TurnedGrid:
    """A grid whose records are the columns of the export; read like `Grid`.

    `line` is the line of the table's first row for every shot, `place` counts the shots from 1;
    `origin` is the export as it was read.
    """

    cells: pl.DataFrame
    line: npt.NDArray[np.int32]
    width: npt.NDArray[np.int32]
    place: npt.NDArray[np.int32]
    skipped: SkippedLines
    encoding: str
    delimiter: str
    notes: list[str]
    texts: tuple[str, ...]
    origin: Grid

    def __len__(self) -> int:
        return len(self.line)

    def raw_text(self, record: int) -> str:
        """Cells of a record, joined as the export joins them."""
        return self.texts[record]


AnyGrid = Grid | TurnedGrid


def _filled(row: Row) -> int:
    return sum(bool(cell and cell.strip()) for cell in row)


def _has_number(cell: str | None) -> bool:
    return bool(cell) and any(c.isdigit() for c in str(cell))


def _measured_labels(rows: Sequence[Row]) -> int:
    """Rows that begin with the name of a measured column and go on with numbers."""
    seen: set[str] = set()
    for row in rows:
        label = (row[0] or "").strip()
        heading = read_heading(label) if label and len(label) < 90 else None
        if heading is None or heading.best is None or heading.weight < _LEAST_WEIGHT:
            continue
        numbers = sum(_has_number(cell) for cell in row[1:])
        if column_dimension(heading.best.column) and numbers >= max(2, 0.5 * (_filled(row) - 1)):
            seen.add(heading.best.column)
    return len(seen)


def _row_labels(rows: Sequence[Row]) -> int:
    """The most measured columns that any one row names."""
    best = 0
    for row in rows[:60]:
        found = {
            heading.best.column
            for cell in row
            if cell and len(cell) < 90 and (heading := read_heading(cell.strip())).best
            if heading.weight >= _LEAST_WEIGHT and column_dimension(heading.best.column)
        }
        best = max(best, len(found))
    return best


def _units_second(rows: Sequence[Row]) -> bool:
    """Whether the second cells of the rows are units."""
    second = [row[1].strip() for row in rows if len(row) > 1 and row[1] and row[1].strip()]
    units = sum(bool(unit_symbols(cell)) for cell in second)
    return units >= 2 and units >= 0.6 * len(second)


def turned(grid: Grid) -> AnyGrid:
    """The grid itself, or its turned copy where the shots are its columns.

    Parameters
    ----------
    grid : Grid
        As read.

    Returns
    -------
    Grid or TurnedGrid
        Upright: one record a shot.
    """
    if len(grid) > _MOST_RECORDS or grid.cells.width < _LEAST_WIDTH:
        return grid
    rows: list[Row] = grid.cells.rows()
    labels = _measured_labels(rows)
    if labels < _FEWEST_HEADINGS or labels <= _row_labels(rows):
        return grid
    return _turn(grid, rows)


@dataclass(slots=True)
class Remade:
    """Records of a grid put together anew, in their order, each with its place in the export.

    Parameters
    ----------
    grid : Grid
        The export as it was read.
    delimiter : str, optional
        What parts the cells now; that of the export by default.
    """

    grid: Grid
    delimiter: str | None = None
    _rows: list[Row] = field(default_factory=list)
    _origin: list[int] = field(default_factory=list)
    _place: list[int] = field(default_factory=list)
    _width: list[int] = field(default_factory=list)
    _texts: list[str | None] = field(default_factory=list)

    def take(
        self, cells: Row, origin: int, *, place: int = 0, width: int | None = None,
        text: str | None = None,
    ) -> None:  # fmt: skip
        """Add a record made from one of the export, as wide as its cells unless said."""
        self._rows.append(cells)
        self._origin.append(origin)
        self._place.append(place)
        self._width.append(len(cells) if width is None else width)
        self._texts.append(text)

    def keep(self, origin: int, row: Row) -> None:
        """Add a record of the export as it stands."""
        self.take(row, origin, width=int(self.grid.width[origin]))

    def finished(self, note: str) -> TurnedGrid:
        """The records as a grid; the note says in plain words what was done."""
        grid, size = self.grid, max(len(row) for row in self._rows)
        mark = self.delimiter or grid.delimiter
        texts = tuple(
            mark.join(cell or "" for cell in row) if text is None else text
            for row, text in zip(self._rows, self._texts, strict=True)
        )
        padded = [tuple(row) + (None,) * (size - len(row)) for row in self._rows]
        return TurnedGrid(
            pl.DataFrame(padded, schema={f"c{k}": pl.String for k in range(size)}, orient="row"),
            grid.line[np.array(self._origin, np.int64)].astype(np.int32),
            np.array(self._width, np.int32), np.array(self._place, np.int32),
            grid.skipped, grid.encoding, mark, [*grid.notes, note], texts, grid,
        )  # fmt: skip


def _turn(grid: Grid, rows: list[Row]) -> TurnedGrid:
    table = [k for k, row in enumerate(rows) if _filled(row) >= _LEAST_WIDTH]
    units = _units_second([rows[k] for k in table])
    parts = _parts([(k, _label(rows[k], units)) for k in table])
    first = 2 if units else 1
    remade, begun = Remade(grid), 0
    for number, part in enumerate(parts):
        for k in (k for k in range(begun, part[-1]) if k not in part):
            remade.keep(k, rows[k])
        if number == 0:
            remade.take(tuple(_label(rows[k], units) for k in part), part[0])
        for column in range(first, max(int(grid.width[k]) for k in part)):
            shot = tuple(rows[k][column] if column < len(rows[k]) else None for k in part)
            remade.take(shot, part[0], place=column - first + 1)
        begun = part[-1] + 1
    for k in range(begun, len(rows)):
        remade.keep(k, rows[k])
    return remade.finished("The shots stand in columns; the table was turned.")


def _parts(labelled: Sequence[tuple[int, str]]) -> list[list[int]]:
    """Rows of a table, or of several below each other that have the same labels in order."""
    labels = [label for _, label in labelled]
    starts = [k for k, label in enumerate(labels) if label == labels[0]]
    period = len(labels) // len(starts)
    repeated = period >= _FEWEST_HEADINGS and labels == labels[:period] * len(starts)
    if len(starts) < 2 or not repeated:
        return [[record for record, _ in labelled]]
    return [[record for record, _ in labelled[k : k + period]] for k in starts]


def _label(row: Row, units: bool) -> str:
    label = (row[0] or "").strip()
    unit = (row[1] or "").strip() if units and len(row) > 1 else ""
    return f"{label} [{unit}]" if unit_symbols(unit) else label
