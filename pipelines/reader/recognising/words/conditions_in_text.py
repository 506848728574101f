"""Words that state something without a key: `Off the mat`, `9 o'clock swings`, `17 °C`."""

from __future__ import annotations

import re
from dataclasses import replace

from rangeledger.pipelines.reader.normalising.balls import ball_and_surface
from rangeledger.pipelines.reader.normalising.phrases import NUMBER, only, pieces_of
from rangeledger.pipelines.reader.normalising.swings import clock_position
from rangeledger.pipelines.reader.recognising.words.facts import (
    Fact,
    fact_of,
    facts_of_wind,
)
from rangeledger.pipelines.reader.recognising.words.heading import read_heading
from rangeledger.pipelines.reader.recognising.words.winds import SPEED, speaks_of_wind, wind_in
from rangeledger.schemas.clubs import club_of
from rangeledger.schemas.columns import CONDITIONS
from rangeledger.schemas.headings import unit_symbols
from rangeledger.schemas.units import UNITS
from rangeledger.schemas.words import fold, words_of

_QUANTITY = re.compile(r"^([^\d~≈+−-]*?)[\s~≈]*([-+−]?[0-9]+(?:[.,][0-9]+)?)\s*([^\d\s].*?)\s*$")
_CLAUSE_ENDS = r"[;\n]|\.\s+(?=[^\W\d_a-z])|\s+[-–—]\s+"
_AIR = frozenset({"temperature", "flight"})  # `Air` by itself may be that of a flight
# What a quantity by itself can only be, by the dimension of its unit.
_BY_DIMENSION = {"temperature": "air_temp_c", "pressure": "air_pressure_hpa"}
_FILLERS = ("fillers_said", "shots_said")
_QUANTITY_DRESS = " =#*:()[]\t"
_LONGEST = 60
_MOST_WORDS_BEFORE = 6  # a club in a title: `Range session today with my driver`
_CLOCK = re.compile(r"\b[0-9]{1,2}\s?[:h.]\s?[0-9]{2}\b|\b[0-9]{1,2}\b(?!\s*[°%])")
_TITLE_PARTS = re.compile(r"[,;|()\[\]:]|\s[-–—]\s")
_OTHER_CLUBS = ("clubs", "club_kinds", "denials", "other_days")
_NUMBERED_WORD = re.compile(r"^\W*[^\W\d_]{2,}\.?\s?[1-9]\W*$|^\W*[1-9]\s?[^\W\d_]{2,}\.?\W*$")
_NUMBERED_TITLE = re.compile(r"^\s*\d{1,2}[.)]\s+(\S.*)$")


def facts_alone(text: str, line: int) -> list[Fact]:
    """What some words state that hold nothing else, none where a word is left over.

    Parameters
    ----------
    text : str
        `All shots with range balls`, `Off the mat`, `7 iron`.
    line : int
        Line in the file.

    Returns
    -------
    list of Fact
        Marked as loose: a key that says otherwise goes before them.
    """
    bare = text.strip(" -–—=#*:.()[]\t")
    if not 0 < len(bare) <= _LONGEST:
        return []
    struck = ball_and_surface(bare)
    if struck:
        return [Fact(column, word, (), line, loose=True) for column, word in struck.items()]
    swing = _swing(bare)
    if swing is not None:
        return [Fact("swing", swing, (), line, loose=True)]
    if fold(bare) in words_of("said_calm"):
        return [Fact(SPEED, "0 m/s", (), line, loose=True)]
    quantity = _quantity(text.strip(_QUANTITY_DRESS), line)  # whose minus is no dress
    return [quantity] if quantity and quantity.column == "air_temp_c" else []


def _swing(text: str) -> str | None:
    """A swing that words state as such: by the clock, or a feel beside the word for a swing."""
    kinds = ("feels", "swings", "swing_words", "clock_words", "fillers_said", "shots_said")
    pieces = pieces_of(text, kinds)
    worded = any(piece.kind == "swing_words" for piece in pieces)
    clock = _CLOCK.search(text)
    rest = pieces_of(text[: clock.start()] + text[clock.end() :], kinds) if clock else ()
    if clock and (worded or any(p.kind == "clock_words" for p in pieces)):
        said = " ".join(p.text for p in pieces if p.kind in ("clock_words", NUMBER))
        known = all(piece.kind is not None for piece in rest)
        phrases = [phrase for phrase in (clock[0], said) if known and clock_position(phrase)]
        return phrases[0] if phrases else None  # `9 o'clock` needs its words
    for kind in ("feels", "swings"):
        if worded and only(pieces, kind, "swing_words", *_FILLERS):
            return next(piece.text for piece in pieces if piece.kind == kind)
    return None


def conditions_in(text: str, line: int, *, asked: bool = False) -> list[Fact]:
    """What the parts of `Sunny, 17 °C, wind 3 m/s from the left; range balls` state.

    Parameters
    ----------
    text : str
        A line, or what stands behind a key for the weather.
    line : int
        Line in the file.
    asked : bool
        Whether a key asks for the weather, so that a speed is that of the wind and a word that
        was not understood does no harm.

    Returns
    -------
    list of Fact
        Each part by its words or its unit; none of a column that two parts state differently.
    """
    found: list[Fact] = []
    for clause in re.split(_CLAUSE_ENDS, text):
        whole: list[Fact] = _condition(clause, line, asked=asked)
        parts: list[Fact] = [
            fact
            for part in re.split(r"[,|]|/(?!\s?(?:[hstu]\b|tim))(?![0-9])", clause)
            for fact in _condition(part, line, asked=asked)
        ]
        found += parts if len(parts) > len(whole) else whole
    by_column: dict[str, set[str]] = {}
    for fact in found:
        by_column.setdefault(fact.column, set()).add(fact.text)
    return [fact for fact in found if len(by_column[fact.column]) == 1]


def _condition(text: str, line: int, *, asked: bool) -> list[Fact]:
    """What one part states by itself: ball and surface, a swing, wind, a quantity of the air."""
    alone = facts_alone(text, line)
    if alone:
        return alone
    wind = wind_in(text) if asked or speaks_of_wind(text) else None
    if wind is not None and (wind.whole or asked):
        return facts_of_wind(wind, line, loose=True)
    if asked and (fact := _quantity(text, line, asked=True)):
        return [fact]
    return _named_quantity(text, line)


def _named_quantity(text: str, line: int) -> list[Fact]:
    """`Altitude 600 m`: a key and its value without a mark between them."""
    found = _QUANTITY.search(text.strip(" .,;()"))
    if found is None or not found[1].strip() or not unit_symbols(found[3].strip(". ")):
        return []
    fact = fact_of(found[1].strip(), f"{found[2]} {found[3]}", line)
    of_the_air = fact is not None and fact.column in CONDITIONS
    return [replace(fact, loose=True)] if fact is not None and of_the_air else []


def _quantity(text: str, line: int, *, asked: bool = False) -> Fact | None:
    """A quantity that its unit tells, `about 17 °C`, `air 14 °C`, `1013 hPa`."""
    found = _QUANTITY.search(text.strip(" .,;()"))
    symbols = unit_symbols(found[3].strip(". ")) if found else ()
    if found is None or not _may_stand_before(found[1]):
        return None
    dimensions = {UNITS[symbol].dimension for symbol in symbols}
    column = _BY_DIMENSION.get(dimensions.pop()) if len(dimensions) == 1 else None
    if set(symbols) == {"deg"} and asked:  # `18 grados`, where the weather is told
        column = "air_temp_c"
    return Fact(column, f"{found[2]} {found[3]}", (), line, loose=True) if column else None


def _may_stand_before(words: str) -> bool:
    """Whether words before a quantity speak of the air: `Air about`, `Temperatur`."""
    pieces = pieces_of(words, ("weather", "roughly", "fillers_said"))
    return all(p.kind or read_heading(p.text).tags & _AIR for p in pieces)


def club_alone(text: str) -> str | None:
    """The club that a line names with nothing else but words for shots, `7 iron shots`."""
    numbered = _NUMBERED_TITLE.match(text)  # `2. Every shot (6 iron)`; but `7. Eisen` is a club
    return _club_alone(text) or (_club_alone(numbered[1]) if numbered else None)


def club_in_title(text: str, *, above: bool = False) -> str | None:
    """The club that a title names alone or first of all, `7 iron, before and after the lesson`.

    Parameters
    ----------
    text : str
        A line without a key.
    above : bool
        Whether it stands above all shots, where any of its parts may name their club,
        `Training on the range, 7 iron`.

    Returns
    -------
    str or None
        None where it names none, more than one, or speaks of another day.
    """
    alone = club_alone(text)
    if alone is not None:
        return alone
    parts = [part for part in _TITLE_PARTS.split(text) if part.strip()]
    named = [(place, club) for place, part in enumerate(parts) if (club := _named_alone(part))]
    if not named or not (above or named[0][0] == 0) or len(parts) == 1:
        return None
    place, club = named[0]
    rest = [part for k, part in enumerate(parts) if k != place]
    again = re.compile(re.escape(fold(club)))  # `7 iron fitting - all shots with the 7 iron`
    pieces = [p for part in rest for p in pieces_of(again.sub(" ", fold(part)), _OTHER_CLUBS)]
    return None if {piece.kind for piece in pieces} - {None, NUMBER} else club


def like_a_club(text: str) -> str | None:
    """A title written like the clubs above other shots, in words that we don't know.

    `Zwack 4` below `7 iron` is the next club, whatever it is; its shots are none of the last.
    """
    if not _NUMBERED_WORD.match(text):
        return None
    kinds = {piece.kind for piece in pieces_of(text, ("visits", "places", "shots_said"))}
    return text.strip() if kinds == {None, NUMBER} else None


def _named_alone(part: str) -> str | None:
    """The club of a part of a title; one letter names none there."""
    said = pieces_of(club_alone(part) or "", ("fillers_said",))
    club = " ".join(piece.text for piece in said if piece.kind != "fillers_said")
    return club if len(club) > 1 else None


def _club_alone(text: str) -> str | None:
    bare = text.strip(" -–—=#*:.()[]\t")
    words = bare.split()
    for start in range(min(_MOST_WORDS_BEFORE, len(words))):
        for end in range(len(words), start, -1):
            rest = " ".join(words[:start] + words[end:])
            pieces = pieces_of(rest, ("shots_said", "visits", "fillers_said"))
            known = all(piece.kind is not None for piece in pieces)
            club = " ".join(words[start:end]).strip("()[]")
            if known and club_of(club).known:
                return club
    return None
