"""Units that a line states, clause by clause: `Distances in yards, heights in feet`."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

from rangeledger.pipelines.reader.normalising.phrases import any_of
from rangeledger.pipelines.reader.recognising.words.heading import read_heading
from rangeledger.pipelines.reader.recognising.words.heading_tags import tag_readings, words_in
from rangeledger.schemas.compositions import SIDED, column_dimension
from rangeledger.schemas.unit_writing import unit_symbols
from rangeledger.schemas.units import ONLY_STATED, UNITS
from rangeledger.schemas.words import fold, speaks_of_unit, words_of

_LENGTHS = {"distance", "carry", "total", "side", "roll", "landing"}
_HEIGHTS = {"height", "apex", "max"}
_KINDS = _LENGTHS | _HEIGHTS | {"speed", "spin", "temperature", "pressure", "angle"}
_LEAST_WEIGHT = 0.6
_MOST_UNIT_WORDS = 5
DEFINES = re.compile(r"^\W*\w{1,12}\s*=")  # a legend's line, on one column
_SHORTEST_UNIT = 3
_UNITS_OF_WORDS = re.compile(
    r"(?=\b([^\W\d_]{3,}\s[^\W\d_]{1,3}\s[^\W\d_]+))"
)  # `metres per second`
_SURELY_UNITS = frozenset({"yd", "mph", "km/h", "m/s"})  # feet and metres are other things too
_PUNCTUATION = re.compile(r"[,;|]|\.\s|\s[-–—]\s|\s/\s(?=[^\s,;|]+\s+[^\s,;|])")  # but `km / h`


@dataclass(frozen=True, slots=True)
class Statement:
    """A unit or a positive side stated for a kind of columns, or for some by name.

    Parameters
    ----------
    kind : str
        Dimension (`length`, `height`, `speed`, …) or `side`; `unclear` where a line speaks of
        signs and nobody can tell what it says; `view` where it says from where cells name sides;
        `straight` where it says that a distance is one to the point and not along the line;
        `height_sign` where it says whether an angle is positive upwards or downwards; `length?`
        where it speaks of a unit in words that are not understood.
    unit, positive : str or None
        What is stated; of a view `front` or `unknown`.
    line : int
        Where it stands.
    text : str
        As it stands there.
    columns : frozenset[str]
        Columns that it names; empty where it speaks of all of its kind.
    """

    kind: str
    unit: str | None
    positive: str | None
    line: int
    text: str
    columns: frozenset[str] = frozenset()


@cache
def _conjunctions() -> re.Pattern[str]:
    return re.compile(rf"\b{any_of('between', 'and')}\b")


def clauses_of(text: str) -> list[str]:
    """The parts of a sentence, by its punctuation and its words for `and`."""
    return [clause for part in _PUNCTUATION.split(text) for clause in _conjoined(part)]


def conjoined_in(text: str, one: str, other: str) -> bool:
    """Whether two clauses of a text are parted by a word for `and` alone."""
    return any(one in part and other in part for part in _PUNCTUATION.split(text))


def _conjoined(text: str) -> list[str]:
    """Parts of a clause by its words for `and`, but for those that bring a unit to a quantity.

    What is `and` in one language is `in` in another: `velocidades en mph`.
    """
    parts: list[str] = []
    start = 0
    for found in _conjunctions().finditer(text):
        before, behind = text[start : found.start()], text[found.end() :]
        if not (unit_symbols(behind.strip(" .!?)")) and tags_of(words_in(before)) & _KINDS):
            parts.append(before)
            start = found.end()
    return [*parts, text[start:]]


def tags_of_any(text: str) -> frozenset[str]:
    """What the words of a text stand for, each by itself."""
    return frozenset(tag for word in words_in(text) for tag in tags_of((word,)))


def tags_of(words: tuple[str, ...]) -> frozenset[str]:
    """What some words stand for together, by their best reading."""
    readings = tag_readings(words)
    return readings[0][0] if readings else frozenset()


def on_units(text: str, line: int) -> list[Statement]:
    """Units that a line states for quantities, or for all where it names none."""
    of_units = speaks_of_unit(text) or _lists_units(text)
    found: list[Statement] = []
    waiting: list[str] = []
    first = False  # `Yards for carry and total`: what comes behind a unit shares it
    for clause in clauses_of(text):
        symbols, rest, leads = _unit_among(clause)
        quantities = tags_of(words_in(rest.replace("/", " / ")))
        if not symbols:
            if quantities & _KINDS and first and found:
                found += _unit_statements(clause, (found[-1].unit or "",), [rest], line, of_units)
            elif quantities & _KINDS and "=" not in clause:  # what defines itself waits for none
                waiting.append(rest)
            continue
        first = leads and bool(quantities & _KINDS)
        found += _unit_statements(clause, symbols, [*waiting, rest], line, of_units)
        waiting = []
    return _feet_for_heights(found)


def partly_stated_units(text: str, line: int) -> list[Statement]:
    """Units of which a sentence on quantities speaks in words that are not understood.

    `Some say that all distances were typed in yards`; a number before it makes a unit another's.
    """
    words = re.findall(r"[^\W\d_][^\s,;:()]*|[0-9]", text)
    if words_of("converted").keys() & set(fold(text).split()) or DEFINES.match(text):
        return []
    tags = tags_of_any(text)
    of_quantities = bool(tags & _KINDS) or speaks_of_unit(text)
    found: dict[tuple[str, str], None] = {}
    longer = {
        w for unit in _UNITS_OF_WORDS.findall(text) if unit_symbols(unit) for w in unit.split()
    }
    for before, word in pairwise(["", *words]):
        if word in longer:  # `kilometres`, of `kilometres per hour`
            continue
        word = word.rstrip(".!?")
        symbols = () if before.isdigit() or len(word) < _SHORTEST_UNIT else unit_symbols(word)
        if set(symbols) <= ONLY_STATED or not (of_quantities or set(symbols) <= _SURELY_UNITS):
            continue
        kinds = _kinds(UNITS[symbols[0]].dimension, tags) if len(symbols) == 1 else []
        found |= dict.fromkeys((f"{kind}?", symbols[0]) for kind in kinds)
    return [Statement(kind, unit, None, line, text.strip()) for kind, unit in found]


def _lists_units(text: str) -> bool:
    """`Metres and m/s`: nothing but units, more than one."""
    clauses = [clause for clause in clauses_of(text) if clause.strip()]
    return len(clauses) > 1 and all(unit_symbols(clause.strip(" .")) for clause in clauses)


def names_a_unit(text: str) -> bool:
    """Whether a text speaks of units: by that word, or by a unit beside a kind of quantity."""
    if speaks_of_unit(text):
        return True
    for clause in clauses_of(text):
        symbols, rest, _ = _unit_among(clause)
        if symbols and not any(map(str.isdigit, clause)) and tags_of(words_in(rest)) & _KINDS:
            return True
    return False


def _unit_among(clause: str) -> tuple[tuple[str, ...], str, bool]:
    """The unit in a clause, the words beside it, and whether the unit stands first."""
    pieces = re.sub(r"[:=()\[\]]", " ", clause).split()
    for length in range(min(_MOST_UNIT_WORDS, len(pieces)), 0, -1):
        for start in range(len(pieces) - length, -1, -1):
            window = " ".join(pieces[start : start + length])
            symbols = unit_symbols(window.rstrip(".!?"))
            alone = length == len(pieces)
            inside = start > 0 and start + length < len(pieces)
            inside |= set(symbols) <= ONLY_STATED and start == 0  # `dm = carry in metres`
            inside |= _is_preposition(pieces[start], pieces[start + 1 : start + length])
            if (
                symbols
                and not (inside or fold(window) == "in" or '"' in window)
                and (len(window) > 1 or (not alone and start + length == len(pieces)))
            ):
                rest = [*pieces[:start], *pieces[start + length :]]
                return symbols, " ".join(rest), start == 0 and not alone
    return (), clause, False


def _is_preposition(word: str, behind: list[str]) -> bool:
    """Whether a word before a length is no part of its unit: `i m` is `in m`, not `per m`."""
    lengths = [UNITS[symbol].dimension == "length" for symbol in unit_symbols(" ".join(behind))]
    return any(lengths) and not unit_symbols(word)


def _unit_statements(
    clause: str, symbols: tuple[str, ...], quantities: Iterable[str], line: int, of_units: bool
) -> list[Statement]:
    if any(c.isdigit() for c in clause):
        return []
    found = []
    for words in quantities:
        tags = tags_of(words_in(words.replace("/", " / ")))
        if not (of_units or tags & _KINDS):
            continue
        kinds = _kinds(UNITS[symbols[0]].dimension, tags)
        columns = _columns_named(words, UNITS[symbols[0]].dimension)
        found += [Statement(k, symbols[0], None, line, clause.strip(), columns) for k in kinds]
    return found


def _kinds(dimension: str, tags: frozenset[str]) -> list[str]:
    if dimension == "length":
        kinds = ["height"] if tags & _HEIGHTS else []
        return kinds + (["length"] if tags & _LENGTHS or not kinds else [])
    if dimension == "angle":
        return ["angle"] if "angle" in tags else []
    return [dimension] if dimension in ("speed", "rotation", "temperature", "pressure") else []


def _columns_named(words: str, dimension: str) -> frozenset[str]:
    """The column that words name, empty where they only name a kind of quantity."""
    best = read_heading(words.strip()).best
    if best is None or best.weight < _LEAST_WEIGHT or column_dimension(best.column) != dimension:
        return frozenset()
    beside = SIDED if best.column in ("carry_side_m", "total_side_m") else ()
    sides = {name for name in beside if column_dimension(name) == dimension}
    return frozenset({best.column, *sides})


def _feet_for_heights(statements: list[Statement]) -> list[Statement]:
    """`Units: mph, yards, feet`: of two lengths that say no more, feet are of heights."""
    lengths = {s.unit for s in statements if s.kind == "length" and not s.columns}
    if len(lengths) != 2 or "ft" not in lengths or any(s.kind == "height" for s in statements):
        return statements
    return [
        Statement("height", s.unit, None, s.line, s.text)
        if s.unit == "ft" and not tags_of(words_in(s.text)) & _LENGTHS
        else s
        for s in statements
    ]
