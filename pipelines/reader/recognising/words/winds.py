"""Wind in the words of a line or a cell: `8 mph headwind`, `calm`, `from the left`."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from rangeledger.pipelines.reader.normalising.phrases import NUMBER, any_of, pieces_of
from rangeledger.pipelines.reader.recognising.words.compass_words import ANGLE
from rangeledger.pipelines.reader.recognising.words.heading import read_heading
from rangeledger.pipelines.reader.recognising.words.heading_tags import words_in
from rangeledger.schemas.headings import unit_symbols
from rangeledger.schemas.units import UNITS
from rangeledger.schemas.words import fold, words_of

SPEED, FROM = "wind_speed_mps", "wind_from_deg"
FROM_SIDE = {"left": "270", "right": "90"}
_CALM = "0 m/s"
_EXPLANATION = re.compile(r"\(([^()]*=[^()]*)\)")
_HOUR_IN_WORDS = re.compile(r"(?<![0-9.,:])[0-9]{1,2}(?![0-9.,:])")
_NUMBER = re.compile(r"(?<![\d.,:])(?<!\d[-–])(\d+(?:[.,]\d+)?)\s*")
_UNIT_WORD = re.compile(r"[^\s\d,;:()]+(?:\s?/\s?[^\W\d]+)?")
_ONE_SPEED = 0.1  # `8 mph (3.6 m/s)` is one, as far as its decimals tell
_MOST_UNIT_WORDS = 3  # `miles per hour`
_WORDS = (
    "wind_from",
    "wind_quarters",
    "compass",
    "wind_words",
    "gusts",
    "roughly",
    "clocks",
    "weather",
    "fillers_said",
)
_WIND_TAGS = frozenset({"wind", "head_wind", "tail_wind"})
# Between straight along and straight across, as `into and off the left`: common practice.
_DIAGONALS = {
    frozenset({"0", "90"}): "45", frozenset({"90", "180"}): "135",
    frozenset({"180", "270"}): "225", frozenset({"0", "270"}): "315",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class StatedWind:
    """A wind as one text states it.

    Parameters
    ----------
    speed : str
        Number and unit.
    origin : str or None
        Degrees clockwise from the target, else the words for it as they stand; None where nothing
        is said of it.
    whole : bool
        Whether every word was understood.
    """

    speed: str
    origin: str | None
    whole: bool


def parts_of_wind(text: str) -> tuple[str, str | None] | None:
    """Speed and direction of a wind that one text states together.

    Parameters
    ----------
    text : str
        `8 mph headwind`, `3 m/s from the left`, `calm`.

    Returns
    -------
    tuple[str, str or None] or None
        The speed with its unit, and where the wind comes from in degrees, clockwise from the
        target, else the words themselves where they don't speak of the target line, as a compass
        point doesn't. None as a whole where the text holds nothing beside a speed.
    """
    wind = wind_in(text)
    calm = wind is not None and wind.speed == _CALM
    return None if wind is None or (wind.origin is None and not calm) else (wind.speed, wind.origin)


@lru_cache(maxsize=2048)
def wind_in(text: str) -> StatedWind | None:
    """The wind that a text states, its gusts left aside.

    Parameters
    ----------
    text : str
        `Wind 4 m/s straight into the face`, `8 mph from 3 o'clock, gusts 12 mph`.

    Returns
    -------
    StatedWind or None
        None where no speed is told, or more than one.
    """
    if words_of("wind_from").get(fold(text)) == "calm":
        return StatedWind(_CALM, None, whole=True)
    speeds = _speeds(text)
    steady = [span for span in speeds if not _of_gusts(text, span, speeds)]
    parts = _of_parts(text) if len(steady) == 2 else None
    if parts is not None or not steady or not _are_one(text, steady):
        return parts
    (start, end) = steady[0]
    rest = text
    for first, last in reversed(speeds):
        first = _with_its_preposition(text, first)
        rest = f"{rest[:first]} {rest[last:]}"
    origin, whole = _origin_in(rest)
    return StatedWind(text[start:end].strip(), origin, whole)


def wind_of_parts(text: str) -> StatedWind | None:
    """The wind of a line that tells two, one along the line of the target and one across it.

    Parameters
    ----------
    text : str
        `Headwind 4 m/s, crosswind from the left 2 m/s`.

    Returns
    -------
    StatedWind or None
        None for any other text.
    """
    return _of_parts(text) if len(_steady(text)) == 2 else None


def tells_several(text: str) -> bool:
    """Whether a line tells winds of different speeds, and not one in two units."""
    steady = _steady(text)
    return len(steady) > 1 and not _are_one(text, steady)


def _are_one(text: str, spans: Sequence[tuple[int, int]]) -> bool:
    """Whether speeds are one in several units."""
    speeds = [_metres_per_second(text[start:end].strip()) for start, end in spans]
    return max(speeds) - min(speeds) <= _ONE_SPEED * max(speeds)


def _steady(text: str) -> list[tuple[int, int]]:
    """Where speeds that are no gusts stand in a line that speaks of wind."""
    speeds = _speeds(text) if speaks_of_wind(text) else []
    return [span for span in speeds if not _of_gusts(text, span, speeds)]


def _of_parts(text: str) -> StatedWind | None:
    """`Headwind 4 m/s, 2 m/s from the left`: a part along the line and one across it."""
    parts = re.split(rf",\s|;|\b{any_of('between', 'and')}\b", text)
    told = [wind for part in parts if part != text and (wind := wind_in(part)) is not None]
    if len(told) != 2 or not all(wind.whole and str(wind.origin).isdigit() for wind in told):
        return None
    blown = [_metres_per_second(wind.speed) for wind in told]
    origins = [math.radians(float(wind.origin or 0)) for wind in told]
    if abs(math.sin(origins[0] - origins[1])) < 1.0 - 1e-9:  # not at right angles
        return None
    along, across = (
        sum(v * trig(o) for v, o in zip(blown, origins, strict=True))
        for trig in (math.cos, math.sin)
    )
    origin = math.degrees(math.atan2(across, along)) % 360.0
    return StatedWind(f"{math.hypot(along, across):.9g} m/s", f"{origin:.9f}", whole=True)


def _metres_per_second(speed: str) -> float:
    number, unit = re.match(r"([0-9.,]+)\s*(.*)$", speed).groups()  # type: ignore[union-attr]
    symbol = next(s for s in unit_symbols(unit) if UNITS[s].dimension == "speed")
    return float(number.replace(",", ".")) * UNITS[symbol].factor


def _speeds(text: str) -> list[tuple[int, int]]:
    """Where speeds with their units stand in a text."""
    found: list[tuple[int, int]] = []
    for number in _NUMBER.finditer(text):
        words = list(_UNIT_WORD.finditer(text, number.end()))[:_MOST_UNIT_WORDS]
        for last in range(len(words) if words and words[0].start() == number.end() else 0):
            unit = text[number.end() : words[last].end()].strip().rstrip(".")
            if any(UNITS[s].dimension == "speed" for s in unit_symbols(unit)):
                found.append((number.start(), words[last].end()))
                break
    return found


def _with_its_preposition(text: str, start: int) -> int:
    """Where `with 4 m/s` begins: before a speed that word says nothing of a wind from behind."""
    words = text[:start].split()
    if words and fold(words[-1]) in words_of("by_person"):
        return text.rindex(words[-1], 0, start)
    return start


def _of_gusts(text: str, span: tuple[int, int], spans: Sequence[tuple[int, int]]) -> bool:
    """Whether a speed is that of gusts: their word stands between it and the speed before it."""
    before = max((end for _, end in spans if end <= span[0]), default=0)
    return any(p.kind == "gusts" for p in pieces_of(text[before : span[0]], ("gusts",)))


def _origin_in(text: str) -> tuple[str | None, bool]:
    """Where a wind comes from by some words, and whether each of them was understood."""
    text = _without_explanation(text)
    angles = ANGLE.findall(text)
    pieces = pieces_of(ANGLE.sub(" ", text) if len(angles) == 1 else text, _WORDS)
    left = [p for p in pieces if p.kind is None and not _WIND_TAGS & read_heading(p.text).tags]
    points = {p.meaning for p in pieces if p.kind == "compass"}
    ends = {p.meaning for p in pieces if p.kind == "wind_quarters"}
    origins = {p.meaning for p in pieces if p.kind == "wind_from"} - {"calm"} | ends
    if ends and not (len(origins) == 2 and origins & {*FROM_SIDE.values()}):
        return text.strip(), False  # half from behind, and nothing says on which side
    by_compass = bool(points)
    hour = _by_hour(text)
    blown_to = _point_blown_to(text) if len(points) == 1 and not origins else None
    if blown_to is not None:
        return blown_to, all("towards" in read_heading(piece.text).tags for piece in left)
    if hour is not None and not origins:
        return hour, not left
    if origins and not (left or by_compass):
        degrees = next(iter(origins)) if len(origins) == 1 else _DIAGONALS.get(frozenset(origins))
        return degrees or text.strip(), degrees is not None
    numbers = [piece for piece in pieces if piece.kind == NUMBER]
    if len(numbers) == 1 and not (left or angles or origins) and int(numbers[0].text) <= 360:
        return " ".join(text.split()), True  # `direction 90`, as a line that counts them may say
    left += numbers
    spoken = left or origins or by_compass or angles
    return (" ".join(text.split()).strip(" ,;()") if spoken else None), not left


def _point_blown_to(text: str) -> str | None:
    """`Blowing towards the south` -> `000° compass`: where such a wind comes from."""
    if "towards" not in read_heading(text).tags:
        return None
    point = next(p.meaning for p in pieces_of(text, ("compass",)) if p.kind == "compass")
    return f"{(float(point) + 180.0) % 360.0:03.0f}° compass"


def _without_explanation(text: str) -> str:
    """`From 3 o'clock (12 o'clock = in the face)` without brackets that count as we do."""
    found = _EXPLANATION.search(text)
    pairs = [part.split("=", 1) for part in re.split(r"[,;]", found[1])] if found else []
    if found is None or not all(len(pair) == 2 for pair in pairs):
        return text
    hours = [(_by_hour(hour), origin_of(words, from_side=True)) for hour, words in pairs]
    agreed = all(hour is not None and hour == origin for hour, origin in hours)
    return text[: found.start()] + text[found.end() :] if agreed else text


def origin_of(text: str, *, from_side: bool) -> str | None:
    """Where a wind comes from by what a key's value says: degrees, else words of the compass.

    Parameters
    ----------
    text : str
        `from the left`, `NW`, `left`.
    from_side : bool
        Whether the key asks where it comes from, so that a mere `left` says it.

    Returns
    -------
    str or None
        None where the words say neither.
    """
    origin, whole = _origin_in(text)
    if origin is not None and whole:
        return origin
    return FROM_SIDE.get(side_in(text)) if from_side else None


def _by_hour(words: str) -> str | None:
    """`from 3 o'clock` -> 90: the target is at 12."""
    hours = _HOUR_IN_WORDS.findall(words)
    clock_named = bool({*words_in(words)} & words_of("clocks").keys())
    if not clock_named or len(hours) != 1 or not 1 <= int(hours[0]) <= 12:
        return None
    return str(30 * (int(hours[0]) % 12))


def speaks_of_wind(text: str) -> bool:
    """Whether words of a text are those for a wind: `Wind`, `vent de face`, `Gegenwind`."""
    phrases = [*fold(text).split(), *(piece.text for piece in pieces_of(text, ("wind_from",)))]
    return any(_WIND_TAGS & read_heading(word).tags for word in phrases)


def side_in(cell: str) -> str:
    """The side that a cell names, `left` or `right`, else nothing."""
    return words_of("sides").get(fold(cell), "")
