"""Bearings by the compass in words: where the target lies, and whether a wind is told so."""

from __future__ import annotations

import re

from rangeledger.pipelines.reader.normalising.phrases import pieces_of
from rangeledger.pipelines.reader.recognising.words.heading_tags import words_in
from rangeledger.schemas.words import words_of

TARGET_BEARING = "target_bearing_deg"
_NOT_OF_THE_TARGET = frozenset(
    {"wind", "ball", "launch", "side", "path", "face", "club", "landing"}
)
_DEGREES = re.compile(r"(?<![0-9.,])([0-9]{1,3})(?:[.,][0-9]+)?\s*(?:°|º|deg\b|grad\b|$)")
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
