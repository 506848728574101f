"""What lines beside a table state of units and signs, of which columns, and where."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

from rangeledger.pipelines.reader.normalising.phrases import any_of
from rangeledger.pipelines.reader.recognising.words.heading import read_heading
from rangeledger.pipelines.reader.recognising.words.heading_tags import tag_readings, words_in
from rangeledger.pipelines.reader.recognising.words.signs import (
    OPPOSITE,
    defines_a_sign,
    is_sign_word,
    one_sign_two_sides,
    partly_stated,
    points_along_an_axis,
    positive_sides,
    sign_beside_side,
    speaks_of_sides,
)
from rangeledger.pipelines.reader.recognising.words.viewpoints import FRONT, viewpoint, without_view
from rangeledger.schemas.compositions import SIDED, column_dimension
from rangeledger.schemas.remembering import remembered
from rangeledger.schemas.unit_writing import unit_symbols
from rangeledger.schemas.units import ONLY_STATED, UNITS
from rangeledger.schemas.words import fold, speaks_of_unit, words_of

# Kinds of quantity that a line on units can speak of, by tag.
_LENGTHS = {"distance", "carry", "total", "side", "roll", "landing"}
_HEIGHTS = {"height", "apex", "max"}
_KINDS = _LENGTHS | _HEIGHTS | {"speed", "spin", "temperature", "pressure", "angle"}
_LEAST_WEIGHT = 0.6
ON_SIGNS = ("side", "unclear", "height_sign")
_MOST_UNIT_WORDS = 5
_NEAR = 6  # words
_DASH = re.compile(r"(?<=\w\w)\s+[-–—]\s+(?=\w\w)")  # between words it is no minus
_DEFINES = re.compile(r"^\W*\w{1,12}\s*=")  # a legend's line, on one column
_SHORTEST_UNIT = 3
_SURELY_UNITS = frozenset({"yd", "mph", "km/h", "m/s"})  # feet and metres are other things too
# Which sided columns a clause on signs names, by a tag of its words.
_NAMED = {
    "side": ("carry_side_m", "total_side_m"), "off": ("carry_side_m", "total_side_m"),
    "axis": ("spin_axis_deg", "side_spin_rpm"), "spin": ("spin_axis_deg", "side_spin_rpm"),
    "launch": ("launch_direction_deg",), "direction": (),
    "path": ("club_path_deg",), "face": ("face_angle_deg",), "curve": ("spin_axis_deg",),
}  # fmt: skip
_OF_A_STRAIGHT = frozenset({"line", "distance", "landing"})  # beside it, which may be a shot
_SPECIFIC = ("axis", "path", "face", "spin")


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


def statements_in(text: str, line: int) -> list[Statement]:
    """Units and positive sides that a line states.

    Parameters
    ----------
    text : str
        `Distances in yards, heights in feet`, `Directions: left positive`.
    line : int
        Line in the file.

    Returns
    -------
    list of Statement
        One a clause that names a unit or a sign; of kind `unclear` where a line speaks of signs
        or of the view and can't be understood.
    """
    return list(_statements_in(text, line))


_PUNCTUATION = re.compile(r"[,;|]|\.\s|\s[-–—]\s|\s/\s(?=[^\s,;|]+\s+[^\s,;|])")  # but `km / h`


@cache
def _conjunctions() -> re.Pattern[str]:
    return re.compile(rf"\b{any_of('between', 'and')}\b")


def _clauses(text: str) -> list[str]:
    """The parts of a sentence, by its punctuation and its words for `and`."""
    return [clause for part in _PUNCTUATION.split(text) for clause in _conjoined(part)]


def _conjoined(text: str) -> list[str]:
    """Parts of a clause by its words for `and`, but for those that bring a unit to a quantity.

    What is `and` in one language is `in` in another: `velocidades en mph`.
    """
    parts: list[str] = []
    start = 0
    for found in _conjunctions().finditer(text):
        before, behind = text[start : found.start()], text[found.end() :]
        if not (unit_symbols(behind.strip(" .!?)")) and _tags(words_in(before)) & _KINDS):
            parts.append(before)
            start = found.end()
    return [*parts, text[start:]]


@remembered
def _statements_in(text: str, line: int) -> tuple[Statement, ...]:
    units = _on_units(text, line)
    known_units = {statement.unit for statement in units}
    units += [s for s in _partly_stated_units(text, line) if s.unit not in known_units]
    return (*_on_signs(text, line), *_on_heights(text, line), *_on_straight(text, line), *units)


def _partly_stated_units(text: str, line: int) -> list[Statement]:
    """Units of which a sentence on quantities speaks in words that are not understood.

    `Some say that all distances were typed in yards`; a number before it makes a unit another's.
    """
    words = re.findall(r"[^\W\d_][^\s,;:()]*|[0-9]", text)
    if words_of("converted").keys() & set(fold(text).split()) or _DEFINES.match(text):
        return []
    tags = _tags_of_any(text)
    of_quantities = bool(tags & _KINDS) or speaks_of_unit(text)
    found: dict[tuple[str, str], None] = {}
    for before, word in pairwise(["", *words]):
        word = word.rstrip(".!?")
        symbols = () if before.isdigit() or len(word) < _SHORTEST_UNIT else unit_symbols(word)
        if set(symbols) <= ONLY_STATED or not (of_quantities or set(symbols) <= _SURELY_UNITS):
            continue
        kinds = _kinds(UNITS[symbols[0]].dimension, tags) if len(symbols) == 1 else []
        found |= dict.fromkeys((f"{kind}?", symbols[0]) for kind in kinds)
    return [Statement(kind, unit, None, line, text.strip()) for kind, unit in found]


def _on_heights(text: str, line: int) -> list[Statement]:
    """Which way an attack angle is positive: `Attack angle: positive = downward`."""
    found = []
    for clause in re.split(r"[.;]\s+", text):
        positive = positive_sides(clause, near=True)[1]
        if positive and "attack" in _tags_of_any(clause):
            columns = frozenset({"angle_of_attack_deg"})
            found.append(Statement("height_sign", None, positive, line, clause.strip(), columns))
    return found


def _on_straight(text: str, line: int) -> list[Statement]:
    """Which distance is one straight to the point: `Carry is the straight line to the landing`."""
    words = fold(text).split()
    denied = next((k for k, word in enumerate(words) if word in words_of("denials")), len(words))
    said = " ".join(words[:denied])
    tags = _tags_of_any(said) | _tags(words_in(said))
    if "straight" not in tags or not tags & _OF_A_STRAIGHT or _DEFINES.match(text):
        return []
    named = frozenset(f"{tag}_m" for tag in ("carry", "total") if tag in tags)
    return [Statement("straight", None, None, line, text.strip(), named)] if named else []


def _tags_of_any(text: str) -> frozenset[str]:
    return frozenset(tag for word in words_in(text) for tag in _tags((word,)))


def _tags(words: tuple[str, ...]) -> frozenset[str]:
    readings = tag_readings(words)
    return readings[0][0] if readings else frozenset()


def _on_signs(text: str, line: int) -> list[Statement]:
    if "wind" in _tags_of_any(text):  # whose sides are no signs
        text = "; ".join(p for p in re.split(r"[.;|]\s+", text) if "wind" not in _tags_of_any(p))
    if not re.search("[+=±]", text):  # `Training auf der Range - Tamsin Orrelle`
        text = _DASH.sub(", ", text)
    near = not _is_on_sides(text)
    view = viewpoint(text)
    twice = _for_the_player(text) if view else None
    if twice is not None:
        named = _columns_of(without_view(text))
        return [Statement("side", None, twice, line, text.strip(), named)]
    found = []
    for clause in [text] if positive_sides(text, near)[0] else _sign_clauses(text, near):
        positive = positive_sides(clause, near)[0]
        if positive and view != "unknown":
            seen = OPPOSITE[positive] if view == FRONT else positive
            named = _columns_of(without_view(clause) if view else clause)
            found.append(Statement("side", None, seen, line, clause.strip(), named))
        elif positive or _may_be_on_signs(clause):
            found.append(
                Statement("unclear", None, None, line, clause.strip(), _columns_of(clause))
            )
    if not found and view == FRONT and _is_on_sides(text):
        found.append(Statement("unclear", None, None, line, text.strip()))
    # Of bare numbers, which it has turned.
    side_stated = any(statement.kind == "side" for statement in found)
    sided = _is_on_sides(text) or any(is_sign_word(w) for w in words_in(text))
    if view in (FRONT, "unknown") and not side_stated and sided:
        found.append(Statement("view", None, view, line, text.strip()))
    return found


def _sign_clauses(text: str, near: bool) -> list[str]:
    """Clauses of a line on signs; at commas too where each names a column and its own sign."""
    parts = re.split(r"[.;,]\s+", text)
    named = [bool(_sides_named(part)) for part in parts if positive_sides(part, near)[0]]
    return parts if len(named) > 1 and all(named) else re.split(r"[.;]\s+", text)


def _for_the_player(text: str) -> str | None:
    """The positive side for the player, of a text that tells it for somebody else as well."""
    pole_and_sides = one_sign_two_sides(text)
    if pole_and_sides is None:
        return None
    pole, sides = pole_and_sides
    own = [s for s, behind in sides if "player" in _tags_of_any(" ".join(behind.split()[:_NEAR]))]
    return None if len(own) != 1 else own[0] if pole > 0 else OPPOSITE[own[0]]


def _columns_of(text: str) -> frozenset[str]:
    """Sided columns that a text on signs names, in its clause on signs where there is one."""
    if points_along_an_axis(text):
        return frozenset()
    named: list[frozenset[str]] = []
    waiting: list[str] = []  # `Direction and side: minus is left`: names before share the sign
    for clause in _clauses(text):
        if not positive_sides(clause)[0]:
            waiting += [clause] if _sides_named(clause, every=True) else []
            continue
        parts = [_sides_named(part) for part in (*waiting, clause)]
        named.append(frozenset().union(*parts) if all(parts) else frozenset())
        if waiting and not all(parts):
            return frozenset()
        waiting = []
    return named[0] if named and all(named) else _sides_named(text)


def _is_on_sides(text: str) -> bool:
    sign_words = words_of("sign_said").keys() & set(fold(text).split())
    return bool(sign_words) or bool(_sides_named(text, every=True))


def _may_be_on_signs(text: str) -> bool:
    """Whether a line speaks of signs without saying what it means in words that we know."""
    mirrored = set(fold(text).split()) & words_of("mirrored").keys()
    spoken = speaks_of_sides(text) or defines_a_sign(text) or bool(mirrored) or _by_hand(text)
    on_sides = _is_on_sides(text) and spoken
    return on_sides or partly_stated(text, named_too=True) or sign_beside_side(text)


def _by_hand(text: str) -> bool:
    """Whether a sign is told by the player's hand, as `push side +` is, of where balls go."""
    named = _sides_named(text)
    of_the_club = bool(named) and named <= {"club_path_deg", "face_angle_deg"}
    return positive_sides(text)[2] is not None and not of_the_club


def _sides_named(text: str, *, every: bool = False) -> frozenset[str]:
    """Sided columns that a clause names; none where it speaks of sides as such."""
    words = [word for word in words_in(text) if not is_sign_word(word)]
    tags = {tag for word in words for tag in _tags((word,))}
    special = [tag for tag in _SPECIFIC if tag in tags]
    tags = set(special) if special else tags
    if "direction" in tags and not special and "launch" not in tags:
        return frozenset(SIDED if every else ())  # `Directions` are all of them
    return frozenset(name for tag in tags for name in _NAMED.get(tag, ()))


def _on_units(text: str, line: int) -> list[Statement]:
    of_units = speaks_of_unit(text) or _lists_units(text)
    found: list[Statement] = []
    waiting: list[str] = []
    first = False  # `Yards for carry and total`: what comes behind a unit shares it
    for clause in _clauses(text):
        symbols, rest, leads = _unit_among(clause)
        quantities = _tags(words_in(rest.replace("/", " / ")))
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


def _lists_units(text: str) -> bool:
    """`Metres and m/s`: nothing but units, more than one."""
    clauses = [clause for clause in _clauses(text) if clause.strip()]
    return len(clauses) > 1 and all(unit_symbols(clause.strip(" .")) for clause in clauses)


def names_a_unit(text: str) -> bool:
    """Whether a text speaks of units: by that word, or by a unit beside a kind of quantity."""
    if speaks_of_unit(text):
        return True
    for clause in _clauses(text):
        symbols, rest, _ = _unit_among(clause)
        if symbols and not any(map(str.isdigit, clause)) and _tags(words_in(rest)) & _KINDS:
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
        tags = _tags(words_in(words.replace("/", " / ")))
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
        if s.unit == "ft" and not _tags(words_in(s.text)) & _LENGTHS
        else s
        for s in statements
    ]
