"""Columns of words: constants, blanks, and cells read one distinct word at a time."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import polars as pl
from rangeledger.pipelines.reader.normalising.missing import is_missing
from rangeledger.pipelines.reader.recognising.profile import distinct, stripped

_DITTOS = frozenset({'"', "”", "“", "〃", "''", "ditto", "do.", "idem", "dito", "id.", "s.o."})
_FEW = 2_000  # rows that are quicker gone through one by one


def constant_text(value: str | None, length: int) -> pl.Series:
    """One word for so many rows."""
    return pl.Series("", [value], dtype=pl.String).new_from_index(0, length)


def first_known(first: pl.Series | None, second: pl.Series) -> pl.Series:
    """The first column where it says something, else the second."""
    if first is None:
        return second
    return pl.select(pl.coalesce([first, second])).to_series()


def blank_as_null(text: pl.Series) -> pl.Series:
    """Words with null where the cell means that there is none."""
    absent = [cell for cell in distinct(text) if is_missing(cell)]
    return text.set(text.is_in(absent).fill_null(False), None) if absent else text


def mapped(text: pl.Series, read: Callable[[str], str | None]) -> pl.Series:
    """What a reader of single cells says of each; a distinct cell is read once."""
    meanings = {cell: read(cell) for cell in distinct(text)}
    return translated(text, meanings)


def translated(text: pl.Series, meanings: Mapping[str, str | None]) -> pl.Series:
    """The meaning of each cell; null where it has none."""
    if len(text) <= _FEW:
        return pl.Series([meanings.get(cell) for cell in text.to_list()], dtype=pl.String)
    return text.replace_strict(meanings, default=None, return_dtype=pl.String)


def without_dittos(text: pl.Series) -> pl.Series:
    """Cells that say `as above`, such as a ditto mark, replaced by the cell above."""
    dittos = [cell for cell in distinct(text) if cell.strip().casefold() in _DITTOS]
    if not dittos:
        return text
    return text.set(text.is_in(dittos).fill_null(False), None).forward_fill()


def filled_down(text: pl.Series, others: Sequence[pl.Series] = ()) -> pl.Series | None:
    """A word written once above its shots, as in merged cells, given to those below it too.

    Parameters
    ----------
    text : pl.Series
        Cells of a column.
    others : sequence of pl.Series
        Cells of the other columns: where one of them has its words in the very same rows, those
        rows begin groups, and a group may have the word of the one above.

    Returns
    -------
    pl.Series or None
        None where the words do not stand so: few blanks, a blank first, or a word repeated.
    """
    blank = stripped(text) == ""
    named = text.filter(~blank)
    if not len(named) or blank.sum() < 0.4 * len(text) or bool(blank[0]):
        return None
    repeated = bool((named == named.shift(1)).fill_null(False).any())
    if repeated and not any(_begins_groups(blank, stripped(other) == "") for other in others):
        return None
    return pl.select(pl.when(~blank).then(text)).to_series().forward_fill()


def _begins_groups(blank: pl.Series, other: pl.Series) -> bool:
    """Whether another column has its words in the same rows, or in some of them and nowhere else.

    A player whose days stand below each other has a day wherever a name stands.
    """
    return blank.equals(other) or (bool(other.any()) and not bool((blank & ~other).any()))


def as_json(columns: Sequence[tuple[str, pl.Series]], length: int) -> pl.Series:
    """Columns as a JSON object a row; of two of one name the second gets a blank more.

    Parameters
    ----------
    columns : sequence of (str, pl.Series)
        Names and cells.
    length : int
        Number of rows.

    Returns
    -------
    pl.Series
        Text, null where there is no column.
    """
    kept: dict[str, pl.Series] = {}
    for name, text in columns:
        while name in kept:
            name += " "
        kept[name] = text.alias(name)
    if not kept:
        return constant_text(None, length)
    rows = pl.DataFrame(list(kept.values())).select(pl.struct(list(kept)).struct.json_encode())
    return rows.to_series()
