"""An export as a grid of text cells: every record in file order, with its real line number."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import numpy.typing as npt
import polars as pl

from pipelines.reading.decoding import Text, decode
from pipelines.reading.dialect import decimal_hint, detect, separator_line
from pipelines.reading.frame import build_frame
from pipelines.reading.kinds import refuse_foreign
from pipelines.reading.lines import Lines, blank_lines, find_lines, usual_width
from pipelines.reading.repair import Repairs, judge_escapes, repair, with_backslash
from pipelines.reading.source import read_bytes
from pipelines.reading.tokens import Form, split_record
from schemas.errors import ExportError
from schemas.reasons import FileReason

MAX_WIDTH = 16_384  # cells of one record, as many as a spreadsheet has columns
MAX_CELLS = 150_000_000  # records times cells of the widest


@dataclass(frozen=True)
class Aside:
    """A line set aside: `why` is `blank`, `comment` or `separator`."""

    line: int
    text: str
    why: str


@dataclass(frozen=True)
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
    aside: list[Aside]
    encoding: str
    delimiter: str
    quote: str | None
    decimal_hint: str | None
    notes: list[str]
    _data: bytes = field(repr=False, compare=False)
    _start: npt.NDArray[np.int64] = field(repr=False, compare=False)
    _last: dict[int, int] = field(repr=False, compare=False)

    def __len__(self) -> int:
        return len(self.line)

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
        first = int(self.line[record]) - 1
        last = self._last.get(first, first)
        return _text(self._data, self._start, first, last)


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
    """
    raw = read_bytes(path)
    refuse_foreign(raw)
    text = decode(raw)
    del raw
    if not text.data.strip():
        raise ExportError("The file is empty; export it again.", FileReason.EMPTY)
    data = text.data if text.data.endswith(b"\n") else text.data + b"\n"
    return _read(data, text)


def _read(data: bytes, text: Text) -> Grid:
    told = separator_line(data)
    form = detect(data, told)
    lines = find_lines(data, form.delimiter, form.quote)
    blank = blank_lines(data, lines)
    hint = np.zeros(len(lines), np.bool_)
    hint[0] = told is not None
    width = usual_width(lines, blank | hint)
    form = judge_escapes(data, lines, form, width)
    if form.escape:
        lines.broken[:] |= with_backslash(data, lines)
    lines.broken[hint] = False
    _refuse_wide(lines)
    repairs = repair(data, lines, form, width)
    comment = _comments(data, lines, blank | repairs.swallowed | hint, width, form)
    aside = {"separator": hint, "blank": blank & ~repairs.swallowed & ~hint, "comment": comment}
    return _assemble(data, text, form, lines, repairs, aside)


def _refuse_wide(lines: Lines) -> None:
    widest = int(np.argmax(lines.width))
    if lines.width[widest] > MAX_WIDTH:
        raise ExportError(
            f"Line {widest + 1} has {lines.width[widest]:,} cells; more than {MAX_WIDTH:,} are "
            "not read. Export the shots again, one a line.",
            FileReason.TOO_LARGE,
        )


def _comments(
    data: bytes, lines: Lines, known: npt.NDArray[np.bool_], width: int, form: Form
) -> npt.NDArray[np.bool_]:
    """Lines that begin like a comment and are not as wide as the table."""
    comment = np.zeros(len(lines), np.bool_)
    first = np.frombuffer(data, np.uint8)[lines.start[:-1]]
    signs = [sign for sign in b"#/;" if sign != ord(form.delimiter)]
    likely = np.isin(first, signs) & ~known & (lines.width != width)
    for line in np.flatnonzero(likely):
        begin = data[lines.start[line] : lines.start[line] + 2]
        comment[line] = not begin.startswith(b"/") or begin == b"//"
    return comment


def _assemble(
    data: bytes,
    text: Text,
    form: Form,
    lines: Lines,
    repairs: Repairs,
    aside: dict[str, npt.NDArray[np.bool_]],
) -> Grid:
    out = np.logical_or.reduce([repairs.swallowed, *aside.values()])
    first = np.flatnonzero(~out)
    width = lines.width[first]
    for record in np.flatnonzero(lines.broken[first]):
        width[record] = len(repairs.cells[int(first[record])])
    _refuse_many(len(first), int(width.max(initial=0)))

    def cells_of(record: int) -> list[str]:
        line = int(first[record])
        found = repairs.cells.get(line)
        return (
            found if found is not None else split_record(_text(data, lines.start, line, line), form)
        )

    cells = build_frame(data, lines.start, first, width, ~lines.broken[first], form, cells_of)
    return Grid(
        cells=cells,
        line=(first + 1).astype(np.int32),
        width=width,
        aside=_asides(data, lines, aside),
        encoding=text.encoding,
        delimiter=form.delimiter,
        quote=form.quote,
        decimal_hint=_decimal_hint(cells),
        notes=text.notes + _notes(form, repairs),
        _data=data,
        _start=lines.start,
        _last=repairs.last,
    )


def _refuse_many(records: int, widest: int) -> None:
    if records * widest > MAX_CELLS:
        raise ExportError(
            f"{records:,} records, the widest with {widest:,} cells, are more than "
            f"{MAX_CELLS:,} cells; split the file into smaller ones.",
            FileReason.TOO_LARGE,
        )


def _text(data: bytes, start: npt.NDArray[np.int64], first: int, last: int) -> str:
    return data[start[first] : start[last + 1] - 1].decode("utf-8", "replace")


def _asides(data: bytes, lines: Lines, aside: dict[str, npt.NDArray[np.bool_]]) -> list[Aside]:
    found = [
        Aside(line + 1, _text(data, lines.start, line, line), why)
        for why, marked in aside.items()
        for line in np.flatnonzero(marked).tolist()
    ]
    return sorted(found, key=lambda item: item.line)


def _decimal_hint(cells: pl.DataFrame) -> str | None:
    some = cells.head(200)
    return decimal_hint([cell for column in some for cell in column if cell is not None])


def _notes(form: Form, repairs: Repairs) -> list[str]:
    notes = []
    if form.escape:
        notes.append("Quotation marks and delimiters inside cells are escaped by a backslash.")
    if form.skip_blank:
        notes.append("A blank follows each delimiter; it is not part of the cell.")
    if repairs.joined:
        notes.append(f"{repairs.joined} records go over several lines.")
    if repairs.literal:
        where = ", ".join(str(line + 1) for line in repairs.literal[:5])
        more = ", ..." if len(repairs.literal) > 5 else ""
        notes.append(f"Stray quotation marks were read as text (line {where}{more}).")
    return notes
