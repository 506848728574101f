"""Bearings by the compass in words: where the target lies, and whether a wind is told so."""

from __future__ import annotations

import re

from rangeledger.pipelines.reader.normalising.phrases import any_of, pieces_of
from rangeledger.pipelines.reader.recognising.words.heading_tags import words_in
from rangeledger.schemas.words import fold, words_of

TARGET_BEARING = "target_bearing_deg"
_NOT_OF_THE_TARGET = frozenset(
    {"wind", "ball", "launch", "side", "path", "face", "club", "landing"}
)
_DEGREES = re.compile(r"(?<![0-9.,])([0-9]{1,3})(?:[.,][0-9]+)?\s*(?:°|º|deg\b|grad\b|$)")
_CLAUSE_ENDS = re.compile(r"([;,()|]|[.]\s|\s[-–—]\s)")
ANGLE = re.compile(r"(?<![\d.,])([0-9]{1,3})\s*(?:°|º|deg(?:rees)?\b|gra[a-z]+\b)", re.I)  # `070°`
BARE_ANGLE = re.compile(r"(?<![\d.,])([0-9]{1,3})(?![\d.,])")
_CAPITALS = re.compile(r"\b([A-ZØÖ]{1,3})\W*$")
_THREE_DIGITS = re.compile(r"(?<![0-9.,])0[0-9]{2}\s*(?:°|º|deg\b|$)")


def is_target_bearing(text: str, tags: frozenset[str]) -> bool:
    """Whether a heading or a key speaks of where the target lies by the compass.

    Parameters
    ----------
    text : str
        `Target line bearing`, `Bearing of the target (° true)`.
    tags : frozenset[str]
        What its words stand for.

    Returns
    -------
    bool
        True only with a word of the compass: a mere direction is that of a ball.
    """
    words = {*words_in(text)}
    if "towards" in tags and words & words_of("playing").keys():  # `Hitting towards: N`
        return True
    of_target = "target" in tags and not tags & _NOT_OF_THE_TARGET
    return of_target and bool(words_of("bearings").keys() & words)


def degrees_in(text: str) -> float | None:
    """The bearing that a text states, `040°`, `310 deg`, `NW`; None where there is none."""
    found = _DEGREES.search(text.strip())
    if found:
        return float(found[1]) if float(found[1]) <= 360.0 else None
    points = _points_in(text)
    return points[0] if len(points) == 1 else None


def _points_in(text: str) -> list[float]:
    """Points of the compass that a text names [deg], `N` and `Nordwest`."""
    return [float(p.meaning) for p in pieces_of(text, ("compass",)) if p.kind == "compass"]


def is_of_the_compass(text: str) -> bool:
    """Whether a direction can't be one from the target line: `070°`, `300° true`, `NW`."""
    words = {*words_in(text)} & words_of("compass_words").keys()
    return bool(_THREE_DIGITS.search(text.strip()) or words or _points_in(text))


def aim_in(text: str) -> tuple[str, str] | None:
    """Where shots are hit to by the compass, of a line that says it in words of its own.

    Parameters
    ----------
    text : str
        `Wind 3 m/s from the east; we hit towards north`, `The range faces 040°`.

    Returns
    -------
    (str, str) or None
        The bearing as it stands there, and the line without the clause that states it. None where
        no clause says it with words that are all known, or two do.
    """
    clauses = _CLAUSE_ENDS.split(_parted_where_an_aim_begins(text))
    told = [(place, aim) for place, clause in enumerate(clauses) if (aim := _aim_of(clause))]
    if len(told) != 1:
        return None
    place, aim = told[0]
    rest = "".join([*clauses[: max(0, place - 1)], " ", *clauses[place + 1 :]])
    return aim, rest.strip(" ;,()|")


def _parted_where_an_aim_begins(text: str) -> str:
    """`Wind from east while we hit north` with a mark before the second clause."""
    joined = rf"\s+(?:{any_of('between', 'and')}|{any_of('aims', 'while')})\s+(?=\S)"
    for found in [*re.finditer(joined, text, re.I)]:
        if _aim_of(text[found.end() :]):
            return f"{text[: found.start()]}; {text[found.end() :]}"
    return text


def _aim_of(clause: str) -> str | None:
    """The bearing of a clause that says where shots are hit to, and nothing else."""
    if "=" in clause:  # `0° = de face` explains how a wind is counted
        return None
    angle = ANGLE.search(clause)
    point = _CAPITALS.search(clause)
    words = clause[: angle.start()] + clause[angle.end() :] if angle else clause
    if point and fold(point[1]) in words_of("compass") and not angle:
        words = words[: point.start()]
    else:
        point = None
    pieces = pieces_of(words, ("aims", "compass", "compass_words", "bearings"))
    points = [piece.text for piece in pieces if piece.kind == "compass"]
    told = [found for found in (angle and angle[0], point and point[1], *points) if found]
    aimed = any(piece.kind == "aims" and piece.meaning == "aim" for piece in pieces)
    known = all(piece.kind is not None for piece in pieces)
    return told[0] if aimed and known and len(told) == 1 else None
