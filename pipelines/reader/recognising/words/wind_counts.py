"""How an export counts the directions of a wind: what 0 means, and which way the angle turns."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TypeVar

import polars as pl
from rangeledger.pipelines.reader.normalising.phrases import pieces_of
from rangeledger.pipelines.reader.recognising.words.compass_words import ANGLE, BARE_ANGLE
from rangeledger.pipelines.reader.recognising.words.heading import Heading, read_heading
from rangeledger.pipelines.reader.recognising.words.winds import (
    StatedWind,
    origin_of,
    speaks_of_wind,
    tells_several,
    wind_in,
)

Angles = TypeVar("Angles", float, pl.Series)
WIND_COUNT = "wind_count"  # no column, but it says how those of a wind are to be read
UNCLEAR = "unclear"
_FEWEST_PAIRS = 3
_EIGHTH = 45  # degrees of which the angles that people explain are multiples

_PAIR = re.compile(
    r"(?<![\d.,])([0-9]{1,3})\s*(?:°|º|deg(?:rees)?\b)?\s*([=:→]?)\s*([^\d,;=:→()]+)"
)
_IN_BRACKETS = re.compile(r"\(([^()]*=[^()]*)\)")
_UNIT_AT_THE_END = re.compile(r"[\s_,(]+(?:deg|degrees|°)[\s_,]*$")
_TURNS = {"clockwise": 1, "anticlockwise": -1}


@dataclass(frozen=True, slots=True)
class WindCount:
    """Where a wind of a stated angle comes from.

    Parameters
    ----------
    zero : int
        Origin of a wind of 0 [deg], clockwise from the target.
    turn : int
        1 where angles grow clockwise as seen from above, else -1.
    """

    zero: int
    turn: int

    def __str__(self) -> str:
        way = next(way for way, turn in _TURNS.items() if turn == self.turn)
        return f"0 from {self.zero}°, {way}"

    @classmethod
    def of(cls, text: str) -> WindCount | None:
        """What `str` made a text of; None of one that says that the count is not clear."""
        if text == UNCLEAR:
            return None
        zero, way = text.removeprefix("0 from ").split("°, ")
        return cls(int(zero), _TURNS[way])

    def origin(self, angle: Angles) -> Angles:
        """Where winds of stated angles [deg] come from, clockwise from the target [deg]."""
        return (angle * self.turn + self.zero) % 360.0


def count_in_line(text: str) -> str | None:
    """How the directions of a wind are counted, by a line beside the table.

    Parameters
    ----------
    text : str
        `Wind directions count clockwise from the target and 0 is in the face`.

    Returns
    -------
    str or None
        As text of a `WindCount`; `UNCLEAR` where the line speaks of it and is not understood; None
        where it does not, as one that states a wind.
    """
    if wind_in(text) is not None or tells_several(text):
        return None
    pairs, left = _pairs_in(text)
    # `0 = in the face, 90 = from the right, 180 = helping` can count nothing else.
    if not speaks_of_wind(text) and (left or len(pairs) < _FEWEST_PAIRS or _are_hours(pairs)):
        return None
    turn = _turn_in(text)
    towards = "towards" in _tags_of(text)
    if not (pairs or turn or towards or left):
        return None
    if towards and not pairs and "target" not in _tags_of(text):
        return UNCLEAR
    count = None if left else _count_of(pairs, turn, towards=towards)
    return UNCLEAR if count is None else str(count)


def _are_hours(pairs: list[tuple[int, int]]) -> bool:
    """Whether numbers likened to origins are those of a clock: `12 = in the face, 3 = right`."""
    return any(angle and angle % _EIGHTH for angle, _ in pairs)


def counted_wind(text: str) -> StatedWind | None:
    """A wind stated by an angle, with brackets that say how it is counted.

    Parameters
    ----------
    text : str
        `Wind 10 km/h from 150° (0° = from behind, 90° = from the left)`.

    Returns
    -------
    StatedWind or None
        Told clockwise from the target; None where the text does not state it so.
    """
    found = _IN_BRACKETS.search(text)
    if found is None or not speaks_of_wind(text):
        return None
    pairs, left = _pairs_in(found[1], said=False)
    count = None if left or not pairs else _count_of(pairs, _turn_in(found[1]), towards=False)
    rest = text[: found.start()] + " " + text[found.end() :]
    angles = ANGLE.findall(rest)
    speed = wind_in(ANGLE.sub(" ", rest))
    if speed is not None and not angles and not _are_hours(pairs):
        angles = BARE_ANGLE.findall(rest.replace(speed.speed, " "))
    if count is None or len(angles) != 1 or speed is None:
        return None
    return StatedWind(speed.speed, f"{count.origin(float(angles[0])):g}", whole=True)


def counted(heading: Heading) -> tuple[Heading, WindCount | None]:
    """A heading of a wind's direction without what explains how it is counted, and that.

    Parameters
    ----------
    heading : Heading
        `Wind from (deg; 0 in the face, 90 from the right)`, `Wind angle (0 = tail wind)`.

    Returns
    -------
    (Heading, WindCount or None)
        The heading itself and None where it explains nothing, or in words that are not known.
    """
    found = re.match(r"^(.*?)\s*\(([^()]*[0-9][^()]*)\)\s*$", heading.text)
    if found is None:  # `wind_from_deg_0_is_headwind`
        found = re.match(r"^(.*?[^\W\d])[\s,;:]+(0[\s=°].*)$", heading.text.replace("_", " "))
    if found is None or "wind" not in heading.tags or not heading.unknown:
        return heading, None
    pairs, left = _pairs_in(found[2], said=False)
    count = None if left or not pairs else _count_of(pairs, _turn_in(found[2]), towards=False)
    if count is None:
        return heading, None
    text = f"{_UNIT_AT_THE_END.sub('', found[1])} (deg)"
    return replace(read_heading("wind from (deg)"), text=text), count


def is_direction(heading: Heading) -> bool:
    """Whether a heading asks for a wind's direction and does not say how it is counted."""
    return "wind" in heading.tags and bool(heading.tags & {"direction", "angle", "towards"})


def _pairs_in(text: str, *, said: bool = True) -> tuple[list[tuple[int, int]], bool]:
    """Angles with the origins that words give them, and whether some words gave none.

    Parameters
    ----------
    text : str
        What explains.
    said : bool
        Whether an angle has to be likened to its words, `0 = headwind`, `0 is in the face`: in a
        line `Wind 90 from the right` states a wind.

    Returns
    -------
    (list of (int, int), bool)
    """
    pairs, left = [], False
    for angle, likened, words in _PAIR.findall(text):
        origin, copula = _origin(words)
        if origin is None:
            left = left or bool(likened)
        elif likened or copula or not said:
            pairs.append((int(angle) % 360, int(origin)))
    return pairs, left


def _origin(words: str) -> tuple[str | None, bool]:
    """Degrees of words for an origin, and whether a verb likens something to it."""
    text = words.strip()
    first, _, rest = text.partition(" ")
    for phrase, copula in ((rest, True), (text, False)):
        for end in (phrase, re.sub(r"\s+\S+$", "", phrase)):  # `0 is ahead and 90 …`
            origin = origin_of(end, from_side=True) if end else None
            if origin is not None and origin.isdigit():
                known = any(p.kind == "wind_from" for p in pieces_of(first, ("wind_from",)))
                return origin, copula and not known
    return None, False


def _count_of(pairs: list[tuple[int, int]], turn: int, *, towards: bool) -> WindCount | None:
    """The one way of counting that agrees with all that is said."""
    if not pairs:
        return WindCount(180 if towards else 0, turn or 1)
    angle, origin = pairs[0]
    for way in (turn,) if turn else (1, -1):
        count = WindCount((origin - way * angle) % 360, way)
        if all((count.zero + way * a) % 360 == o for a, o in pairs):
            return count
    return None


def _turn_in(text: str) -> int:
    """1 clockwise, -1 anticlockwise, 0 where nothing or both is said."""
    found = {p.meaning for p in pieces_of(text, ("turning",)) if p.kind == "turning"}
    return _TURNS[found.pop()] if len(found) == 1 else 0


def _tags_of(text: str) -> frozenset[str]:
    return read_heading(text).tags
