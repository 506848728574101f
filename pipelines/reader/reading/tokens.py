"""One record of text to its cells, also where quotes are stray, missing or escaped.

A record that keeps the rules has one reading. A record that breaks them is read with the fewest
repairs, and among those so that it gets as many cells as its neighbours.
"""

from __future__ import annotations

import csv
import heapq
import re
from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

LITERAL_OPENING = 1.0  # a cell begins with a quotation mark that does not quote
LITERAL_INSIDE = 1.0  # a single quotation mark inside a quoted cell
LITERAL_MIDDLE = 0.5  # a quotation mark in the middle of an unquoted cell
OTHER_WIDTH = 1.0  # another number of cells than the neighbours
_NEVER = 1e9  # no repair at all: line breaks outside of quotation marks

_LONGEST = 20_000  # characters of a record for which readings are compared
MOST_STATES = 3_000  # and states of the comparison
_MOST_CLOSINGS = 8


@dataclass(frozen=True)
class Form:
    """How cells are written: delimiter, quotation mark, backslash escapes, a blank to skip."""

    delimiter: str
    quote: str | None = '"'
    escape: bool = False
    skip_blank: bool = False


class Reading(NamedTuple):
    """Cells of a record, what its repairs cost, that with its width, cells looked at."""

    cells: list[str]
    repairs: float
    cost: float
    effort: int = 0


class _Cell(NamedTuple):
    end: int  # where the delimiter or the end of the text is
    text: str
    cost: float


def split_record(text: str, form: Form) -> list[str]:
    """Cells of a record that keeps the rules of quoting.

    Parameters
    ----------
    text : str
        The record without its line break.
    form : Form
        How cells are written.

    Returns
    -------
    list of str
        The cells, unquoted.
    """
    escaped = form.escape and "\\" in text
    if not escaped and (form.quote is None or form.quote not in text):
        cells = text.split(form.delimiter)
        return _without_blank(cells) if form.skip_blank else cells
    return _strict(text, form) or _greedy(_Record(text, form))[0]


def _strict(text: str, form: Form) -> list[str] | None:
    """Cells by the standard library, None where a rule is broken or it would differ."""
    delimiter, quote = form.delimiter, form.quote
    if quote is None or form.skip_blank or form.escape or len(text) > _LONGEST:
        return None
    if text[0] in " \t":
        return None
    if f"{delimiter} {quote}" in text or f"{delimiter}\t{quote}" in text:
        return None
    try:
        return next(csv.reader((text,), delimiter=delimiter, quotechar=quote, strict=True))
    except csv.Error:
        return None


def read_record(
    text: str, form: Form, widths: tuple[int, ...], most_states: int = MOST_STATES
) -> Reading:
    """Cells of any record, by the fewest repairs.

    Parameters
    ----------
    text : str
        The record without its line break; line breaks inside belong to a quoted cell.
    form : Form
        How cells are written.
    widths : tuple of int
        Numbers of cells that the neighbours have; another number costs one repair.
    most_states : int
        Effort after which the record is read left to right without comparing.

    Returns
    -------
    Reading
        The cells and the cost: 0 where nothing was repaired.
    """
    record = _Record(text, form)
    cells, repairs, opened = _greedy(record)
    if repairs > 0 and opened and most_states > 0 and len(text) <= _LONGEST:
        best = _cheapest(record, widths, most_states)
        if best is not None:
            return best
    return Reading(cells, repairs, repairs + _ragged(len(cells), widths), record.looked)


def split_unbroken(text: str, form: Form) -> list[str] | None:
    """Cells of a record that needs no repair, None for any other.

    Parameters
    ----------
    text : str
        The record without its line break; line breaks inside belong to a quoted cell.
    form : Form
        How cells are written.

    Returns
    -------
    list of str or None
        The cells, unquoted.
    """
    cells, repairs, _ = _greedy(_Record(text, form), most=0.0)
    return cells if repairs == 0 else None


def can_stay_open(text: str, form: Form) -> bool:
    """Whether a line can end inside a quoted cell without a stray mark in it.

    Parameters
    ----------
    text : str
        One line.
    form : Form
        How cells are written.

    Returns
    -------
    bool
        Whether only doubled or escaped marks follow some opening mark.
    """
    if form.quote is None:
        return False
    ends = [match.end() for match in _opening(form.delimiter, form.quote).finditer(text)]
    return any(_content(text[end:], form)[1] == 0 for end in ends[-_MOST_CLOSINGS:])


def _ragged(width: int, widths: tuple[int, ...]) -> float:
    return 0.0 if width in widths else OTHER_WIDTH


def _without_blank(cells: list[str]) -> list[str]:
    return [cell.removeprefix(" ") for cell in cells]


class _Record:
    """A text with the places where a quoted cell could end."""

    def __init__(self, text: str, form: Form) -> None:
        self.text = text
        self.form = form
        self.looked = 0
        self.closings: list[tuple[int, int]] = []
        if form.quote and form.quote in text:
            self.closings = [
                match.span()
                for match in _closing(form.delimiter, form.quote).finditer(text)
                if not (form.escape and _is_escaped(text, match.start()))
            ]

    def unquoted(self, start: int) -> _Cell:
        """The cell up to the next delimiter, whatever it begins with."""
        form = self.form
        end = self._next_delimiter(start)
        cell = self.text[start:end]
        cost = _NEVER if "\n" in cell else 0.0
        if form.quote and (marks := cell.count(form.quote)):
            opening = cell.lstrip(" \t").startswith(form.quote)
            cost += LITERAL_MIDDLE * (marks - 1) + LITERAL_OPENING if opening else LITERAL_MIDDLE
        if form.skip_blank:
            cell = cell.removeprefix(" ")
        return _Cell(end, _unescaped(cell, form), cost)

    def quoted(self, start: int) -> Iterator[_Cell]:
        """Readings of a quoted cell that begins here: one for each mark that can close it."""
        opening = self._opening(start)
        if opening < 0:
            return
        first = bisect_left(self.closings, (opening + 1, 0))
        for begin, end in self.closings[first : first + _MOST_CLOSINGS]:
            inner = self.text[opening + 1 : begin]
            self.looked += 1
            yield _Cell(end, *_content(inner, self.form))

    def _opening(self, start: int) -> int:
        """Where the opening mark is, blanks before it allowed; -1 if the cell has none."""
        form, text = self.form, self.text
        if form.quote is None:
            return -1
        while text[start : start + 1] in (" ", "\t") and text[start] != form.delimiter:
            start += 1
        return start if text.startswith(form.quote, start) else -1

    def _next_delimiter(self, start: int) -> int:
        end = self.text.find(self.form.delimiter, start)
        while self.form.escape and end > start and _is_escaped(self.text, end):
            end = self.text.find(self.form.delimiter, end + 1)
        return end if end >= 0 else len(self.text)


def _greedy(record: _Record, most: float = _NEVER) -> tuple[list[str], float, bool]:
    """Cells left to right, their cost, and whether any begins with a quotation mark."""
    cells: list[str] = []
    cost, start, opened = 0.0, 0, False
    while True:
        quoted = _first(record.quoted(start))
        cell = quoted or record.unquoted(start)
        opened = opened or quoted is not None or cell.cost >= LITERAL_OPENING
        cells.append(cell.text)
        cost += cell.cost
        if cell.end >= len(record.text) or cost > most:
            return cells, cost, opened
        start = cell.end + 1


def _first(cells: Iterator[_Cell]) -> _Cell | None:
    """The first cell without a repair, else the cheapest."""
    best: _Cell | None = None
    for cell in cells:
        if cell.cost == 0:
            return cell
        if best is None or cell.cost < best.cost:
            best = cell
    return best


_State = tuple[int, int]  # start of a cell, cells before it
_Steps = dict[_State, tuple[float, _State | None, str]]


def _cheapest(record: _Record, widths: tuple[int, ...], most: int) -> Reading | None:
    """Dynamic programme over cell starts and cells so far; None where it would take too long."""
    best: _Steps = {(0, 0): (0.0, None, "")}
    ends: list[tuple[float, int, _State]] = []
    queue: list[_State] = [(0, 0)]
    options: dict[int, list[_Cell]] = {}
    while queue:
        state = heapq.heappop(queue)
        start, count = state
        if start > len(record.text):
            ends.append((best[state][0] + _ragged(count, widths), count, state))
            continue
        if start not in options:
            options[start] = [record.unquoted(start), *record.quoted(start)]
        for cell in options[start]:
            _step(best, queue, state, cell)
        record.looked += len(options[start])
        if len(best) > most:
            return None
    cost, _, state = min(ends)
    return Reading(_traced(best, state), best[state][0], cost, record.looked)


def _step(best: _Steps, queue: list[_State], state: _State, cell: _Cell) -> None:
    """Go on by one cell, if no cheaper way to the same place is known."""
    after = (cell.end + 1, state[1] + 1)
    cost = best[state][0] + cell.cost
    known = best.get(after)
    if known is None:
        heapq.heappush(queue, after)
    if known is None or cost < known[0]:
        best[after] = (cost, state, cell.text)


def _traced(best: _Steps, state: _State | None) -> list[str]:
    cells: list[str] = []
    while state is not None:
        _, before, cell = best[state]
        cells.append(cell)
        state = before
    return cells[-2::-1]  # without the empty start


def _is_escaped(text: str, position: int) -> bool:
    """Whether an odd number of backslashes stands before a position."""
    start = position
    while start > 0 and text[start - 1] == "\\":
        start -= 1
    return (position - start) % 2 == 1


def _content(inner: str, form: Form) -> tuple[str, float]:
    """Text between two quotation marks, and its cost: single marks inside."""
    quote = form.quote or ""
    if quote not in inner and not form.escape:
        return inner, 0.0
    plain = inner.replace(quote * 2, "")
    marks = plain.count(quote)
    if form.escape:
        marks -= len(re.findall(r"\\" + re.escape(quote), plain))
    text = _unescaped(inner.replace(quote * 2, quote), form)
    return text, LITERAL_INSIDE * max(marks, 0)


def _unescaped(cell: str, form: Form) -> str:
    if not form.escape or "\\" not in cell:
        return cell
    return _escapes(form.delimiter, form.quote or "").sub(r"\1", cell)


@lru_cache(maxsize=64)
def _closing(delimiter: str, quote: str) -> re.Pattern[str]:
    """A quotation mark that a delimiter or the end follows, blanks between allowed."""
    blanks = {"\t": "[ ]*", " ": ""}.get(delimiter, "[ \t]*")
    return re.compile(f"{re.escape(quote)}{blanks}(?={re.escape(delimiter)}|\\Z)")


@lru_cache(maxsize=64)
def _opening(delimiter: str, quote: str) -> re.Pattern[str]:
    """A quotation mark at the beginning of a cell, blanks before it allowed."""
    blanks = {"\t": "[ ]*", " ": ""}.get(delimiter, "[ \t]*")
    return re.compile(f"(?:\\A|{re.escape(delimiter)}){blanks}{re.escape(quote)}")


@lru_cache(maxsize=64)
def _escapes(delimiter: str, quote: str) -> re.Pattern[str]:
    return re.compile("\\\\([" + re.escape("\\" + delimiter + quote) + "])")
