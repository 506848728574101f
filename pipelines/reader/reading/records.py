"""The records of a text: which lines they are on, and their cells."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl
from rangeledger.pipelines.reader.reading.dialect import sample_lines
from rangeledger.pipelines.reader.reading.frame import build_frame
from rangeledger.pipelines.reader.reading.lines import (
    Lines,
    blank_lines,
    find_lines,
    text_of,
    usual_width,
)
from rangeledger.pipelines.reader.reading.repair import (
    Repairs,
    judge_escapes,
    repair,
    respell,
    with_backslash,
)
from rangeledger.pipelines.reader.reading.tokens import Form, split_record
from rangeledger.schemas.errors import ExportError
from rangeledger.schemas.reasons import FileReason

MAX_WIDTH = 16_384  # cells of one record, as many as a spreadsheet has columns
MAX_BROKEN = 2_000_000  # lines that have to be read one by one
_FEWEST_BARE, _LEAST_NUMBERS = 3, 0.4
MAX_LINES = 20_000_000
MAX_CELLS = 150_000_000  # records times cells of the widest

_Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Records:
    """Records of a text; lines are counted from 0.

    `first` is the line on which each record starts, `last` the line on which it ends where that
    is another one. `skipped` marks the lines that belong to no record, by reason.
    """

    cells: pl.DataFrame
    first: npt.NDArray[np.int64]
    width: npt.NDArray[np.int32]
    last: dict[int, int]
    skipped: dict[str, _Flags]
    start: npt.NDArray[np.int64]
    form: Form
    notes: list[str]


def find_records(data: bytes, form: Form, separator: bool) -> Records:
    """Cut a text into records and cells.

    Parameters
    ----------
    data : bytes
        UTF-8 text with LF line breaks, the last line closed by one.
    form : Form
        How cells are written.
    separator : bool
        Whether the first line only names the delimiter.

    Returns
    -------
    Records
        All of them in file order.

    Raises
    ------
    ExportError
        A line has more than 16,384 cells, or all records together too many.
    """
    lines = find_lines(data, form.delimiter, form.quote)
    _refuse_large(lines)
    blank = blank_lines(data, lines)
    hint = np.zeros(len(lines), np.bool_)
    hint[0] = separator
    _refuse_many(len(lines) - int(np.count_nonzero(blank)), int(lines.width.max()))
    width = _usual_width(data, form, lines, blank | hint)
    form = judge_escapes(data, lines, form, width)
    if form.escape:
        lines.broken[:] |= with_backslash(data, lines)
    lines.broken[hint] = False
    _refuse_broken(lines)
    repairs = repair(data, lines, form, width)
    respell(data, lines, form, width, repairs, blank | hint)
    skipped = {
        "separator": hint & ~repairs.swallowed,
        "blank": blank & ~repairs.swallowed & ~hint,
        "comment": _comments(data, lines, blank | hint | repairs.swallowed, width, form),
    }
    known = np.logical_or.reduce([repairs.swallowed, *skipped.values()])
    skipped["commented-out"] = _commented_out(data, lines, known, width, form)
    return _records(data, form, lines, repairs, skipped)


def _usual_width(data: bytes, form: Form, lines: Lines, skip: _Flags) -> int:
    """Usual number of cells; from a sample where too few lines keep the rules by themselves."""
    sound = ~skip & ~lines.broken
    if 2 * np.count_nonzero(sound) >= len(lines) - np.count_nonzero(skip):
        return usual_width(lines.width[sound])
    sample = [len(split_record(line, form)) for line in sample_lines(data)]
    return usual_width(np.array(sample, np.int32))


def _refuse_large(lines: Lines) -> None:
    if len(lines) > MAX_LINES:
        raise ExportError(
            f"There are {len(lines):,} lines, more than {MAX_LINES:,}; split the file.",
            FileReason.TOO_LARGE,
        )
    widest = int(np.argmax(lines.width))
    if lines.width[widest] > MAX_WIDTH:
        raise ExportError(
            f"Line {widest + 1} has {lines.width[widest]:,} cells; more than {MAX_WIDTH:,} are "
            "not read. Export the shots again, one a line.",
            FileReason.TOO_LARGE,
        )


def _refuse_broken(lines: Lines) -> None:
    broken = int(np.count_nonzero(lines.broken))
    if broken > MAX_BROKEN:
        raise ExportError(
            f"{broken:,} lines break the rules of quotation marks, more than {MAX_BROKEN:,}; "
            "export again without quotation marks or with doubled ones.",
            FileReason.UNREADABLE,
        )


def _comments(data: bytes, lines: Lines, known: _Flags, width: int, form: Form) -> _Flags:
    """Lines that begin like a comment and are far from as wide as the table."""
    comment = np.zeros(len(lines), np.bool_)
    first = np.frombuffer(data, np.uint8)[lines.start[:-1]]
    likely = np.isin(first, list(b"#/;")) & ~known & ~lines.broken
    likely &= (lines.width < max(0.5 * width, 1.5)) & (lines.width != width)
    for line in np.flatnonzero(likely).tolist():
        comment[line] = _is_comment(text_of(data, lines.start, line, line), form.delimiter)
    return comment


def _commented_out(data: bytes, lines: Lines, known: _Flags, width: int, form: Form) -> _Flags:
    """Rows of the table that a number sign takes out of it, as few among many that bear none."""
    first = np.frombuffer(data, np.uint8)[lines.start[:-1]]
    rows = ~known & (lines.width == width) & (width > 1)
    marked: _Flags = rows & (first == ord("#"))
    bare = np.flatnonzero(rows & ~marked)
    if bare.size < _FEWEST_BARE or 2 * np.count_nonzero(marked) > bare.size:
        return np.zeros(len(lines), np.bool_)
    for line in np.flatnonzero(marked).tolist():  # a heading may bear the mark too: `#,Time,Club`
        cells = text_of(data, lines.start, line, line).lstrip("# ").split(form.delimiter)
        numbers = sum(any(map(str.isdigit, cell)) for cell in cells)
        marked[line] = line > bare[0] and numbers >= _LEAST_NUMBERS * len(cells)
    return marked


def _is_comment(text: str, delimiter: str) -> bool:
    """`# words`, `// words`, `; words`; not a heading that begins with a number sign."""
    if text.startswith("#"):
        return text[1:2] != delimiter
    if text.startswith(";"):
        return delimiter != ";" and text.count(";") == 1
    return text.startswith("//")


def _records(
    data: bytes, form: Form, lines: Lines, repairs: Repairs, skipped: dict[str, _Flags]
) -> Records:
    first = np.flatnonzero(~np.logical_or.reduce([repairs.swallowed, *skipped.values()]))
    width = lines.width[first]
    for record in np.flatnonzero(lines.broken[first]):
        width[record] = len(repairs.cells[int(first[record])])
    _refuse_many(len(first), int(width.max(initial=0)))

    def cells_of(record: int) -> list[str]:
        line = int(first[record])
        mended = repairs.cells.get(line)
        if mended is not None:
            return mended
        return split_record(text_of(data, lines.start, line, line), form)

    return Records(
        cells=build_frame(data, lines.start, first, width, ~lines.broken[first], form, cells_of),
        first=first,
        width=width,
        last=repairs.last,
        skipped=skipped,
        start=lines.start,
        form=form,
        notes=_notes(form, repairs) + _told_out(skipped),
    )


def _refuse_many(records: int, widest: int) -> None:
    if records * widest > MAX_CELLS:
        raise ExportError(
            f"{records:,} records, the widest with {widest:,} cells, are more than "
            f"{MAX_CELLS:,} cells; split the file into smaller ones.",
            FileReason.TOO_LARGE,
        )


def _notes(form: Form, repairs: Repairs) -> list[str]:
    notes = []
    if form.escape:
        notes.append("Marks inside cells are escaped by a backslash.")
    if form.skip_blank:
        notes.append("A blank follows each delimiter; it is not part of the cell.")
    if repairs.joined:
        notes.append(f"Records that go over several lines: {repairs.joined}.")
    if repairs.literal:
        notes.append(f"Stray quotation marks were read as text ({_where(repairs.literal)}).")
    if repairs.hasty:
        notes.append("There are too many stray quotation marks to weigh each; check the cells.")
    if repairs.other:
        notes.append(f"Some lines are written unlike the rest ({_where(repairs.other)}).")
    return notes


def _told_out(skipped: dict[str, _Flags]) -> list[str]:
    """What to say of rows that a number sign takes out of the table."""
    lines = np.flatnonzero(skipped["commented-out"]).tolist()
    told = f"Rows behind a number sign were left out ({_where(lines)})."
    return [told] if lines else []


def _where(lines: list[int]) -> str:
    """`line 4, 7, 9` with at most five of them."""
    some = ", ".join(str(line + 1) for line in lines[:5])
    return f"line {some}{', ...' if len(lines) > 5 else ''}"
