"""Words that state something without a key: `Off the mat`, `9 o'clock swings`, `17 °C`."""

from __future__ import annotations

import re

from rangeledger.pipelines.reader.normalising.phrases import only, pieces_of
from rangeledger.pipelines.reader.normalising.swings import clock_position
from rangeledger.pipelines.reader.recognising.facts import Fact
from rangeledger.pipelines.reader.recognising.winds import FROM, SPEED, parts_of_wind
from rangeledger.schemas.clubs import club_of
from rangeledger.schemas.headings import unit_symbols
from rangeledger.schemas.units import UNITS
from rangeledger.schemas.words import fold, words_of

_QUANTITY = re.compile(r"^\s*(?:~|≈)?\s*([-+−]?[0-9]+(?:[.,][0-9]+)?)\s*([^\d\s].*?)\s*$")
# What a quantity by itself can only be, by the dimension of its unit.
_BY_DIMENSION = {"temperature": "air_temp_c", "pressure": "air_pressure_hpa"}
_WORDS = {"ball": "balls", "surface": "surfaces"}
_BESIDE = ("fillers_said", "shots_said")
_LONGEST = 60


def said_alone(text: str, line: int) -> list[Fact]:
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
    for column, kind in _WORDS.items():
        pieces = pieces_of(bare, (kind, "ball_words", *_BESIDE))
        if only(pieces, kind, "ball_words", *_BESIDE) and _is_plain(column, bare):
            word = next(piece.text for piece in pieces if piece.kind == kind)
            return [Fact(column, word, (), line, loose=True)]
    swing = _swing(bare)
    if swing is not None:
        return [Fact("swing", swing, (), line, loose=True)]
    if fold(bare) in words_of("said_calm"):
        return [Fact(SPEED, "0 m/s", (), line, loose=True)]
    quantity = _quantity(bare, line)
    return [quantity] if quantity and quantity.column == "air_temp_c" else []


def _is_plain(column: str, text: str) -> bool:
    """Whether words speak of a ball or of what it lies on, and of nothing else of that name.

    `Practice` alone is a visit, `Fairway` a club, `Tee` a place of its own.
    """
    words = fold(text).split()
    if column == "ball":
        balls = tuple(words_of("ball_words"))
        return any(word in balls or (len(word) > 6 and word.endswith(balls)) for word in words)
    return len(words) > 1 or not (words[0] == "tee" or words[0] in words_of("club_kinds"))


def _swing(text: str) -> str | None:
    """A swing that words state as such: by the clock, or a feel beside the word for a swing."""
    pieces = pieces_of(text, ("feels", "swings", "clock_words", "fillers_said", "shots_said"))
    swings = {"swing", "swings", "schwung", "schwunge", "sving", "svingar"}
    worded = bool(swings & {*fold(text).split()})
    clocked = re.fullmatch(r"(.*?)(?:\s+(?:swings?|shots?|schwünge|svingar|sving))?", text, re.I)
    said = clocked[1] if clocked else text
    if any(p.kind == "clock_words" for p in pieces) or (worded and ":" in text):
        return said if clock_position(said) else None
    for kind in ("feels", "swings"):
        if worded and only(pieces, kind, *_BESIDE):
            return next(piece.text for piece in pieces if piece.kind == kind)
    return None


def of_the_weather(text: str, line: int) -> list[Fact]:
    """What the parts of `Weather: sunny, 17 °C, wind 3 m/s from the left` state.

    Parameters
    ----------
    text : str
        What stands behind a key for the weather.
    line : int
        Line in the file.

    Returns
    -------
    list of Fact
        Each part by its unit; what has none that tells is left.
    """
    found: list[Fact] = []
    for part in re.split(r"[,;|/](?!\s?[hs]\b)", text):
        bare = part.strip()
        quantity = _quantity(bare, line)
        if quantity is not None:
            found.append(quantity)
        elif fold(bare) in words_of("said_calm"):
            found.append(Fact(SPEED, "0 m/s", (), line, loose=True))
        else:
            found += _wind(bare, line)
    return found


def _wind(text: str, line: int) -> list[Fact]:
    words = re.sub(r"(?i)^(?:wind|vent|viento|vento|vind)\s+", "", text)
    parts = parts_of_wind(words)
    if parts is None:
        return []
    speed, origin = parts
    told = [Fact(SPEED, speed, (), line, loose=True)]
    if origin is not None:
        told.append(Fact(FROM, origin, ("deg",), line, origin.isdigit(), loose=True))
    return told


def _quantity(text: str, line: int) -> Fact | None:
    found = _QUANTITY.match(text)
    symbols = unit_symbols(found[2].strip(". ")) if found else ()
    dimensions = {UNITS[symbol].dimension for symbol in symbols}
    column = _BY_DIMENSION.get(dimensions.pop()) if len(dimensions) == 1 else None
    return Fact(column, text, (), line, loose=True) if column else None


def club_alone(text: str) -> str | None:
    """The club that a line names with nothing else but words for shots, `7 iron shots`."""
    bare = text.strip(" -–—=#*:.()[]\t")
    words = bare.split()
    for start in range(min(3, len(words))):
        for end in range(len(words), start, -1):
            rest = " ".join(words[:start] + words[end:])
            pieces = pieces_of(rest, ("shots_said", "visits", "fillers_said"))
            known = all(piece.kind is not None for piece in pieces)
            if known and club_of(" ".join(words[start:end])).known:
                return " ".join(words[start:end])
    return None
