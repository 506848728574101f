"""Lines that break the rules of quoting: which belong together, and how they are read.

A quoted cell may go over line breaks, and a stray quotation mark may look like the beginning of
one. Of all readings that with the fewest repairs is taken: single marks read as text, records of
another width than their neighbours, whole lines of the right width swallowed by a cell. So a mark
that is never closed can't swallow the rest of the file.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from pipelines.reading.lines import Lines
from pipelines.reading.tokens import Form, Reading, read_record

_MOST_TRIES = 3  # lines that could close an open cell
_MOST_LINES = 400  # lines that a cell may go over
_MOST_BYTES = 1 << 18  # of a record that goes over lines


@dataclass
class Repairs:
    """Cells of the lines that had to be read one by one.

    `cells` and `last` are keyed by the line (from 0) on which the record starts; `swallowed`
    marks lines that belong to a record which starts before.
    """

    swallowed: npt.NDArray[np.bool_]
    cells: dict[int, list[str]] = field(default_factory=dict)
    last: dict[int, int] = field(default_factory=dict)
    literal: list[int] = field(default_factory=list)
    joined: int = 0


def repair(data: bytes, lines: Lines, form: Form, width: int) -> Repairs:
    """Read the broken lines of a text.

    Parameters
    ----------
    data : bytes
        UTF-8 text with LF line breaks.
    lines : Lines
        Its lines.
    form : Form
        How cells are written.
    width : int
        Usual number of cells.

    Returns
    -------
    Repairs
        Cells of each record that starts on a broken line.
    """
    workshop = _Workshop(data, lines, form, width)
    for line in np.flatnonzero(lines.broken).tolist():
        if not workshop.result.swallowed[line]:
            workshop.mend(line)
    return workshop.result


class _Workshop:
    def __init__(self, data: bytes, lines: Lines, form: Form, width: int) -> None:
        self.data, self.lines, self.form, self.width = data, lines, form, width
        self.closing = np.flatnonzero(lines.closing)
        self.result = Repairs(np.zeros(len(lines), np.bool_))

    def text(self, first: int, last: int) -> str:
        start = self.lines.start
        return self.data[start[first] : start[last + 1] - 1].decode("utf-8", "replace")

    def widths(self, line: int) -> tuple[int, ...]:
        """Numbers of cells that a record starting here may have without being odd."""
        if line == 0 or self.result.swallowed[line - 1]:
            return (self.width,)
        before = self.result.cells.get(line - 1)
        return (self.width, len(before) if before else int(self.lines.width[line - 1]))

    def mend(self, line: int) -> None:
        widths = self.widths(line)
        alone = read_record(self.text(line, line), self.form, widths)
        last, reading = self._joined(line, alone, widths) or (line, alone)
        self.result.cells[line], self.result.last[line] = reading.cells, last
        self.result.swallowed[line + 1 : last + 1] = True
        self.result.joined += last > line
        if reading.cost >= 1:
            self.result.literal.append(line)

    def _joined(
        self, line: int, alone: Reading, widths: tuple[int, ...]
    ) -> tuple[int, Reading] | None:
        """The record with later lines, where that takes fewer repairs than line by line."""
        if self.form.quote is None:
            return None
        apart, upto = alone.cost, line
        first = np.searchsorted(self.closing, line, side="right")
        for last in self.closing[first : first + _MOST_TRIES].tolist():
            if last - line > _MOST_LINES or self._size(line, last) > _MOST_BYTES:
                return None
            apart += sum(self._cost(between, widths) for between in range(upto + 1, last + 1))
            upto = last
            whole = sum(self._is_whole(between) for between in range(line + 1, last))
            together = read_record(self.text(line, last), self.form, widths)
            if together.cost + whole < apart:
                return last, together
        return None

    def _size(self, first: int, last: int) -> int:
        return int(self.lines.start[last + 1] - self.lines.start[first])

    def _cost(self, line: int, widths: tuple[int, ...]) -> float:
        """Repairs that a line takes on its own."""
        if self.lines.broken[line]:
            return read_record(self.text(line, line), self.form, widths).cost
        return 0.0 if self.lines.width[line] in widths else 1.0

    def _is_whole(self, line: int) -> bool:
        """Whether a line is a record of the usual width on its own."""
        return self.width > 1 and int(self.lines.width[line]) == self.width


def judge_escapes(data: bytes, lines: Lines, form: Form, width: int) -> Form:
    """The form with backslash escapes, where they explain the lines that have backslashes better.

    Parameters
    ----------
    data : bytes
        UTF-8 text.
    lines : Lines
        Its lines.
    form : Form
        Form found so far.
    width : int
        Usual number of cells.

    Returns
    -------
    Form
        The form, `escape` set where the evidence says so.
    """
    marks = [b"\\" + mark.encode() for mark in (form.quote, form.delimiter) if mark]
    found = [line for mark in marks for line in _lines_with(data, lines, mark, 30)]
    if not found:
        return form
    escaped = Form(form.delimiter, form.quote, True, form.skip_blank)
    texts = [
        data[lines.start[i] : lines.start[i + 1] - 1].decode("utf-8", "replace") for i in found
    ]
    plain_cost = sum(read_record(text, form, (width,)).cost for text in texts)
    escaped_cost = sum(read_record(text, escaped, (width,)).cost for text in texts)
    return escaped if escaped_cost < plain_cost else form


def _lines_with(data: bytes, lines: Lines, mark: bytes, most: int) -> list[int]:
    """The first lines that contain some bytes."""
    found: list[int] = []
    at = data.find(mark)
    while at >= 0 and len(found) < most:
        line = int(np.searchsorted(lines.start, at, side="right")) - 1
        found.append(line)
        at = data.find(mark, int(lines.start[line + 1]))
    return found


def with_backslash(data: bytes, lines: Lines) -> npt.NDArray[np.bool_]:
    """Mark lines that contain a backslash.

    Parameters
    ----------
    data : bytes
        UTF-8 text.
    lines : Lines
        Its lines.

    Returns
    -------
    ndarray of bool
        One entry a line.
    """
    at = np.flatnonzero(np.frombuffer(data, np.uint8) == ord("\\"))
    marked = np.zeros(len(lines), np.bool_)
    marked[np.searchsorted(lines.start, at, side="right") - 1] = True
    return marked
