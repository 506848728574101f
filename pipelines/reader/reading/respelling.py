"""Odd ways of writing a table, brought to the usual one line by line.

Whole lines inside one pair of quotation marks, columns aligned by runs of blanks, delimiters
written twice: each is rewritten so that the same physical lines remain, and told in a note.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from rangeledger.pipelines.reader.reading.dialect import (
    USUAL,
    best_delimiter,
    detect_form,
    sample_lines,
    score_of,
)
from rangeledger.pipelines.reader.reading.printed import by_columns, without_frame
from rangeledger.pipelines.reader.reading.tokens import Form, split_record

POOR = 0.3  # below this the usual delimiters explain nothing
_MOST_LINES = 0.8
_FEWEST_COLUMNS = 3

_WRAPPED = re.compile(rb'^[ \t]*"(.*)"[ \t]*$', re.M)
_RUN = re.compile(rb"(?<=\S)(?: {2,}|\t[ \t]*)(?=\S)")
_EDGE = re.compile(rb"^[ \t]+|[ \t]+$", re.M)
_NUMBER = re.compile(r"[-+]?[.,]?\d")


@dataclass(frozen=True)
class Spelling:
    """Text to be read, its form, and what was rewritten."""

    data: bytes
    form: Form
    notes: list[str]


def spelling_of(data: bytes, separator: str | None) -> Spelling:
    """Text and form of an export, rewritten where it is written oddly.

    Parameters
    ----------
    data : bytes
        UTF-8 text with LF line breaks.
    separator : str or None
        Delimiter that the text itself names in its first line.

    Returns
    -------
    Spelling
        The text with as many lines as before, and how its cells are written.
    """
    lines = sample_lines(data)
    printed = None if separator else _printed(data, lines)
    if printed is not None:
        return printed
    mark, score = (separator, 1.0) if separator else best_delimiter(lines)
    if score < POOR:
        odd = _unwrapped(data, lines) or _aligned(data, lines) or _blank_separated(data, lines)
        if odd is not None:
            return odd
    if mark == "|" and _is_doubled(lines, mark):
        return _doubled(data, mark)
    return Spelling(data, detect_form(data, lines, mark), [])


def _printed(data: bytes, lines: list[str]) -> Spelling | None:
    """A frame drawn around the cells, or columns that stand below each other."""
    plain = without_frame(data, lines)
    if plain is not None:
        note = "A frame is drawn around the cells; it was left out."
        return Spelling(plain, detect_form(plain, sample_lines(plain), "|"), [note])
    plain = by_columns(data, lines)
    if plain is None:
        return None
    note = "Columns stand below each other; words were taken by where they stand."
    return Spelling(plain, Form("\t", None), [note])


def _unwrapped(data: bytes, lines: list[str]) -> Spelling | None:
    """Each line is one quoted cell that holds a whole record."""
    wrapped = [line.strip() for line in lines if _is_wrapped(line.strip())]
    if len(wrapped) < _MOST_LINES * len(lines):
        return None
    inner = [line[1:-1].replace('""', '"') for line in wrapped]
    mark, score = best_delimiter(inner)
    if score < POOR:
        return None
    plain = _WRAPPED.sub(lambda match: match[1].replace(b'""', b'"'), data)
    note = "Every line was quoted as a whole; the lines inside the quotes were read."
    return Spelling(plain, detect_form(plain, inner, mark), [note])


def _is_wrapped(line: str) -> bool:
    return (
        len(line) > 1
        and line[0] == line[-1] == '"'
        and all(len(split_record(line, Form(mark))) == 1 for mark in USUAL if mark in line)
    )


def _aligned(data: bytes, lines: list[str]) -> Spelling | None:
    """Columns stand below each other, at least two blanks between them."""
    rows = [re.split(r" {2,}|\t[ \t]*", line.strip()) for line in lines]
    if not _is_table(rows):
        return None
    plain = _RUN.sub(b"\t", _EDGE.sub(b"", data))
    note = "Columns are aligned by blanks; runs of blanks were taken as the limits of cells."
    return Spelling(plain, Form("\t", None), [note])


def _blank_separated(data: bytes, lines: list[str]) -> Spelling | None:
    """Single blanks between numbers, or between quoted cells."""
    rows = [split_record(line, Form(" ")) for line in lines]
    quoted = sum('" "' in line and '","' not in line for line in lines)
    if quoted < _MOST_LINES * len(lines) and not _is_table(rows):
        return None
    if score_of(lines, " ", []) < POOR and quoted < _MOST_LINES * len(lines):
        return None
    return Spelling(data, detect_form(data, lines, " "), ["Cells are separated by blanks."])


def _is_table(rows: list[list[str]]) -> bool:
    """Nearly all rows equally wide, and most of their cells numbers."""
    widths = [len(row) for row in rows]
    width = max(set(widths), key=lambda value: (widths.count(value), value), default=0)
    whole = [row for row in rows if len(row) == width]
    if width < _FEWEST_COLUMNS or len(whole) < max(_MOST_LINES * len(rows), 2):
        return False
    numbers = sum(_NUMBER.match(cell) is not None for row in whole for cell in row)
    return numbers >= 0.4 * sum(map(len, whole))


def _is_doubled(lines: list[str], mark: str) -> bool:
    """Whether the delimiter never stands alone."""
    return all(line.count(mark) == 2 * line.count(mark * 2) for line in lines)


def _doubled(data: bytes, mark: str) -> Spelling:
    plain = data.replace(mark.encode() * 2, mark.encode())
    form = detect_form(plain, sample_lines(plain), mark)
    return Spelling(plain, form, [f"Cells are separated by {mark * 2}."])
