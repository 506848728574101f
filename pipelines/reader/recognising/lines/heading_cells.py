"""Which cells may stand in a heading or a row of units, and which lines state something else."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache

from rangeledger.pipelines.reader.recognising.words.conditions_in_text import conditions_in
from rangeledger.pipelines.reader.recognising.words.dates_in_text import days_in
from rangeledger.pipelines.reader.recognising.words.facts import facts_in, pair_in, speaks_of_units
from rangeledger.pipelines.reader.recognising.words.heading import read_heading
from rangeledger.pipelines.reader.recognising.words.names_in_text import full_name
from rangeledger.pipelines.reader.recognising.words.purposes import simulated_by
from rangeledger.pipelines.reader.recognising.words.statements import (
    ON_SIGNS,
    statements_in,
)
from rangeledger.pipelines.reader.recognising.words.unit_statements import names_a_unit
from rangeledger.schemas.compositions import SIDED, ZONE
from rangeledger.schemas.headings import unit_symbols
from rangeledger.schemas.remembering import remembered
from rangeledger.schemas.words import fold, words_of

_MOST_PAIR_CELLS = 8
_SIGN_BEHIND = re.compile(r"^(.*?)\s*[,;]?\s*(\([^()]*\)|[^\s,;(]*[+=].*)$")
_NUMBERED_NAME = re.compile(r"^([^\W\d_]+)[0-9]{1,2}$")
_NUMBER_LIKE = re.compile(r"^[^\d]{0,3}\d[\d.,' ]*\s*\S{0,6}$")
# Names of what a computer holds, which tools for tables write below the headings.
_CELL_TYPE = re.compile(
    r"^<?(?:str(?:ing)?|chr|fct|bool|object|dbl|date|datetime\S*|[iuf]\d{1,2}|(?:u?int|float)\d{1,2})>?$"
)
_MOST_HEADING_TEXT = 90
_MOST_CLAUSES, _MOST_HEADING_WORDS = 4, 5
_BRACKETED_UNIT = re.compile(r"[(\[]([^()\[\]]+)[)\]]\s*$")
_SURELY_HEADINGS = 2  # parts of a sentence on sides seldom read like two headings of other columns
COMMENT_MARKS = ("#", "//", "%")
Cells = Sequence[str | None]


def filled(cells: Cells) -> list[str]:
    """Cells that aren't empty."""
    return [cell for cell in cells if cell is not None and cell.strip()]


def is_number(cell: str) -> bool:
    """Whether a cell is a number, perhaps with a mark or a unit."""
    return bool(_NUMBER_LIKE.match(cell.strip()))


def texts_of(cells: Cells) -> tuple[str, ...]:
    """Stripped cells of a record, blank where there is none."""
    return tuple((cell or "").strip() for cell in cells)


def is_units_row(cells: Cells) -> bool:
    """Whether all filled cells of a record are units (at least two of them, or its only one).

    A row of the types of cells, such as `str`, `f64`, counts as one too.
    """
    words = filled(cells)
    if not words:
        return False
    if all(_CELL_TYPE.match(word.strip()) for word in words):
        return len(words) > 1
    units = sum(bool(unit_symbols(unit_and_sign(word)[0])) for word in words)
    named = sum(_is_unit_remark(word) for word in words)
    return units >= 1 and units + named == len(words) and (units >= 2 or len(words) == 1)


def unit_and_sign(cell: str) -> tuple[str, str]:
    """A cell of a units row, and what it says of a sign behind its unit: `m (+ = left)`."""
    found = _SIGN_BEHIND.match(cell.strip())
    told = found is not None and bool(unit_symbols(found[1])) and states_a_sign(found[2])
    return (found[1], found[2]) if found is not None and told else (cell, "")


def states_a_sign(text: str) -> bool:
    """Whether a text says which side is positive."""
    return any(statement.kind in ON_SIGNS for statement in statements_in(text, 0))


def _is_unit_remark(word: str) -> bool:
    """A dash, or a word such as `text`, `hh:mm:ss`, `unit` in a row of units."""
    bare = word.strip("-–—.()[]# ")
    return not bare or fold(bare) in _unit_remarks()


@cache
def _unit_remarks() -> frozenset[str]:
    return frozenset({**words_of("unit_remarks"), **words_of("units_said")})


def _is_numbered_name(word: str) -> bool:
    """`A1`, `Sensor2`: a name, unless its letters are a side, as in `R3`."""
    found = _NUMBERED_NAME.match(word.strip())
    return found is not None and fold(found[1]) not in words_of("sides")


def _are_numbered(words: Sequence[str]) -> bool:
    """`v1`, `v2`, `v3`: names that run on, even where their letter is that of a side."""
    parts = [_NUMBERED_NAME.match(word.strip()) for word in words]
    named = [(found[1], int(found[0][len(found[1]) :])) for found in parts if found]
    return len(named) > 2 and len(named) == len(words) and named == [
        (named[0][0], named[0][1] + k) for k in range(len(named))
    ]  # fmt: skip


def _plain_heading_cells(cells: Cells) -> bool:
    words = filled(cells)
    if _are_numbered(words):
        return True
    numbers = sum(is_number(word) and not _is_numbered_name(word) for word in words)
    long = sum(len(word) > _MOST_HEADING_TEXT for word in words)
    return bool(words) and numbers <= 0.2 * len(words) and not long


def may_be_heading(cells: Cells) -> bool:
    """At least two labels, not a line of the kind `Player: Ann`."""
    words = filled(cells)
    return len(words) >= 2 and _plain_heading_cells(cells) and not _is_pairs(tuple(words))


@remembered
def _is_pairs(words: tuple[str, ...]) -> bool:
    """Whether a line holds keys with their values, in one cell each or in two neighbours."""
    if any(fact.column != ZONE for fact in facts_in(words[:1], 0)):  # `Time (UTC)` is a heading
        return True
    if words[0] in COMMENT_MARKS and pair_in(" ".join(words[1:])):
        return True  # `# club: 7-iron`, parted at its blanks
    if (speaks_of_units(words) and not _mostly_headings(words)) or _names_with_more(words):
        return True
    if _states_signs(words) or _is_sentence(words) or simulated_by(", ".join(words)):
        return True
    if _is_dated(words) or full_name(", ".join(words)) is not None or _states_conditions(words):
        return True
    if len(words) % 2 or len(words) > _MOST_PAIR_CELLS:
        return False
    keys, values = words[::2], words[1::2]
    return all(facts_in([k, v], 0) for k, v in zip(keys, values, strict=True)) and not any(
        read_heading(value.strip()).weight >= 0.6 for value in values
    )


def _is_sentence(words: Sequence[str]) -> bool:
    """Whether a delimiter parted a sentence: few cells, the last of which ends in a full stop."""
    last = words[-1].strip()
    return len(words) <= _MOST_CLAUSES and last.endswith(".") and len(last.split()) > 1


def heads_columns(words: Sequence[str]) -> bool:
    """`Distance (ft);Putts;Holed`: headings of a table, which state nothing of another's."""
    united = any((m := _BRACKETED_UNIT.search(word)) and unit_symbols(m[1]) for word in words)
    return len(words) > 1 and united and all(len(w.split()) <= _MOST_HEADING_WORDS for w in words)


def is_units_sentence(cells: Cells) -> bool:
    """`Ball speeds in metres per second;carry in metres`: a sentence that a delimiter parted."""
    words = filled(cells)
    phrases = [word for word in words if len(word.split()) > 2]
    return bool(phrases) and all(names_a_unit(word) for word in words)


def _mostly_headings(words: Sequence[str]) -> bool:
    """`Unit;Club;Carry`: headings, one of which speaks of units."""
    return 2 * sum(read_heading(word.strip()).weight >= 0.6 for word in words[1:]) > len(words)


def _is_dated(words: Sequence[str]) -> bool:
    """`Practice;Monday 18 May 2026`: a title of few cells, one of which states a day."""
    return len(words) <= _MOST_PAIR_CELLS and any(
        day.whole for word in words for day in days_in(word)
    )


def _states_conditions(words: Sequence[str]) -> bool:
    """`Short game: off the grass;with our premium balls`: a sentence that a delimiter parted."""
    if len(words) > _MOST_PAIR_CELLS or _mostly_headings(words):
        return False
    text = ", ".join(words)
    pair = pair_in(text)
    return bool(conditions_in(pair[1] if pair else text, 0))


def _states_signs(words: Sequence[str]) -> bool:
    """Whether cells are a sentence on signs that a delimiter parted, and mostly no headings."""
    read = (read_heading(word.strip()) for word in words)
    headings = sum(
        h.weight >= 0.6 and h.best is not None and h.best.column not in SIDED for h in read
    )
    if headings >= _SURELY_HEADINGS:
        return False
    return any(statement.kind in ON_SIGNS for statement in statements_in(", ".join(words), 0))


def _names_with_more(words: Sequence[str]) -> bool:
    """`Player;Ada Brook;right-handed`: a key, its value and words behind it that head no column."""
    return (
        len(words) == 3
        and any(fact.column == "player" for fact in facts_in(words[:2], 0))
        and all(read_heading(word.strip()).weight < 0.6 for word in words[1:])
    )
