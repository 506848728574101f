"""Lines that break the rules of quoting: which belong together, and how they are read.

A quoted cell may go over line breaks, and a stray quotation mark may look like the beginning of
one. Of all readings that with the fewest repairs is taken: single marks read as text, records of
another width than their neighbours, whole lines of the right width swallowed by a cell. So a mark
that is never closed can't swallow the rest of the file.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
from rangeledger.pipelines.reader.reading.dialect import USUAL
from rangeledger.pipelines.reader.reading.lines import Lines, text_of
from rangeledger.pipelines.reader.reading.tokens import (
    MOST_STATES,
    Form,
    Reading,
    can_stay_open,
    read_record,
    split_record,
    split_unbroken,
)

SWALLOWED = 1.0  # cost of a whole line of the table inside a cell
_MOST_TRIES = 6  # lines that could close an open cell
_MOST_LINES = 400  # lines that a cell may go over
_MOST_BYTES = 1 << 18  # of a record that goes over lines
_MOST_EFFORT = 20_000_000  # cells looked at in one file
_ANOTHER_LINE = 0.5  # cost of going on while judging
_JUDGED = 3  # lines of a record by which escapes are judged
_NUMBER = re.compile(r"^\s*[-+−]?[0-9]+(?:[.,][0-9]+)?\s*$")
_FEWEST_CELLS = 4  # of a line whose delimiter differs from the others'


@dataclass
class Repairs:
    """Cells of the lines that had to be read one by one.

    `cells` and `last` are keyed by the line (from 0) on which the record starts; `swallowed`
    marks lines that belong to a record which starts before; `hasty` says that there were so many
    that the last ones were read left to right.
    """

    swallowed: npt.NDArray[np.bool_]
    cells: dict[int, list[str]] = field(default_factory=dict)
    last: dict[int, int] = field(default_factory=dict)
    literal: list[int] = field(default_factory=list)
    other: list[int] = field(default_factory=list)
    joined: int = 0
    hasty: bool = False


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
        self.effort = 0

    def _text(self, first: int, last: int) -> str:
        return text_of(self.data, self.lines.start, first, last)

    def _widths(self, line: int) -> tuple[int, ...]:
        """Numbers of cells that a record starting here may have without being odd."""
        if line == 0 or self.result.swallowed[line - 1]:
            return (self.width,)
        before = self.result.cells.get(line - 1)
        return (self.width, len(before) if before else int(self.lines.width[line - 1]))

    def mend(self, line: int) -> None:
        """Read the record that starts on a broken line.

        Parameters
        ----------
        line : int
            The line, from 0.
        """
        widths = self._widths(line)
        text = self._text(line, line)
        later = self._closing_lines(line) if can_stay_open(text, self.form) else []
        last, reading = self._unrepaired(line, later, widths) or self._cheapest(
            line, self._read(line, line, widths), later, widths
        )
        self.result.cells[line], self.result.last[line] = reading.cells, last
        self.result.swallowed[line + 1 : last + 1] = True
        self.result.joined += last > line
        if reading.repairs >= 1:
            self.result.literal.append(line)

    def _closing_lines(self, line: int) -> list[int]:
        """The next lines in which a cell that is open could end."""
        first = int(np.searchsorted(self.closing, line, side="right"))
        return [
            last
            for last in self.closing[first : first + _MOST_TRIES].tolist()
            if last - line <= _MOST_LINES and self._size(line, last) <= _MOST_BYTES
        ]

    def _unrepaired(
        self, line: int, later: list[int], widths: tuple[int, ...]
    ) -> tuple[int, Reading] | None:
        """The record with later lines, if it then needs no repair at all."""
        for last in later:
            if any(self._is_whole(between) for between in range(line + 1, last)):
                return None
            cells = split_unbroken(self._text(line, last), self.form)
            if cells is not None and len(cells) in widths:
                return last, Reading(cells, 0.0, 0.0)
        return None

    def _cheapest(
        self, line: int, alone: Reading, later: list[int], widths: tuple[int, ...]
    ) -> tuple[int, Reading]:
        """The record alone, or with later lines where that takes fewer repairs in all."""
        best, least = (line, alone), float("inf")
        apart, upto = alone.cost, line
        for last in later if alone.cost > 0 and not self.result.hasty else []:
            apart += sum(self._cost(between, widths) for between in range(upto + 1, last + 1))
            upto = last
            whole = SWALLOWED * sum(self._is_whole(between) for between in range(line + 1, last))
            together = self._read(line, last, widths)
            if together.cost + whole < min(apart, least):
                best, least = (last, together), together.cost + whole
        return best

    def _read(self, first: int, last: int, widths: tuple[int, ...]) -> Reading:
        """Read some lines as one record; past the effort allowed for a file left to right."""
        self.result.hasty = self.effort > _MOST_EFFORT
        most = 0 if self.result.hasty else MOST_STATES
        reading = read_record(self._text(first, last), self.form, widths, most)
        self.effort += reading.effort
        return reading

    def _size(self, first: int, last: int) -> int:
        return int(self.lines.start[last + 1] - self.lines.start[first])

    def _cost(self, line: int, widths: tuple[int, ...]) -> float:
        """Repairs that a line takes on its own."""
        if self.lines.broken[line]:
            return self._read(line, line, widths).cost
        return 0.0 if self.lines.width[line] in widths else 1.0

    def _is_whole(self, line: int) -> bool:
        """Whether a line is a record of the usual width on its own."""
        return self.width > 2 and int(self.lines.width[line]) == self.width


def respell(
    data: bytes,
    lines: Lines,
    form: Form,
    width: int,
    result: Repairs,
    skip: npt.NDArray[np.bool_],
) -> None:
    """Read lines of another width that are full records in another spelling.

    Parameters
    ----------
    data : bytes
        UTF-8 text.
    lines : Lines
        Its lines; those read here are marked broken.
    form : Form
        How the other lines are written.
    width : int
        Usual number of cells.
    result : Repairs
        Where their cells go.
    skip : ndarray of bool
        Blank lines and the like.

    Notes
    -----
    A line inside one pair of quotation marks, or one that another usual delimiter cuts into
    exactly the usual number of cells (four or more).
    """
    marks = {*USUAL, form.quote or form.delimiter} - {form.delimiter}
    odd = ~(lines.broken | result.swallowed | skip) & (lines.width != width)
    if width < 2 or not odd.any() or not any(mark.encode() in data for mark in marks):
        return
    for line in np.flatnonzero(odd).tolist():
        text = text_of(data, lines.start, line, line)
        cells = _other_spelling(text, form, width)
        if cells is not None:
            result.cells[line], result.last[line] = cells, line
            result.other.append(line)
            lines.broken[line] = True


def _other_spelling(text: str, form: Form, width: int) -> list[str] | None:
    whole = text.strip()
    if form.quote and len(whole) > 1 and whole[0] == whole[-1] == form.quote:
        cells = split_record(whole[1:-1].replace(form.quote * 2, form.quote), form)
        if len(cells) == width and len(split_record(whole, form)) == 1:
            return cells
    for mark in USUAL:
        if width >= _FEWEST_CELLS and mark != form.delimiter and text.count(mark) >= width - 1:
            cells = split_record(text, Form(mark, form.quote))
            if len(cells) == width and not _is_prose(cells):
                return cells
    return None


def _is_prose(cells: list[str]) -> bool:
    """Whether marks part clauses of a sentence, each with a blank behind it, and no numbers."""
    blanks = all(cell.startswith(" ") for cell in cells[1:])
    numbers = sum(bool(_NUMBER.match(cell)) for cell in cells)
    return blanks and 2 * numbers < len(cells)


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
    if b"\\" not in data:
        return form
    marks = [b"\\" + mark.encode() for mark in (form.quote, form.delimiter) if mark]
    found = [line for mark in marks for line in _lines_with(data, lines, mark, 30)]
    if not found:
        return form
    escaped = Form(form.delimiter, form.quote, True, form.skip_blank)
    plain_cost = sum(_least(data, lines, line, form, width) for line in found)
    escaped_cost = sum(_least(data, lines, line, escaped, width) for line in found)
    return escaped if escaped_cost < plain_cost else form


def _least(data: bytes, lines: Lines, line: int, form: Form, width: int) -> float:
    """Least cost of a record that starts on a line, going over at most two more."""
    upto = min(line + _JUDGED, len(lines))
    return min(
        read_record(text_of(data, lines.start, line, last), form, (width,)).cost
        + _ANOTHER_LINE * (last - line)
        for last in range(line, upto)
    )


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
