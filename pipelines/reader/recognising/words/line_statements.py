"""All that a line beside a table states: keys with values, and words that stand without one."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from rangeledger.pipelines.reader.normalising.balls import ball_and_surface
from rangeledger.pipelines.reader.normalising.phrases import NUMBER, pieces_of
from rangeledger.pipelines.reader.normalising.words import flight_basis_of, hand_in_text
from rangeledger.pipelines.reader.recognising.words.conditions_in_text import (
    club_alone,
    conditions_in,
)
from rangeledger.pipelines.reader.recognising.words.dates_in_text import (
    DATE_ORDER,
    clock_in,
    days_in,
    order_in,
    sentences_of,
    without_days,
)
from rangeledger.pipelines.reader.recognising.words.facts import (
    HAND,
    Fact,
    fact_of,
    facts_in,
    pair_in,
    parts_of,
    reduced_to_sea_level,
    rejoined,
)
from rangeledger.pipelines.reader.recognising.words.heading import read_heading
from rangeledger.pipelines.reader.recognising.words.names_in_text import (
    TITLE_NAME,
    bare_name,
    full_name,
    is_full_name,
    is_name,
    name_in_title,
    person_in,
)
from rangeledger.pipelines.reader.recognising.words.purposes import purpose_of
from rangeledger.pipelines.reader.recognising.words.wind_lines import (
    height_in,
    height_told,
    of_the_wind,
    told_of_wind,
    without_aim,
)
from rangeledger.pipelines.reader.recognising.words.winds import (
    FROM,
    SPEED,
    speaks_of_wind,
    tells_several,
    wind_in,
)
from rangeledger.schemas.compositions import DATE, DATETIME, TIME, column_dimension
from rangeledger.schemas.headings import unit_symbols
from rangeledger.schemas.words import fold, words_of

_TIMES = (DATE, DATETIME, TIME)
_KINDS = ("other_days", "staff", "visits", "shots_said", "by_person", "weather", "fillers_said")
_OF_A_PLACE = frozenset({"places", NUMBER, "fillers_said"})
_OF_A_VISIT = frozenset({"visits", "shots_said", "by_person", "fillers_said"})
# Where a further key may begin within one cell: `Player: Ann | Date: 1 June 2026`.
_FURTHER_KEY = re.compile(
    r"(?:\s*[|;•·]\s*|\s+[/–—-]\s+|\s*,\s*|\.\s+|\s{2,})(?=([^\W\d_][^:=|;,/]{1,40}?)\s?[:=]\s?\S)"
)
_BRACKET_AT_THE_END = re.compile(r"\s*[(\[][^)\]]*[)\]]\s*$")
_OTHER_DELIMITER = re.compile(r"(?<=[^\d\s])\s*[,;\t|]\s*")
_NUMBER_ALONE = re.compile(r"^\s*[-+−]?[0-9]+(?:[.,][0-9]+)?\s*$")
_LONGEST = 200
_SHORTEST_HAND = 6  # letters: `right` alone is a side
_MOST_TITLE_CELLS = 3


@dataclass(slots=True)
class LineStatement:
    """What a line states.

    Parameters
    ----------
    facts : list of Fact
        In the order of the line.
    unread : list of str
        Sentences on what looks like a statement and was not understood.
    """

    facts: list[Fact] = field(default_factory=list)
    unread: list[str] = field(default_factory=list)


def statement_of_line(cells: Sequence[str], line: int) -> LineStatement:
    """All that a line beside a table states.

    Parameters
    ----------
    cells : sequence of str
        Its cells that aren't empty.
    line : int
        Line in the file.

    Returns
    -------
    LineStatement
        Facts with a key, and those that stand without one, marked as loose.
    """
    if len(cells) == 3 and _NUMBER_ALONE.match(cells[1]) and unit_symbols(cells[2].strip()):
        cells = [cells[0], f"{cells[1]} {cells[2]}"]  # `Temperature;22.5;°C`
    sentences = sentences_of(", ".join(cells))
    if len(sentences) > 1 and any(speaks_of_wind(sentence) for sentence in sentences):
        told_apart = [statement_of_line([sentence], line) for sentence in sentences]
        facts = [fact for statement in told_apart for fact in statement.facts]
        heights = {height for sentence in sentences if (height := height_told(sentence))}
        facts += [Fact("wind_height", height, (), line) for height in heights]
        return LineStatement(facts, [text for s in told_apart for text in s.unread])
    cells, aimed = without_aim(cells, line)
    text = ", ".join(cells)
    told = told_of_wind(cells, line)
    if len(cells) == 2 and _is_wind_key(cells[0]) and pair_in(cells[1]) is None:
        cells = [f"{cells[0]}: {cells[1]}"]  # whose height stands among the words of the value
    statement = _statement_of_line(cells, line)
    several = told is None and tells_several(text)
    if several:
        statement.unread.append(
            f"Line {line}: {text!r} tells more than one wind; none was taken. State the wind in a "
            "note."
        )
    if told is not None or several or _is_computed(cells):  # the air of a model never blew
        statement.facts = [f for f in statement.facts if f.column not in (SPEED, FROM)]
    statement.facts += [*(told or []), *aimed]
    order = order_in(text)
    if order is not None:
        statement.facts.append(Fact(DATE_ORDER, order, (), line))
    return statement


def _is_wind_key(text: str) -> bool:
    """`Wind`, and not `Wind 8 mph from the right`, which a comma parted from more."""
    bare = pair_in(text) is None and not any(map(str.isdigit, text))
    return bare and speaks_of_wind(text) and wind_in(text) is None


def _is_computed(cells: Sequence[str]) -> bool:
    """Whether a line without a key tells how flights were reckoned."""
    words = [word for cell in cells for word in fold(cell).split()]
    return (
        bool(cells)
        and pair_in(cells[0]) is None
        and any(flight_basis_of(w) == "modelled" for w in words)
    )


def _statement_of_line(cells: Sequence[str], line: int) -> LineStatement:
    statement = LineStatement()
    if len(cells) == 1:  # `Player,Ann Brook` where another delimiter parts the table
        parts = _OTHER_DELIMITER.split(cells[0], maxsplit=1)
        cells = parts if len(parts) > 1 and facts_in(parts, line) else cells
    if sum(map(len, cells)) > _LONGEST:
        statement.facts = facts_in(cells, line)
        return statement
    name = full_name(", ".join(cells))
    if name is not None:
        statement.facts.append(Fact("player", name, (), line))
        return statement
    clauses = _clauses(cells)
    if any(pair_in(clause) for clause in clauses):
        for clause in clauses:
            pair = pair_in(clause)
            if pair is not None:
                _take_pair(statement, *pair, line)
            else:
                _take_loose(statement, clause, line)
        return statement
    keyed = facts_in(cells, line)
    for fact in keyed:
        if fact.column in _TIMES:
            _take_day(statement, fact.text, line)
        else:
            statement.facts.append(fact)
    if not keyed:
        _take_loose(statement, ", ".join(clauses), line)
    return statement


def is_statement(cells: Sequence[str]) -> bool:
    """Whether a line that may be one of the shots states something instead.

    Parameters
    ----------
    cells : sequence of str
        Its cells that aren't empty.

    Returns
    -------
    bool
        True for keys with values, and for a title of few cells that names a visit or a player.
    """
    if facts_in(cells, 0):
        return True
    return len(cells) <= _MOST_TITLE_CELLS and any(
        fact.column == "player" or (fact.column == DATE and not fact.loose)
        for fact in statement_of_line(cells, 0).facts
    )


def _clauses(cells: Sequence[str]) -> list[str]:
    """Cells parted where a further key begins, and joined where a pair goes on in the next cell."""
    parted: list[str] = []
    for cell in rejoined(cells):
        start = 0
        for found in _FURTHER_KEY.finditer(cell):
            if found.start() > start and _is_key(found[1]):
                parted.append(cell[start : found.start()])
                start = found.end()
        parted.append(cell[start:])
    joined: list[str] = []
    for part in parted:
        goes_on = joined and pair_in(joined[-1]) is not None and pair_in(part) is None
        if goes_on:
            joined[-1] = f"{joined[-1]}, {part.strip()}"
        else:
            joined.append(part)
    return joined


def _is_key(text: str) -> bool:
    """Whether some words are a key: what they ask for is known, or they speak of days or staff."""
    if fact_of(text, "1", 0) or fact_of(text, "x", 0):
        return True
    kinds = {piece.kind for piece in pieces_of(text, _KINDS)}
    return bool(kinds & {"other_days", "staff", "visits"}) and None not in kinds


def _take_pair(statement: LineStatement, key: str, value: str, line: int) -> None:
    if speaks_of_wind(key):
        for text in (key, value):
            height, rest = height_in(text)
            if height is not None:
                statement.facts.append(Fact("wind_height", height, (), line))
                key, value = (rest, value) if text == key else (key, of_the_wind(value))
                break
    kinds = {piece.kind for piece in pieces_of(key, _KINDS)}
    head = value.split(",")[0].strip()
    dated = days_in(key)
    if len(dated) == 1 and dated[0].whole and not kinds & {"other_days", "staff"}:
        _take_loose(statement, key, line)  # `Saturday, 8 November 2025: 9 °C, range balls`
        statement.facts += conditions_in(value, line, asked=True)
        return
    if kinds == {"weather"} and not dated and not days_in(value) and clock_in(value) is None:
        statement.facts += conditions_in(value, line, asked=True)  # `Tiempo: sol, 18 °C`
        return
    fact = fact_of(key, value, line) or fact_of(key, head, line)
    bare = _BRACKET_AT_THE_END.sub("", head)
    if fact is None and bare != head:  # `Club: 7 iron (all rows)`
        of_words = fact_of(key, bare, line)
        if of_words is not None and column_dimension(of_words.column) is None:
            head, fact = bare, of_words
    column = fact.column if fact else None
    if column in _TIMES:
        _take_day(statement, value, line)
    elif column == "player" and _says_more(key) and not is_name(head):
        pass  # `Player says: feels lighter`, `Subject: my numbers`
    elif column == "player":
        _take_player(statement, value, line)
    elif fact is not None:
        statement.facts += _best_parts(key, value, head, line)
    elif fold(key) in words_of("monitor_keys") and any(c.isalpha() for c in value):
        statement.facts.append(Fact("monitor", value.strip(), (), line))
    elif kinds <= _OF_A_VISIT and "visits" in kinds:
        _take_visit(statement, value, line)
    elif "pressure" in read_heading(key).tags and reduced_to_sea_level(f"{key} {value}"):
        statement.unread.append(
            f"Line {line}: {value.strip()!r} is a pressure reduced to sea level, and not the one "
            "at the place; it was not taken. State air_pressure_hpa in a note."
        )
    elif _is_place(key) and (club := club_alone(value.strip())):  # `Sheet: 5 iron`
        statement.facts.append(Fact("club", club, (), line))
    elif _is_place(key) and is_full_name(value):
        statement.facts.append(Fact("player", value.strip(), (), line, loose=True))
    elif (inner := pair_in(value)) is not None and _may_bring_a_pair(key, inner[0], kinds):
        inside = LineStatement()  # `Filter: Club = Driver`
        _take_pair(inside, *inner, line)
        named = [f for f in inside.facts if f.column != "player" or is_name(f.text)]
        statement.facts += [replace(fact, loose=True) for fact in named]
    elif not kinds & {"other_days", "staff"} and any(d.whole for d in days_in(value)):
        statement.unread.append(
            f"Line {line}: {key.strip()!r} says a day, {value.strip()!r}, but not what happened on "
            "it; it was not taken for the day of the shots."
        )
    elif len(key) >= _SHORTEST_HAND and hand_in_text(key):  # `Left-handed: his draw turns right`
        statement.facts.append(Fact(HAND, hand_in_text(key) or "", (), line))
    elif not kinds & {"other_days", "staff", "visits"} and purpose_of(key) is None:
        struck = ball_and_surface(value) or ball_and_surface(f"{key} {value}")
        statement.facts += [Fact(c, word, (), line, loose=True) for c, word in struck.items()]


def _says_more(key: str) -> bool:
    """Whether a key that asks for a player may ask for something else: only a name is one then."""
    return bool(read_heading(key).unknown) or fold(key) in words_of("mail_subjects")


def _may_bring_a_pair(key: str, inner: str, kinds: set[str | None]) -> bool:
    """Whether a key that states nothing may stand before one that does."""
    return not kinds & {"other_days", "staff"} and purpose_of(key) is None and _is_key(inner)


def _is_place(text: str) -> bool:
    """`Bay 3`, `Bahn 12`: where somebody stood."""
    kinds = {piece.kind for piece in pieces_of(text, ("places", "fillers_said"))}
    return "places" in kinds and kinds <= _OF_A_PLACE


def _best_parts(key: str, value: str, head: str, line: int) -> list[Fact]:
    """What a key's value states, as a whole if that says more than its first part alone."""
    whole, first = fact_of(key, value, line), fact_of(key, head, line)
    readings = [parts_of(fact) for fact in (whole, first) if fact is not None]
    return max(readings, key=len)


def _take_day(statement: LineStatement, value: str, line: int) -> None:
    """The day and the time of a key that asks for them."""
    days = days_in(value, asked=True)
    whole = {day.text for day in days if day.whole}
    clock = clock_in(without_days(value, days))
    if len(whole) == 1 and len(days) == 1:
        statement.facts.append(Fact(DATE, whole.pop(), (), line))
    elif days or clock is None:
        why = "names several days" if len(days) > 1 else "is no day with its year that can be read"
        statement.unread.append(f"Line {line}: {value.strip()!r} {why}; no day was taken from it.")
        return
    if clock is not None:
        statement.facts.append(Fact(TIME, clock[0], (), line))


def _take_player(statement: LineStatement, value: str, line: int) -> None:
    days = days_in(value)
    left = without_days(value, days)
    name = bare_name(left.split(" ; ")[0])
    parts = [part.strip() for part in name.split(",")]
    if len(parts) == 2 and not (is_name(parts[0]) and is_name(parts[1])):
        name = name if parts_of(Fact("player", name, (), line))[1:] else parts[0]
    if any(c.isalpha() for c in name):
        statement.facts += parts_of(Fact("player", name, (), line))
    if len(days) == 1 and days[0].whole:
        statement.facts.append(Fact(DATE, days[0].text, (), line, loose=True))


def _take_visit(statement: LineStatement, value: str, line: int) -> None:
    """`Session: 18 May 2026, 14:30`, `Practice session: Tamsin Orrelle`."""
    days = days_in(value)
    left = without_days(value, days)
    clock = clock_in(left)
    if days or clock:
        _take_day(statement, value, line)
    rest = (clock[1] if clock else left).strip(" ;,-–")
    name = rest.split(",")[0].strip(" ;-–")
    if len(name.split()) > 1 and is_name(name):
        statement.facts.append(Fact("player", name, (), line, loose=True))


def _take_loose(statement: LineStatement, text: str, line: int) -> None:
    """What words without a key state: the day of a title, a person, a ball, a surface."""
    days = days_in(text)
    left = without_days(text, days)
    by_clock = any(fact.column == "swing" for fact in conditions_in(left, line))
    clock = None if by_clock else clock_in(left)  # `58 degree wedge - 9:00 swing`
    rest = clock[1] if clock else left
    kinds = {piece.kind for piece in pieces_of(rest, _KINDS)}
    if clock and not days and "visits" in kinds and kinds <= _OF_A_VISIT:  # `Started at 14:30`
        statement.facts.append(Fact(TIME, clock[0], (), line))
    if days and "other_days" not in kinds:
        firm = bool(kinds & {"visits", "shots_said"})
        if len(days) == 1 and days[0].whole:
            dated_facts = [Fact(DATE, days[0].text, (), line)]
            dated_facts += [Fact(TIME, clock[0], (), line)] if clock else []
            statement.facts += (
                dated_facts if firm else [replace(fact, loose=True) for fact in dated_facts]
            )
        elif {p.kind for p in pieces_of(text, ("visits",))} - {
            "visits",
            NUMBER,
        }:  # `Set 2` is no day of September
            statement.unread.append(
                f"Line {line}: {text.strip()!r} names no single day with its year; no day was "
                "taken from it."
            )
    parts = [rest, *re.split(r"[;,|]| [-–—] ", rest)]
    person = next((name for part in parts if (name := person_in(part))), None)
    if person is None and any(map(_is_place, parts[1:])):  # `Bay 3 - Tamsin Orrelle`
        named = [part.strip() for part in parts[1:] if is_full_name(part)]
        person = named[0] if len(named) == 1 else None
    if person is not None:
        statement.facts.append(Fact("player", person, (), line, loose=True))
    elif (name := name_in_title(rest)) is not None:
        statement.facts.append(Fact(TITLE_NAME, name, (), line, loose=True))
    statement.facts += conditions_in(rest, line)
