"""Columns that tell something of others' cells: a unit a row, a left beside a right."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from functools import cache, lru_cache

import polars as pl
from rangeledger.pipelines.reader.normalising.missing import is_missing
from rangeledger.pipelines.reader.recognising.columns.dated_columns import join_date_parts
from rangeledger.pipelines.reader.recognising.words.heading import Heading, read_heading
from rangeledger.pipelines.reader.recognising.words.side_letters import respelt
from rangeledger.schemas.compositions import SIDED, column_dimension
from rangeledger.schemas.headings import plain, unit_symbols
from rangeledger.schemas.units import UNITS
from rangeledger.schemas.words import speaks_of_unit, words_of

_MOST_UNITS = 4
_FEW = 5
_FORMULA_QUOTES = r'^="([^"]*)"$'
_WORD = re.compile(r"[^\W\d_]+")
_BARE_SIGNED = r"^\s*[-+−]?\s?[0-9]+(?:[.,][0-9]+)?\s*$"
_MEASURED = r"^\s*[0-9]+(?:[.,][0-9]+)?\s*[^\s\d]*\s*$"
_ZERO = r"^\s*0*(?:[.,]0*)?\s*$"
_LETTER = {"left": "L", "right": "R"}


def apply_companions(
    headings: Sequence[Heading], texts: Sequence[pl.Series]
) -> tuple[list[Heading], list[pl.Series]]:
    """Headings and cells of a table with what one column tells of another's cells put into them.

    Parameters
    ----------
    headings : sequence of Heading
        One a column.
    texts : sequence of pl.Series
        The cells of each.

    Returns
    -------
    tuple[list[Heading], list[pl.Series]]
        The same but for bare numbers beside a column of units, which bear their unit then, for a
        left and a right of the same quantity, which are one column then, and for the quotes of
        spreadsheet formulas, which are taken off.
    """
    found, cells = list(headings), list(texts)
    _take_formula_quotes_off(cells)
    for place, heading in enumerate(found):
        if heading.letters:
            cells[place] = respelt(cells[place], heading.letters)
    join_date_parts(found, cells)
    _spread_units(found, cells)
    _join_left_and_right(found, cells)
    return found, cells


def _take_formula_quotes_off(texts: list[pl.Series]) -> None:
    """`="108.2"`, as written to keep a spreadsheet from changing a cell, is `108.2`."""
    for place, text in enumerate(texts):
        if any(cell and cell.startswith('="') for cell in text.head(_FEW).to_list()):
            texts[place] = text.str.replace(_FORMULA_QUOTES, "$1")


def _spread_units(headings: list[Heading], texts: list[pl.Series]) -> None:
    """Put the unit that a column states row by row behind the numbers that it speaks of."""
    places = [k for k, h in enumerate(headings) if speaks_of_unit(h.text)]
    dimensions = {k: _dimension_of(texts[k]) for k in places}
    for place, dimension in dimensions.items():
        if dimension and list(dimensions.values()).count(dimension) == 1:
            _spread_one(headings, texts, place, dimension)


def _spread_one(
    headings: list[Heading], texts: list[pl.Series], units: int, dimension: str
) -> None:
    unit_cells = texts[units]
    flat = "distance" in headings[units].tags  # a unit of distances is none of heights
    for place, heading in enumerate(headings):
        column = heading.best.column if heading.best else ""
        same = column_dimension(column) == dimension and not heading.units
        if not same:
            continue
        if flat and column in ("apex_m", "altitude_m"):
            # Whether heights change with the distances, from row to row, nobody says.
            headings[place] = replace(heading, candidates=(), tags=frozenset({"apex", "other"}))
            continue
        bare = texts[place].str.contains(_BARE_SIGNED)
        joined = pl.select(pl.concat_str(texts[place], pl.lit(" "), unit_cells)).to_series()
        texts[place] = pl.select(pl.when(bare).then(joined).otherwise(texts[place])).to_series()


def _dimension_of(text: pl.Series) -> str | None:
    """Dimension of a column of units; None where a cell is none, or where all rows agree."""
    words = text.drop_nulls().unique().to_list()
    if not 0 < len(words) <= _MOST_UNITS:
        return None
    symbols = [unit_symbols(word.strip()) for word in words]
    dimensions = {UNITS[found[0]].dimension if found else None for found in symbols}
    return dimensions.pop() if len(dimensions) == 1 else None


@lru_cache(maxsize=4096)
def _side_and_rest(text: str) -> tuple[str, str] | None:
    """`Missed left (yd)` -> left and `Missed (yd)`; None for a heading that names no one side."""
    sides = words_of("sides")
    named = [w for w in _WORD.findall(text) if len(w) > 2 and sides.get(plain(w)) in _LETTER]
    if len(named) != 1:
        return None
    return sides[plain(named[0])], " ".join(text.replace(named[0], " ").split())


def _join_left_and_right(headings: list[Heading], texts: list[pl.Series]) -> None:
    """Make one column of two, of which each row fills the one or the other."""
    parted = [_side_and_rest(heading.text) for heading in headings]
    for place, first in enumerate(parted[:-1]):
        second = parted[place + 1]
        if not first or not second or first[0] == second[0] or first[1] != second[1]:
            continue
        whole = _joined(texts[place], texts[place + 1], _LETTER[first[0]], _LETTER[second[0]])
        heading = read_heading(first[1])
        own = headings[place]  # `Left of line (m)`, of which `of line (m)` says nothing
        if heading.best is None and own.best is not None and own.positive == first[0]:
            heading = replace(own, positive=None)
        elif heading.best is None and not heading.tags:  # `Links in Meter`, `Rechts in Meter`
            heading = replace(_plain_side(), text=own.text, units=heading.units)
        if whole is None or heading.best is None or heading.best.column not in SIDED:
            continue
        headings[place], texts[place] = heading, whole
        headings[place + 1] = read_heading("")
        texts[place + 1] = pl.Series([None] * len(whole), dtype=pl.String)


@cache
def _plain_side() -> Heading:
    """A heading that speaks of the side of a ball and says no more."""
    return read_heading("side")


def _without_missing(text: pl.Series) -> pl.Series:
    words = [cell for cell in text.drop_nulls().unique() if is_missing(cell)]
    return text.replace(dict.fromkeys(words, "")).fill_null("")


def _joined(first: pl.Series, second: pl.Series, left: str, right: str) -> pl.Series | None:
    frame = pl.DataFrame({"first": _without_missing(first), "second": _without_missing(second)})
    one, two = pl.col("first").str.strip_chars(), pl.col("second").str.strip_chars()
    none_one, none_two = one.str.contains(_ZERO), two.str.contains(_ZERO)
    sound = (none_one | one.str.contains(_MEASURED)) & (none_two | two.str.contains(_MEASURED))
    if not frame.select((sound & (none_one | none_two)).all()).item():
        return None
    whole = pl.when(~none_two).then(two + f" {right}").when(one != "").then(one + f" {left}")
    return frame.select(whole.otherwise(pl.when(two != "").then(two))).to_series()
