"""Cells of measured columns that are no numbers, or are written otherwise than the others."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np
import numpy.typing as npt
import polars as pl
from rangeledger.pipelines.reader.normalising.number_format import NumberFormat, other_decimal
from rangeledger.pipelines.reader.normalising.phrases import any_of, pieces_of
from rangeledger.pipelines.reader.recognising.columns.assignment import Assigned
from rangeledger.pipelines.reader.recognising.columns.unit_readings import (
    IN_CELLS,
    UnitsFound,
    in_canonical_unit,
)
from rangeledger.schemas.headings import plain, unit_symbols
from rangeledger.schemas.reasons import RowReason

# A shot needs one of these: a word in place of the only one is no mere gap.
_NEEDED = frozenset({"ball_speed_mps", "carry_m"})
_FEWEST_ALIKE = 2  # cells with the same word: then it is the file's own for no value
_MOST_SHOWN = 3
_LONG = 20_000
_A_NUMBER = re.compile(r"[0-9]+(?:[.,][0-9]+)?")
_RANGE = re.compile(
    r"^\s*[0-9]+(?:[.,][0-9]+)?\s*(?:-|–|—|\.\.\.?|/)\s*[0-9]+(?:[.,][0-9]+)?\s*\D{0,6}$"
)
_TWO = re.compile(r"^\s*[0-9]+(?:[.,][0-9]+)?\s+\D{1,6}\s+[0-9]+(?:[.,][0-9]+)?\s*\D{0,6}$")
_ROUGH_SIGN = re.compile(r"^\s*[~≈±<>]\s*[0-9.,]+\s*\D{0,6}$")


@dataclass(slots=True)
class Rejection:
    """Rows that can't become shots, with one code and a sentence each."""

    code: RowReason
    rows: npt.NDArray[np.int64]
    sentences: list[str]


def odd_cells(
    columns: Mapping[str, Assigned],
    units: UnitsFound,
    number_format: NumberFormat | None = None,
) -> tuple[list[Rejection], list[str]]:
    """Rows with a cell that is no number, and what to tell of the cells that are left empty.

    Parameters
    ----------
    columns : mapping of str to Assigned
        Measured columns.
    units : UnitsFound
        Their units.
    number_format : NumberFormat, optional
        Marks of the file; decimal point by default.

    Returns
    -------
    tuple[list[Rejection], list[str]]
        A word without digits leaves the cell empty where a shot can do without its value, or where
        several cells bear the same word; anything else rejects its row. Remarks tell of the words,
        and of numbers that have the other decimal mark.
    """
    found = {name: _bad(assigned, units, name) for name, assigned in columns.items()}
    bad = {name: rows for name, rows in found.items() if rows.any()}
    said = Counter(
        cell for name, rows in bad.items() for cell in columns[name].profile.text.filter(rows)
    )
    rejections, remarks = [], []
    for name, rows in bad.items():
        heading, text = columns[name].profile.heading.text, columns[name].profile.text
        lone = rows & ~_measured_beside(name, columns, found)
        needed = set(text.filter(lone).drop_nulls())
        words = {
            cell
            for cell in text.filter(rows).drop_nulls()
            if is_vague(cell)
            or (
                not any(map(str.isdigit, cell))
                and (cell not in needed or said[cell] >= _FEWEST_ALIKE)
            )
        }
        if words:
            remarks.append(
                f"Column {heading!r} holds {_quoted(words)}, which is no number; it was taken for "
                "no value."
            )
        left = np.flatnonzero((rows & ~text.is_in(list(words)).fill_null(False)).to_numpy())
        if left.size:
            cells = text.gather(left).to_list()
            sentences = [f"Column {heading!r} holds {c!r}, which is no number." for c in cells]
            rejections.append(Rejection(RowReason.NOT_A_NUMBER, left, sentences))
    return rejections, remarks + _in_other_mark(columns, number_format or NumberFormat())


@lru_cache(maxsize=4096)
def is_vague(cell: str) -> bool:
    """Whether a cell gives a number only roughly, `about 140`, or as a range, `125-130`.

    Parameters
    ----------
    cell : str
        A cell that is no number.

    Returns
    -------
    bool
        Such a cell holds no measurement, and takes none from the rest of its row.
    """
    if _RANGE.match(cell) or (_TWO.match(cell) and _between().search(plain(cell))):
        return True
    pieces = pieces_of(_A_NUMBER.sub(" ", cell), ("roughly", "fillers_said"))
    words = {piece.kind for piece in pieces if not unit_symbols(piece.text)}
    rough = "roughly" in words and words <= {"roughly", "fillers_said"}
    return bool(_A_NUMBER.search(cell)) and (rough or bool(_ROUGH_SIGN.match(cell)))


@cache
def _between() -> re.Pattern[str]:
    return re.compile(rf"[0-9]\s*\b{any_of('between', 'to')}\b\s*[0-9]")


def _measured_beside(
    name: str, columns: Mapping[str, Assigned], found: Mapping[str, pl.Series]
) -> pl.Series:
    """Rows that can do without a column's value: it is not needed, or another one stands there."""
    rows = len(columns[name].profile.text)
    if name not in _NEEDED:
        return pl.Series([True]).new_from_index(0, rows)
    beside = pl.Series([False]).new_from_index(0, rows)
    for other in _NEEDED & columns.keys() - {name}:
        numbers = columns[other].profile.numbers
        if numbers is not None:
            beside |= numbers.value.is_not_null() & ~found[other]
    return beside


def _bad(assigned: Assigned, units: UnitsFound, name: str) -> pl.Series:
    numbers = assigned.profile.numbers
    assert numbers is not None
    if units.readings[name].unit != IN_CELLS:
        return numbers.bad
    converted = in_canonical_unit(assigned, IN_CELLS)
    return numbers.bad | (converted.is_null() & numbers.value.is_not_null())


def _quoted(words: set[str]) -> str:
    shown = sorted(words)[:_MOST_SHOWN]
    more = f" and {len(words) - len(shown)} other words" if len(words) > len(shown) else ""
    return ", ".join(repr(word) for word in shown) + more


def _looked_at(text: pl.Series) -> pl.Series:
    """The cells of a column, of a long one some all over it."""
    return text if len(text) <= _LONG else text.gather_every(len(text) // _LONG + 1)


def _in_other_mark(columns: Mapping[str, Assigned], number_format: NumberFormat) -> list[str]:
    """Which columns hold numbers with a decimal point among those with a comma, or the reverse."""
    if not number_format.mixed:
        return []
    other, pattern = other_decimal(number_format)
    found = [
        repr(assigned.profile.heading.text)
        for assigned in columns.values()
        if _looked_at(assigned.profile.text).str.contains(pattern).any()
    ]
    if not found:
        return []
    return [
        f"Some numbers of {', '.join(found)} have {other.decimal!r} for a decimal mark, where most "
        f"have {number_format.decimal!r}; each was read by its own."
    ]
