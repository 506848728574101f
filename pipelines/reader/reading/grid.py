"""An export as a grid of text cells: every record in file order, with its real line number."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import numpy.typing as npt
import polars as pl
from rangeledger.pipelines.reader.reading.decimals import join_decimals
from rangeledger.pipelines.reader.reading.decoding import decode
from rangeledger.pipelines.reader.reading.dialect import separator_line
from rangeledger.pipelines.reader.reading.kinds import refuse_foreign
from rangeledger.pipelines.reader.reading.lines import line_starts, text_of
from rangeledger.pipelines.reader.reading.records import Records, find_records
from rangeledger.pipelines.reader.reading.respelling import Spelling, spelling_of
from rangeledger.pipelines.reader.reading.skipped_lines import SkippedLine, SkippedLines
from rangeledger.pipelines.reader.reading.source import read_bytes
from rangeledger.schemas.errors import ExportError
from rangeledger.schemas.reasons import FileReason

__all__ = ["Grid", "SkippedLine", "read_grid"]


@dataclass(frozen=True, eq=False)
class Grid:
    """All records of an export.

    `cells` has text columns `c0`... and one row a record; a cell is null where the record is
    shorter, `""` where it is empty. `line` is the physical line (from 1) on which the record
    starts; CR, LF and CRLF each count as one line break. `width` is the number of cells the
    record really had. `notes` says in plain words what was found and repaired.
    """

    cells: pl.DataFrame
    line: npt.NDArray[np.int32]
    width: npt.NDArray[np.int32]
    skipped: SkippedLines
    encoding: str
    delimiter: str
    quote: str | None
    notes: list[str]
    _data: bytes = field(repr=False)
    _start: npt.NDArray[np.int64] = field(repr=False)
    _last: dict[int, int] = field(repr=False)

    def __len__(self) -> int:
        return len(self.line)

    def last_line(self, record: int) -> int:
        """Physical line (from 1) on which a record ends.

        Parameters
        ----------
        record : int
            Index of the record, from 0.

        Returns
        -------
        int
            The line on which it starts, unless a quoted cell goes over line breaks.
        """
        first = int(self.line[record])
        return self._last.get(first - 1, first - 1) + 1

    def raw_text(self, record: int) -> str:
        """Original text of a record.

        Parameters
        ----------
        record : int
            Index of the record, from 0.

        Returns
        -------
        str
            Its line, or its lines joined by LF, decoded but otherwise untouched.
        """
        first, last = int(self.line[record]) - 1, self.last_line(record) - 1
        return text_of(self._data, self._start, first, last)


def read_grid(path: Path | str | bytes) -> Grid:
    """Read any delimited text into a grid.

    Parameters
    ----------
    path : Path, str or bytes
        The file, or its content.

    Returns
    -------
    Grid
        Every record; nothing is dropped, merged or padded without a word.

    Raises
    ------
    ExportError
        No file, no text, empty, or beyond the stated limits.
    StorageError
        The disk failed.

    Notes
    -----
    Line breaks inside quoted cells come back as LF, whatever they were. A blank after every
    delimiter is not taken as part of the cells.
    """
    raw = read_bytes(path)
    refuse_foreign(raw)
    text = decode(raw)
    del raw
    if not text.data or text.data.isspace():
        raise ExportError("The file is empty; export it again.", FileReason.EMPTY)
    data = text.data if text.data.endswith(b"\n") else text.data + b"\n"
    separator = separator_line(data)
    spelling = spelling_of(data, separator)
    records = find_records(spelling.data, spelling.form, separator is not None)
    cells, joined = join_decimals(records.cells, records.width, spelling.form.delimiter)
    notes = [*text.notes, *spelling.notes, *records.notes, *joined.notes]
    return _grid(data, spelling, records, cells, joined.width, text.encoding, notes)


def _grid(
    data: bytes,
    spelling: Spelling,
    records: Records,
    cells: pl.DataFrame,
    width: npt.NDArray[np.int32],
    encoding: str,
    notes: list[str],
) -> Grid:
    start = records.start if spelling.data is data else line_starts(data)
    return Grid(
        cells=cells,
        line=(records.first + 1).astype(np.int32),
        width=width,
        skipped=SkippedLines(data, start, records.skipped),
        encoding=encoding,
        delimiter=spelling.form.delimiter,
        quote=records.form.quote,
        notes=notes,
        _data=data,
        _start=start,
        _last=records.last,
    )
