"""What lines beside the table say: `Player: Ann`, `Temperature;17 °C`, `Distances in yards`."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from rangeledger.pipelines.reader.normalising.balls import BALL, SURFACE, ball_and_surface
from rangeledger.pipelines.reader.normalising.phrases import pieces_of
from rangeledger.pipelines.reader.normalising.swings import clock_position
from rangeledger.pipelines.reader.normalising.words import hand_in_name, hand_of
from rangeledger.pipelines.reader.recognising.words.compass_words import (
    TARGET_BEARING,
    degrees_in,
    is_target_bearing,
)
from rangeledger.pipelines.reader.recognising.words.heading import Heading, read_heading
from rangeledger.pipelines.reader.recognising.words.statements import statements_in
from rangeledger.pipelines.reader.recognising.words.wind_counts import counted
from rangeledger.pipelines.reader.recognising.words.winds import (
    FROM,
    SPEED,
    StatedWind,
    origin_of,
    wind_in,
)
from rangeledger.schemas.clubs import club_of
from rangeledger.schemas.columns import CONDITIONS
from rangeledger.schemas.compositions import (
    DATE,
    DATETIME,
    HEAD_WIND,
    TAIL_WIND,
    TIME,
    ZONE,
    column_dimension,
)
from rangeledger.schemas.headings import unit_symbols
from rangeledger.schemas.units import UNITS
from rangeledger.schemas.words import fold, speaks_of_unit, words_of

TWO_DAYS = "two_days"  # no column either: two keys state two days for the same shots
HAND = "hand"  # no column, but it says which side `open` and `closed` are
# The colon of a time of day, `at 14:30`, parts no key from its value.
_PAIR = re.compile(
    r"^\s*[#*/;]*\s*((?:\([^)]*\)|\[[^\]]*\]|[^:=(\[]|(?<=[0-9]):(?=[0-9]{2})){2,60}?)\s*"
    r"(?:(?<![0-9]):|:(?![0-9]{2})|=)\s*(\S.*?)\s*$"
)
_ENDS_IN_DIGITS = re.compile(r"(?:[:=]\s*|^\s*)\"?[-+]?[0-9]{1,3}$")
_GROUP = re.compile(r"^[0-9]{3}(?![0-9.,])\s*[^0-9]*$|^[0-9]{1,2}\s*[^\s0-9][^0-9]*$")
_ENDS_IN_DAY = re.compile(
    r"[:=]\s*(?:[^\W\d_]+,?\s+)?[^\W\d_]{3,}\.?\s+[0-9]{1,2}(?:st|nd|rd|th)?$"
)
_NUMBER_BEFORE_WORDS = re.compile(r"^\s*[0-9]{1,3}(?:[.,][0-9]+)?\s*(?:°|deg\w*|grad\w*)?")
_YEAR = re.compile(r"^\s*20[0-9]{2}\s*$")
_TIMES_IN = re.compile(
    r"^\W*(?:all |alle |toutes les |todas las |alla )?"
    r"(?:times?|zeiten|uhrzeiten|heures|horas|tider)\b[^0-9]*"
    r"\b((?:utc|gmt)(?:\s?[+-][0-9]{1,2}(?::?[0-9]{2})?)?)\W*$",
    re.I,
)
_ANGLE = re.compile(r"([0-9]{1,3}(?:[.,][0-9]+)?)\s*(?:°|deg)?")
_HEADING_WEIGHT = 0.65
_SHORTEST_HAND = 6
_MOST_KEYS_KNOWN = 0.6  # share of stacked keys that must state something
_KEY_DRESS = "#*/;:= "
_LONGEST_KEY, _LONGEST_VALUE = 60, 200

# What may be said once for many shots; a height on top is that of the place, not of a flight.
STATED_ONCE = frozenset({
    "player", "club", "swing", "ball", "surface", DATE, DATETIME, TIME, ZONE,
    "flight_basis", HEAD_WIND, TAIL_WIND, *CONDITIONS,
})  # fmt: skip
_PLACE_TAGS = (frozenset({"height"}), frozenset({"height", "point"}), frozenset({"vertical"}))


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing said outside the table.

    Parameters
    ----------
    column : str
        Canonical column or helper that it states.
    text : str
        The value as it stands there.
    units : tuple[str, ...]
        Units stated with the key, empty where none.
    line : int
        Line in the file, 0 for the file name.
    relative : bool
        Whether a direction of the wind was told from the target line, and not by the compass.
    loose : bool
        Whether it stands without a key, so that what has one goes before it.
    """

    column: str
    text: str
    units: tuple[str, ...]
    line: int
    relative: bool = False
    loose: bool = False


def pair_in(text: str) -> tuple[str, str] | None:
    """Key and value of a text such as `Player: Ann`, None if it is no pair."""
    found = _PAIR.match(text)
    return (found[1], found[2]) if found else None


def fact_of(key: str, value: str, line: int) -> Fact | None:
    """What a key and its value state, None where the key is none that may stand above a table.

    Parameters
    ----------
    key, value : str
        As they stand in the file.
    line : int
        Line in the file.

    Returns
    -------
    Fact or None
        The fact.
    """
    value = value.strip().strip('"')  # left where quotes and commas of a line do not go together
    if len(key) > _LONGEST_KEY or len(value) > _LONGEST_VALUE or not value.strip():
        return None
    if fold(key) in words_of("hand_headings") and hand_of(value):
        return Fact(HAND, value.strip(), (), line)
    heading, count = counted(read_heading(key))
    if count is not None and (angle := _ANGLE.fullmatch(value.strip())):
        origin = count.origin(float(angle[1].replace(",", ".")))
        return Fact(FROM, f"{origin:g}", ("deg",), line, relative=True)
    column = _column_of(heading)
    if column == "club" and club_of(key).known:  # `7 iron, before the lesson` asks for no club
        return None
    if heading.tags == {"flight"} and _stated_dimension(value) == "temperature":
        column = "air_temp_c"  # `Air: 72 F`
    of_a_wind = column == FROM or heading.tags == {"wind", "direction"}
    if of_a_wind and (fact := _told_origin(heading, value, line)) is not None:
        return fact
    if of_a_wind and not any(c.isdigit() for c in value):
        return None
    if column == "player" and (struck := ball_and_surface(value)):  # `Geschlagen von: Matte`
        column, value = next(iter(struck.items()))
    if column is None or not _may_be(column, value):
        return None
    if column == "air_pressure_hpa" and reduced_to_sea_level(f"{key} {value}"):
        return None
    if column in (DATE, DATETIME) and heading.unknown:  # `Date of birth`, `Report date`
        return None
    return Fact(column, value.strip(), heading.units, line)


def counts_its_own(cells: Sequence[str]) -> bool:
    """Whether a line states a wind's angle under a key that says how it counts."""
    pair = pair_in(cells[0]) if len(cells) == 1 else (cells[0], cells[1])
    if pair is None or not _ANGLE.fullmatch(pair[1].strip()):
        return False
    return counted(read_heading(pair[0]))[1] is not None


def _told_origin(heading: Heading, value: str, line: int) -> Fact | None:
    """Where a wind comes from in words, whatever number stands before them: `180° (helping)`."""
    words = _NUMBER_BEFORE_WORDS.sub("", value).strip(" ()[],;")
    if not words or any(map(str.isdigit, words)):
        return None
    origin = origin_of(words, from_side="from" in heading.tags)
    if origin is None or (words != value.strip() and not origin.isdigit()):
        return None
    return Fact(FROM, origin, ("deg",), line, origin.isdigit())


def reduced_to_sea_level(text: str) -> bool:
    """Whether words say that a pressure is not the one at the place, but reduced to sea level."""
    kinds = {piece.kind for piece in pieces_of(text, ("at_sea_level", "denials"))}
    return "at_sea_level" in kinds and "denials" not in kinds


def _stated_dimension(value: str) -> str | None:
    """Kind of quantity that the unit behind a number says."""
    found = re.match(r"^\D*?[-+]?[0-9]+(?:[.,][0-9]+)?\s*(\D+)$", value)
    symbols = unit_symbols(found[1].strip()) if found else ()
    return UNITS[symbols[0]].dimension if symbols else None


def _may_be(column: str, value: str) -> bool:
    """Whether a value can be meant for a column at all: numbers for measures, words for words."""
    digits = any(c.isdigit() for c in value)
    if column == SPEED and wind_in(value) is not None:
        return True
    if column == TARGET_BEARING:
        return degrees_in(value) is not None
    if column_dimension(column) or column in (DATE, DATETIME, TIME):
        return digits
    if column == "club":
        return club_of(value).known or not digits
    if column == "swing" and (clock_position(value) or re.search(r"[0-9]\s*[%/]", value)):
        return True
    return column == ZONE or any(c.isalpha() for c in value)


def _column_of(heading: Heading) -> str | None:
    for candidate in heading.candidates:
        if candidate.column in STATED_ONCE and candidate.weight >= 0.6:
            return candidate.column
    if heading.tags in _PLACE_TAGS and not heading.unknown:
        return "altitude_m"
    if "basis" in heading.tags:
        return "flight_basis"
    if is_target_bearing(heading.text, heading.tags):
        return TARGET_BEARING
    return None


def plain_decimal(text: str) -> str:
    """`1,250 ft` -> `1250 ft`, `17,5 °C` -> `17.5 °C`: a number by itself, as people write it."""
    grouped = re.sub(r"^(\s*[0-9]{1,3}),([0-9]{3})(?![0-9.,])", r"\1\2", text)
    return re.sub(r"^(\s*[-+]?[0-9]+),([0-9]{1,2})(?![0-9])", r"\1.\2", grouped)


def rejoined(cells: Sequence[str]) -> list[str]:
    """Cells with what an unquoted comma parted: `Altitude: 1` and `250 ft`.

    Parameters
    ----------
    cells : sequence of str
        Cells of a line that aren't empty.

    Returns
    -------
    list of str
        A number, a date and a bracket each in one cell.
    """
    joined: list[str] = []
    for cell in cells:
        before = joined[-1] if joined else ""
        grouped = _ENDS_IN_DIGITS.search(before) and _GROUP.match(cell)
        dated = _ENDS_IN_DAY.search(before) and _YEAR.match(cell)
        opened = before.count("(") > before.count(")") and ")" in cell
        if grouped or dated or opened:
            joined[-1] = f"{before},{'' if grouped else ' '}{cell.strip()}"
        else:
            joined.append(cell)
    return joined


def facts_in(cells: Sequence[str], line: int) -> list[Fact]:
    """Facts of one line outside the table.

    Parameters
    ----------
    cells : sequence of str
        Its cells that aren't empty.
    line : int
        Line in the file.

    Returns
    -------
    list of Fact
        One a pair; pairs stand in one cell, or in two neighbouring ones.
    """
    found: list[Fact] = []
    cells = rejoined(cells)
    place = 0
    while place < len(cells):
        pair = pair_in(cells[place])
        step = 1
        if pair is None and place + 1 < len(cells):
            step = 2
            # Two headings side by side, as above a table of averages, are no pair.
            value = cells[place + 1].strip()
            lone_club = len(cells) == 2 and club_of(value).known  # `Club;58° Wedge`
            if lone_club or read_heading(value).weight < _HEADING_WEIGHT:
                pair = (cells[place].strip(_KEY_DRESS), cells[place + 1])
            # `Junior camp, bay 4`: a title that a comma parted, whose words only touch a key.
            if pair and _is_parted_title(pair[0]):
                pair = None
        fact = fact_of(*pair, line) if pair else _keyless_fact(cells[place], line)
        if fact:
            found += parts_of(fact)
        place += step if fact or step == 1 else 1
    return found


def _is_parted_title(text: str) -> bool:
    """Whether words ask for a player or a club and say more, as no key by itself does."""
    heading = read_heading(text)
    return bool(heading.unknown) and _column_of(heading) in ("player", "club")


def speaks_of_units(words: Sequence[str]) -> bool:
    """Whether the cells of a line state units: `Units: speed m/s`, `distance yd`, `spin rpm`."""
    first = fold(words[0]).partition(" ")[0]
    return speaks_of_unit(first) and bool(statements_in(", ".join(words), 0))


def _keyless_fact(text: str, line: int) -> Fact | None:
    """What a cell says without a key: the zone of all times, or the player's hand."""
    if (
        len(text.strip()) >= _SHORTEST_HAND
        and hand_of(text)
        and fold(text) not in words_of("sides")
    ):
        return Fact(HAND, text.strip(), (), line)
    return _stated_zone(text, line)


def _stated_zone(text: str, line: int) -> Fact | None:
    """`All times are UTC`, `Zeiten in UTC+1`: a zone that a line states without a key."""
    found = _TIMES_IN.match(text)
    return Fact(ZONE, found[1], (), line) if found else None


def parts_of(fact: Fact) -> list[Fact]:
    """A wind with its direction, `8 mph headwind`, as two; a player with a hand as well.

    Parameters
    ----------
    fact : Fact
        As a key and its value state it.

    Returns
    -------
    list of Fact
        At least one.
    """
    if fact.column in (HEAD_WIND, TAIL_WIND):
        degrees = "0" if fact.column == HEAD_WIND else "180"
        origin = Fact(FROM, degrees, ("deg",), fact.line, relative=True)
        return [Fact(SPEED, fact.text, fact.units, fact.line), origin]
    if fact.column in (BALL, SURFACE):
        struck = ball_and_surface(fact.text, fact.column)
        others = [Fact(c, word, (), fact.line) for c, word in struck.items() if c != fact.column]
        return [fact, *others]
    hand = hand_in_name(fact.text) if fact.column == "player" else None
    if hand is not None:
        return [fact, Fact(HAND, hand, (), fact.line)]
    wind = wind_in(fact.text) if fact.column == SPEED else None
    return [fact] if wind is None else facts_of_wind(wind, fact.line, fact.units)


def facts_of_wind(
    wind: StatedWind, line: int, units: tuple[str, ...] = (), *, loose: bool = False
) -> list[Fact]:
    """Speed and direction of a wind as facts; a speed without a direction is one fact."""
    origin = wind.origin
    relative = origin is not None and origin.isdigit()
    direction = [Fact(FROM, origin, ("deg",), line, relative, loose)] if origin else []
    return [Fact(SPEED, wind.speed, units, line, loose=loose), *direction]


def stacked_facts(
    keys: Sequence[str | None], values: Sequence[str | None], line: int
) -> list[Fact]:
    """Facts of a line of keys with their values below each of them.

    Parameters
    ----------
    keys, values : sequence of str or None
        Cells of the two lines.
    line : int
        Line of the values.

    Returns
    -------
    list of Fact
        Empty unless every key that has a value states something, and there are two of them.
    """
    pairs = [(k, v) for k, v in zip(keys, values, strict=False) if k and k.strip() and v]
    facts = [fact_of(key, value, line) for key, value in pairs]
    known = [fact for fact in facts if fact is not None]
    if len(known) < 2 or len(known) < _MOST_KEYS_KNOWN * len(facts):
        return []
    return [part for fact in known for part in parts_of(fact)]
