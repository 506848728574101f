"""Where the lines of a text are, how many cells each has, and which need a closer look.

Everything here is counted on the bytes, vectorised; no line is turned into a string.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

_CHUNK = 1 << 20
_LF = 10
_SPACES = (9, 11, 12, 32)


@dataclass(frozen=True)
class Lines:
    """Physical lines of a text.

    `start` has one entry more than there are lines: line i (from 0) is
    `data[start[i] : start[i + 1] - 1]`. `width` counts cells as if no cell went over a line
    break. `broken` marks lines that break the rules of quoting, `closing` those in which a quoted
    cell could end.
    """

    start: npt.NDArray[np.int64]
    width: npt.NDArray[np.int32]
    broken: npt.NDArray[np.bool_]
    closing: npt.NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.width)


def find_lines(data: bytes, delimiter: str, quote: str | None) -> Lines:
    """Lines of a text with their numbers of cells.

    Parameters
    ----------
    data : bytes
        UTF-8 text whose line breaks are all LF and that ends in one.
    delimiter : str
        One ASCII character.
    quote : str or None
        One ASCII character, or None where nothing is quoted.

    Returns
    -------
    Lines
        One entry a line.
    """
    count = _count_plain if quote is None else _count_quoted
    parts = [
        count(data, first, last, ord(delimiter), ord(quote or "\0"))
        for first, last in _chunks(data)
    ]
    ends, widths, broken, closing = (np.concatenate(column) for column in zip(*parts, strict=True))
    start = np.concatenate([np.zeros(1, np.int64), ends + 1])
    return Lines(start, widths, broken, closing)


def line_starts(data: bytes) -> npt.NDArray[np.int64]:
    """Where each line of a text starts, with the end of the text behind.

    Parameters
    ----------
    data : bytes
        Text whose line breaks are all LF and that ends in one.

    Returns
    -------
    ndarray of int64
        One entry more than there are lines.
    """
    ends = np.flatnonzero(np.frombuffer(data, np.uint8) == _LF)
    return np.concatenate([np.zeros(1, np.int64), ends + 1])


def text_of(data: bytes, start: npt.NDArray[np.int64], first: int, last: int) -> str:
    """Text of some lines, without the line break at the end.

    Parameters
    ----------
    data : bytes
        UTF-8 text.
    start : ndarray of int64
        Where its lines start.
    first, last : int
        Lines, counted from 0, both included.

    Returns
    -------
    str
        The lines, joined by LF.
    """
    return data[start[first] : start[last + 1] - 1].decode("utf-8", "replace")


def blank_lines(data: bytes, lines: Lines) -> npt.NDArray[np.bool_]:
    """Mark lines that are empty or only blanks.

    Parameters
    ----------
    data : bytes
        The text.
    lines : Lines
        Its lines.

    Returns
    -------
    ndarray of bool
        One entry a line.
    """
    blank: npt.NDArray[np.bool_] = np.diff(lines.start) == 1
    buffer = np.frombuffer(data, np.uint8)
    first = buffer[lines.start[:-1]]
    for line in np.flatnonzero((lines.width == 1) & ~blank & np.isin(first, _SPACES)):
        blank[line] = not data[lines.start[line] : lines.start[line + 1]].strip()
    return blank


def usual_width(widths: npt.NDArray[np.int32]) -> int:
    """Most frequent number of cells; of several the largest.

    Parameters
    ----------
    widths : ndarray of int32
        Cells of some lines.

    Returns
    -------
    int
        Number of cells. One cell counts only if no line has more.
    """
    several = widths[widths > 1]
    if len(several) == 0:
        return 1
    values, counts = np.unique(several, return_counts=True)
    return int(values[len(counts) - 1 - np.argmax(counts[::-1])])


def _chunks(data: bytes) -> Iterator[tuple[int, int]]:
    """Ranges of about a mebibyte that end with a line."""
    first = 0
    while first < len(data):
        last = data.rfind(b"\n", first, first + _CHUNK)
        if last < 0:
            last = data.find(b"\n", first + _CHUNK)
        yield first, last + 1
        first = last + 1


_Counted = tuple[
    npt.NDArray[np.int64], npt.NDArray[np.int32], npt.NDArray[np.bool_], npt.NDArray[np.bool_]
]


def _count_plain(data: bytes, first: int, last: int, delimiter: int, _: int) -> _Counted:
    buffer = np.frombuffer(data, np.uint8, last - first, first)
    marks = np.flatnonzero((buffer == delimiter) | (buffer == _LF))
    return _counted(marks, buffer[marks], first)


def _counted(marks: npt.NDArray[np.int64], kinds: npt.NDArray[np.uint8], first: int) -> _Counted:
    """Ends and widths of lines from the marks that separate cells and lines."""
    rank = np.flatnonzero(kinds == _LF)
    width = np.diff(rank, prepend=-1).astype(np.int32)
    no = np.zeros(len(width), np.bool_)
    return marks[rank] + first, width, no, no


def _count_quoted(data: bytes, first: int, last: int, delimiter: int, quote: int) -> _Counted:
    """Delimiters behind an even number of quotation marks of their line separate cells."""
    buffer = np.frombuffer(data, np.uint8, last - first, first)
    marks = np.flatnonzero((buffer == delimiter) | (buffer == _LF) | (buffer == quote))
    kinds = buffer[marks]
    quotes = kinds == quote
    if not quotes.any():
        return _counted(marks, kinds, first)
    inside = (np.cumsum(quotes, dtype=np.uint8) & 1).view(np.bool_)
    wrong = _misplaced(marks, quotes, inside)
    if not wrong.any() and not inside[kinds == _LF].any():
        separates = ~(quotes | inside)
        return _counted(marks[separates], kinds[separates], first)
    return _count_broken(buffer, marks, kinds, first, quote)


def _misplaced(
    marks: npt.NDArray[np.int64], quotes: npt.NDArray[np.bool_], inside: npt.NDArray[np.bool_]
) -> npt.NDArray[np.bool_]:
    """Opening marks without a mark of any kind right before, closing ones without one behind."""
    close = np.diff(marks, prepend=-1) == 1
    return quotes & np.where(inside, ~close, ~np.append(close[1:], True))


def _count_broken(
    buffer: npt.NDArray[np.uint8],
    marks: npt.NDArray[np.int64],
    kinds: npt.NDArray[np.uint8],
    first: int,
    quote: int,
) -> _Counted:
    """The same with the count of quotation marks begun anew on each line."""
    quotes, ends = kinds == quote, kinds == _LF
    line = np.cumsum(ends) - ends
    seen = np.cumsum(quotes)
    before = np.concatenate([[0], seen[ends]])[:-1]
    inside = (seen - before[line]) & 1 == 1
    lines = len(before)
    width = np.bincount(line[~(quotes | ends | inside)], minlength=lines).astype(np.int32) + 1
    broken = inside[ends]
    broken[line[_misplaced(marks, quotes, inside)]] = True
    after = buffer[marks[quotes] + 1]  # a line break is always behind
    blank = (after == 32) | (after == 9)
    closes = blank | np.append(np.diff(marks) == 1, False)[quotes]
    closing = np.zeros(lines, np.bool_)
    closing[line[quotes][closes & (after != quote)]] = True
    return marks[ends] + first, width, broken, closing & broken
