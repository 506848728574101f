"""What stands below a heading: numbers or text, units and sides in the cells, dates, clocks."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import polars as pl
from rangeledger.pipelines.reader.normalising.missing import is_missing
from rangeledger.pipelines.reader.normalising.number_format import (
    NumberFormat,
    detect_number_format,
)
from rangeledger.pipelines.reader.normalising.numbers import (
    Numbers,
    parse_columns,
    plain_values,
    without_errors,
)
from rangeledger.pipelines.reader.normalising.time_parts import read_clock, read_date, split_instant
from rangeledger.pipelines.reader.normalising.words import flag_of, is_summary_word
from rangeledger.pipelines.reader.recognising.words.heading import Heading, read_heading
from rangeledger.schemas.clubs import club_of
from rangeledger.schemas.compositions import DROPPED, KEPT
from rangeledger.schemas.headings import unit_symbols
from rangeledger.schemas.units import UNITS

_SAMPLE = 300
_FORMAT_ROWS, _CLEAN_ROWS = 3000, 60
_MOSTLY = 0.5
_KNOWN_ROWS = 2000
_MOST_LETTERS = 24
_POINTED = re.compile(r"^[+-]?[0-9]+\.(?:[0-9]{1,2}|[0-9]{4,})$")
_DASH_AT_DIGIT = re.compile(r"(?<=[0-9])-|-(?=[0-9])")
# `0:05.12`: minutes that are none and seconds with a fraction are a duration, no time of day.
_DURATION = re.compile(r"^0?0:[0-5][0-9][.,][0-9]+$")
_PLAIN_NUMBER = re.compile(r"^[+-]?[0-9]+(?:[.,][0-9]+)?$")


def mark_of(cell: str, column: str) -> bool | None:
    """Whether a cell says that its shot counts.

    Parameters
    ----------
    cell : str
        `yes`, `0`, `x`, `deleted`, `gültig`.
    column : str
        What the column says of a shot: that it is kept, or that it was dropped.

    Returns
    -------
    bool or None
        None where the cell says neither.
    """
    flag = flag_of(cell)
    if flag is not None:
        return flag if column == KEPT else not flag
    tags = read_heading(cell.strip()).tags & {KEPT, DROPPED}
    return None if len(tags) != 1 else KEPT in tags


def are_marks(heading: Heading, text: pl.Series) -> bool:
    """Whether cells say by themselves, as `1` and `0` do, which shots count.

    Parameters
    ----------
    heading : Heading
        What the words above say.
    text : pl.Series
        The cells.

    Returns
    -------
    bool
        Only where the heading is one of such marks.
    """
    column = heading.best.column if heading.best else ""
    if column not in (KEPT, DROPPED):
        return False
    return all(mark_of(cell, column) is not None for cell in text.drop_nulls().unique() if cell)


@dataclass(slots=True)
class Profile:
    """One column of a table with what its cells look like.

    Parameters
    ----------
    place : int
        Column of the grid, from 0.
    heading : Heading
        What the words above say.
    text : pl.Series
        Its cells, one a record.
    numbers : Numbers or None
        The cells as numbers, None where they are mostly text.
    sample : list[str]
        Some distinct cells that aren't missing.
    """

    place: int
    heading: Heading
    text: pl.Series
    numbers: Numbers | None
    sample: list[str]
    cell_units: tuple[str, ...] = ()
    mixed_units: bool = False
    has_sides: bool = False

    @property
    def known(self) -> npt.NDArray[np.float64]:
        """The numbers of the first rows that have one, as an array."""
        if self.numbers is None:
            return np.empty(0)
        values = np.asarray(self.numbers.value.head(_KNOWN_ROWS).to_numpy(), dtype=np.float64)
        return np.asarray(values[np.isfinite(values)])

    @property
    def empty(self) -> bool:
        """Whether no cell says anything."""
        return not self.sample

    @property
    def is_number(self) -> bool:
        """Whether the cells are mostly numbers."""
        return self.numbers is not None

    def keep(self, mask: pl.Series) -> None:
        """Keep only some of the rows."""
        self.text = self.text.filter(mask)
        numbers = self.numbers
        if numbers is not None:
            self.numbers = Numbers(
                numbers.value.filter(mask),
                None if numbers.unit is None else numbers.unit.filter(mask),
                None if numbers.side is None else numbers.side.filter(mask),
                numbers.missing.filter(mask),
                numbers.bad.filter(mask),
            )

    def release(self) -> None:
        """Forget the values of the cells, not that they are numbers."""
        if self.numbers is not None:
            none = self.numbers.bad.clear()
            self.numbers = Numbers(self.numbers.value.clear(), None, None, none, none)

    def is_clock(self) -> bool:
        """Whether the cells read like times of day, dates or both."""
        cells = [cell for cell in self.sample[:20] if not is_summary_word(cell)]
        return sum(_is_time(cell) for cell in cells) > _MOSTLY * len(cells)

    def is_date(self) -> bool:
        """Whether the cells hold a date."""
        few = self.sample[:20]
        return sum(bool(read_date(split_instant(c)[0] or c)) for c in few) > _MOSTLY * len(few)

    def clubs_known(self) -> float:
        """Share of the distinct cells that name a club we know."""
        few = [cell for cell in self.sample[:40] if not is_summary_word(cell)]
        return sum(map(_is_known_club, few)) / max(1, len(few))


@lru_cache(maxsize=16384)
def _is_known_club(cell: str) -> bool:
    return club_of(cell).known


# Cells of which the distinct ones are quicker found than all are stripped; cells that are quicker
# stripped one by one.
_MANY_CELLS, _FEW_CELLS = 20_000, 2_000


def distinct(text: pl.Series) -> list[str]:
    """Cells that differ, in their order; null is none."""
    if len(text) <= _FEW_CELLS:
        return [cell for cell in dict.fromkeys(text.to_list()) if cell is not None]
    return text.drop_nulls().unique(maintain_order=True).to_list()


def stripped(text: pl.Series) -> pl.Series:
    """Cells without the blanks around them, empty where there is none."""
    if len(text) <= _FEW_CELLS:
        bare = [(cell or "").strip() for cell in text.to_list()]
        return pl.Series(text.name, bare, dtype=pl.String)
    if len(text) > _MANY_CELLS and all(c and c == c.strip() for c in text.unique().to_list()):
        return text
    return text.to_frame("text").select(pl.col("text").fill_null("").str.strip_chars()).to_series()


@lru_cache(maxsize=16384)
def _is_time(cell: str) -> bool:
    day, clock = split_instant(cell)
    return bool((clock and read_clock(clock)) or (day and read_date(day)))


def _samples(texts: Sequence[pl.Series]) -> list[tuple[list[str], bool]]:
    """Some distinct cells of each column that aren't missing, and whether most look like numbers.

    They are from the head and, of a long column, from all over it.
    """
    frame = pl.DataFrame([text.alias(str(place)) for place, text in enumerate(texts)])
    some = frame.head(4 * _SAMPLE)
    if frame.height > 8 * _SAMPLE:
        some = some.vstack(frame.gather_every(frame.height // _SAMPLE))
    plain = some.select(pl.all().str.contains(_PLAIN_NUMBER.pattern).all()).row(0)
    found = []
    for cells, all_plain in zip(some, plain, strict=True):
        distinct = [cell for cell in dict.fromkeys(cells.to_list()) if cell is not None][:_SAMPLE]
        if not all_plain:
            distinct = [cell for cell in distinct if _has_content(cell)]
        found.append((distinct, bool(distinct) and (all_plain or _looks_numeric(distinct))))
    return found


@lru_cache(maxsize=65536)
def _has_content(cell: str) -> bool:
    return bool(_PLAIN_NUMBER.match(cell)) or not is_missing(cell)


def _is_worded(heading: Heading) -> bool:
    """Whether a heading is one of words, such as swings, whose `7.30` is no decimal number."""
    return heading.best is not None and heading.best.column in ("swing", "club")


def _looks_numeric(sample: Sequence[str]) -> bool:
    return sum(_is_numeric(cell) for cell in sample) > _MOSTLY * len(sample)


@lru_cache(maxsize=65536)
def _is_numeric(cell: str) -> bool:
    """A number with at most a short unit or side beside it; no date, no clock."""
    if _PLAIN_NUMBER.match(cell):
        return True
    bare = cell.strip()
    digits = sum(c.isdigit() for c in bare)
    others = sum(c.isalpha() for c in bare)
    dashes = len(_DASH_AT_DIGIT.findall(bare))  # those of `3.1 in-to-out` part words
    return digits > 0 and others <= _MOST_LETTERS and not (":" in bare or dashes > 1)


def _numbers_of(
    texts: Sequence[pl.Series], voting: Sequence[bool], given: NumberFormat | None
) -> tuple[NumberFormat, list[Numbers]]:
    """Marks that the voting columns agree on, or that a mapping states, and all numbers."""
    pointed = plain_values(texts, ".") if texts else []
    marks = given
    if marks is None:
        votes = [k for k, votes in enumerate(voting) if votes]
        marks = _plain_format([(texts[k], pointed[k]) for k in votes])
        marks = marks or detect_number_format([_thinned(texts[k]) for k in votes])
    plain = pointed if marks.decimal == "." else None
    return marks, parse_columns(texts, marks, plain=plain)


def _plain_format(columns: Sequence[tuple[pl.Series, pl.Series]]) -> NumberFormat | None:
    """The decimal point, where every cell of all columns is a bare number that shows it."""
    shown = None
    for text, value in columns:
        if value.null_count() != text.null_count():
            return None
        cells = (cell for cell in text.head(_CLEAN_ROWS).to_list() if cell)
        shown = shown or next((cell for cell in cells if _POINTED.match(cell)), None)
    return NumberFormat(".", None, f"a number such as {shown}", mixed=False) if shown else None


def _thinned(text: pl.Series) -> pl.Series:
    """A few cells of a column that is clean numbers, more of one that isn't."""
    if any("1/min" in (cell or "") for cell in text.head(_CLEAN_ROWS).to_list()):
        text = text.str.replace("1/min", "rpm", literal=True)
    head = text.head(_FORMAT_ROWS)
    clean = head.cast(pl.Float64, strict=False).null_count() == head.null_count()
    if clean:
        return text.head(_CLEAN_ROWS)
    if len(text) <= 2 * _FORMAT_ROWS:
        return text
    return pl.concat([head, text.gather_every(len(text) // _FORMAT_ROWS)])


def _units_in_cells(numbers: Numbers) -> tuple[tuple[str, ...], bool]:
    """Unit symbols of the cells, and whether cells of one column differ in unit."""
    if numbers.unit is None:
        return (), False
    words = numbers.unit.drop_nulls().unique().to_list()
    symbols = [unit_symbols(word) for word in words]
    known = [s for s in symbols if s]
    if len(known) != len(symbols) or not known:
        return (), len(words) > 0
    return (known[0], False) if len(set(known)) == 1 else (known[0], True)


def _partly_stated(heading: Heading, stated_units: tuple[str, ...], numbers: Numbers) -> bool:
    """Whether some cells state another unit than the heading, which holds for the bare ones."""
    if (
        numbers.unit is None
        or not stated_units
        or not heading.units
        or set(stated_units) & set(heading.units)
    ):
        return False
    dimensions = {UNITS[unit].dimension for unit in heading.units}
    bare = bool((numbers.unit.is_null() & numbers.value.is_not_null()).any())
    return bare and any(UNITS[unit].dimension in dimensions for unit in stated_units)


def profiles_of(
    headings: Sequence[Heading], texts: Sequence[pl.Series], number_format: NumberFormat | None
) -> tuple[list[Profile], NumberFormat]:
    """Profiles of all columns of a table.

    Parameters
    ----------
    headings : sequence of Heading
        One a column.
    texts : sequence of pl.Series
        The cells of each.
    number_format : NumberFormat or None
        Marks that a mapping states.

    Returns
    -------
    tuple[list[Profile], NumberFormat]
        Profiles in the order of the columns, and the marks with which numbers were read.
    """
    texts = [without_errors(text) for text in texts]
    samples = _samples(texts)
    lasting = {k for k, (few, _) in enumerate(samples) if few and all(map(_DURATION.match, few))}
    for place in lasting:
        samples[place] = [cell.split(":")[1] for cell in samples[place][0]], True
    numeric = [place for place, (_, looks_numeric) in enumerate(samples) if looks_numeric]
    chosen = [
        texts[place].str.replace(r"^0?0:", "") if place in lasting else texts[place]
        for place in numeric
    ]
    voting = [not _is_worded(headings[place]) for place in numeric]
    marks, found = _numbers_of(
        chosen, voting if any(voting) else [True] * len(chosen), number_format
    )
    parsed = dict(zip(numeric, found, strict=True))
    profiles = []
    for place, heading in enumerate(headings):
        numbers = parsed.get(place)
        if numbers is not None and numbers.bad.sum() > _MOSTLY * len(texts[place]):
            numbers = None
        profile = Profile(place, heading, texts[place], numbers, samples[place][0])
        if numbers is not None:
            profile.cell_units, profile.mixed_units = _units_in_cells(numbers)
            profile.mixed_units |= _partly_stated(heading, profile.cell_units, numbers)
            profile.has_sides = numbers.side is not None
            if profile.cell_units and not profile.mixed_units and not heading.units:
                again = read_heading(heading.text, profile.cell_units[0])
                profile.heading = again if again.candidates else heading
        profiles.append(profile)
    return profiles, marks
