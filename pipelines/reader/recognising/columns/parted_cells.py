"""Columns whose cells hold two or three values, `231 / 244` below `Carry / Total`, taken apart."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache

import polars as pl
from rangeledger.pipelines.reader.normalising.missing import is_missing
from rangeledger.pipelines.reader.normalising.phrases import any_of
from rangeledger.pipelines.reader.recognising.words.heading import Heading, read_heading
from rangeledger.schemas.compositions import column_dimension
from rangeledger.schemas.headings import unit_symbols

_VALUE = r"[^\s\d/|;&+]{0,12}\s?[-+−–]?\d+(?:[.,]\d+)?\s?[^\s\d/|;&()]{0,10}(?:\s[A-Za-z]{1,5})?"
_EMPTY = r"[-–—.]{0,3}"
# Between values; the last two only between values, never within a heading.
_MARKS = (r"/", r"\|", r";", r"&", r"\+", r"→", r"->", r" - ", r"  +", r" ", r",")
_BRACKETED = re.compile(rf"^\s*({_VALUE})\s*[(\[]\s*({_VALUE})\s*[)\]]\s*$")
_UNIT_AT_THE_END = re.compile(r"[(\[]([^()\[\]]*)[)\]]\s*$|,\s*([^,]*)$")
_SAMPLE, _MOSTLY, _MOST_PARTS = 60, 0.8, 3
_MOST_SHOWN = 3
_SURE = 0.6


def part_cells(
    headings: Sequence[Heading], texts: Sequence[pl.Series], language: str | None = None
) -> tuple[list[Heading], list[pl.Series], list[str]]:
    """Headings and cells of a table with columns of several values taken apart.

    Parameters
    ----------
    headings : sequence of Heading
        One a column.
    texts : sequence of pl.Series
        The cells of each.
    language : str or None
        The file's language.

    Returns
    -------
    tuple[list[Heading], list[pl.Series], list[str]]
        The first value of a cell stays in its column, the others follow behind all columns; and a
        remark for each column that was taken apart.
    """
    found, cells, remarks = list(headings), list(texts), []
    for place, (heading, text) in enumerate(zip(headings, texts, strict=True)):
        pattern = _pattern(_some(text))
        parts = pattern and _headings_of(heading.text, pattern.groups, language)
        if not pattern or not parts:
            continue
        values = text.str.extract_groups(pattern.pattern).struct.unnest()
        for k, (part, name) in enumerate(zip(parts, values.columns, strict=True)):
            if k == 0:
                found[place], cells[place] = part, values[name].alias(text.name)
            else:
                found.append(part)
                cells.append(values[name].alias(f"{text.name}-{k}"))
        names = " and ".join(repr(part.text) for part in parts)
        remarks.append(f"The cells of column {heading.text!r} were taken apart: {names}.")
        remarks += _left_whole(heading.text, text, values)
    return found, cells, remarks


def _left_whole(heading: str, text: pl.Series, values: pl.DataFrame) -> list[str]:
    """A remark where some cells of a column that is taken apart hold something else."""
    nothing = values.select(pl.all_horizontal(pl.all().is_null())).to_series()
    rest = [cell for cell in text.filter(nothing).drop_nulls() if not is_missing(cell)]
    if not rest:
        return []
    shown = ", ".join(map(repr, list(dict.fromkeys(rest))[:_MOST_SHOWN]))
    return [
        f"{len(rest)} of the cells of column {heading!r} do not hold {values.width} values, such "
        f"as {shown}; nothing was taken from them."
    ]


def _some(text: pl.Series) -> list[str]:
    return [cell for cell in text.head(_SAMPLE).to_list() if cell and not is_missing(cell)]


def _pattern(cells: Sequence[str]) -> re.Pattern[str] | None:
    """What parts nearly all cells into the same number of values."""
    if not cells or not any(map(_may_hold_two, cells[:3])):
        return None
    for pattern in _patterns():
        if sum(bool(pattern.match(cell)) for cell in cells) >= _MOSTLY * len(cells):
            return pattern
    return None


def _may_hold_two(cell: str) -> bool:
    return len(re.findall(r"\d+(?:[.,]\d+)?", cell)) > 1


@lru_cache(maxsize=1)
def _patterns() -> tuple[re.Pattern[str], ...]:
    parts = rf"({_VALUE}|{_EMPTY})"
    plain = [
        re.compile(rf"^\s*{parts}" + rf"\s*{mark}\s*{parts}" * (count - 1) + r"\s*$")
        for count in range(2, _MOST_PARTS + 1)
        for mark in _MARKS
    ]
    return (*plain, _BRACKETED)


@lru_cache(maxsize=1)
def _parts_of_heading() -> re.Pattern[str]:
    """What stands between the parts of a heading: a mark, or `and`."""
    between = any_of("between", "and", "to")
    return re.compile(rf"\s*(?:/|\||;|&|\+|→|->|,|\s-\s|\s{between}\s)\s*")


def _headings_of(text: str, count: int, language: str | None) -> list[Heading] | None:
    """The headings of the parts, if a text can be taken apart into quantities that all differ."""
    for words in _ways(text, count):
        read = [read_heading(part, "", language) for part in words]
        named = [h.best.column for h in read if h.best is not None and h.weight >= _SURE]
        if len(set(named)) == count and all(column_dimension(name) for name in named):
            return [replace(heading, text=part) for heading, part in zip(read, words, strict=True)]
    return None


def _ways(text: str, count: int) -> Iterator[list[str]]:
    """Ways to take the words of a heading apart: `Ball / club speed (mph)`, `Launch V/H`."""
    whole = _parts_of_heading().split(text)
    if len(whole) == count and all(map(_UNIT_AT_THE_END.search, whole)):
        yield whole
    ending = _UNIT_AT_THE_END.search(text)
    inner = (ending[1] or ending[2] or "") if ending else ""
    bare, units = text, [""] * count
    if ending and inner.strip():
        bare = text[: ending.start()].strip()
        apart = [part for part in re.split(r"\s*[/|;&,+]\s*", inner) if part]
        if unit_symbols(inner):
            units = [f" ({inner})"] * count
        elif len(apart) == count and all(unit_symbols(part) for part in apart):
            units = [f" ({part})" for part in apart]
        elif len(apart) == count:  # `Spin (back / side)`
            yield [f"{bare} {part}" for part in apart]
            return
        else:
            bare = text
    if len(_parts_of_heading().split(bare)) != count:
        brackets = re.match(r"^(.*?)\s*[(\[](.*?)[)\]]\s*$", text)
        if brackets and count == 2 and not unit_symbols(brackets[2]):
            yield [brackets[1], brackets[2]]
        return
    parts = _parts_of_heading().split(bare)
    yield [part + unit for part, unit in zip(parts, units, strict=True)]
    tail, head = parts[-1].split(), parts[0].split()
    for length in range(1, len(tail)):  # `Ball / club speed`
        shared = " ".join(tail[-length:])
        yield [
            f"{part} {shared}{unit}" if part != parts[-1] else part + unit
            for part, unit in zip(parts, units, strict=True)
        ]
    for length in range(1, len(head)):  # `Speed ball / club`, `Launch V/H`
        shared = " ".join(head[:length])
        yield [
            f"{shared} {part}{unit}" if part != parts[0] else part + unit
            for part, unit in zip(parts, units, strict=True)
        ]
