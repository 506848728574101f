"""Winds that a whole line tells, and where they were measured: in the hand, by a station."""

from __future__ import annotations

import re
from collections.abc import Sequence

from rangeledger.pipelines.reader.normalising.phrases import any_of, only, pieces_of
from rangeledger.pipelines.reader.recognising.words.compass_words import TARGET_BEARING, aim_in
from rangeledger.pipelines.reader.recognising.words.facts import (
    Fact,
    counts_its_own,
    facts_of_wind,
    pair_in,
)
from rangeledger.pipelines.reader.recognising.words.wind_counts import (
    WIND_COUNT,
    count_in_line,
    counted_wind,
)
from rangeledger.pipelines.reader.recognising.words.winds import (
    StatedWind,
    speaks_of_wind,
    tells_several,
    wind_in,
    wind_of_parts,
)
from rangeledger.schemas.words import words_of

_CLAUSE_ENDS = re.compile(r"([,;]\s|[()])")
_COMMA = re.compile(r",\s+")


def height_in(text: str) -> tuple[str | None, str]:
    """Where a wind was measured, `player` or `weather`, and the text without the words for it."""
    clauses = _CLAUSE_ENDS.split(text)
    heights = [height_told(clause) for clause in clauses[::2]]
    told = {*heights} - {None}
    if len(told) == 1:  # clauses that say nothing else, `from the weather report (10 m mast)`
        kept = [k for k, height in enumerate(heights) if height is None]
        rest = "".join(clauses[2 * k - 1] * bool(k) + clauses[2 * k] for k in kept)
        return told.pop(), re.sub(r"\(\s*\)", " ", rest).strip(" ,;(")
    for phrase, height in sorted(words_of("wind_heights").items(), key=lambda item: -len(item[0])):
        words = r"[\W_]*".join(map(re.escape, phrase.split()))
        before = r"[\s,;(]*(?<![^\W_])(?:(?:at|in|auf|på|op|à|a)\s+)?"
        high = any_of("height_words", "high")
        pattern = rf"{before}{words}(?:\s+{high})?(?![^\W_]|/)\s*\)?"
        if re.search(pattern, text, re.I):
            return height, re.sub(pattern, " ", text, flags=re.I).strip(" ,;")
    return None, text


def height_told(clause: str) -> str | None:
    """The height of a clause that says nothing else than where a wind was measured."""
    pieces = pieces_of(clause, ("wind_heights", "height_words", "fillers_said"))
    return only(pieces, "wind_heights", "height_words", "fillers_said")


def of_the_wind(value: str) -> str:
    """What a value says of a wind, without the words for where it was measured.

    A later clause with such words, `read with the anemometer in the hand`, speaks of that alone.
    """
    first, *others = _COMMA.split(value)
    others = [c for c in others if height_in(c)[0] is None or wind_in(c) is not None]
    return height_in(", ".join([first, *others]))[1]


def told_of_wind(cells: Sequence[str], line: int) -> list[Fact] | None:
    """A wind that needs the whole line, or how winds are counted; None where it tells neither."""
    text = ", ".join(cells)
    wind = counted_wind(text) or wind_of_parts(text) or _plain_wind(text)
    if wind is not None:
        height, _ = height_in(text)
        told = [Fact("wind_height", height, (), line)] if height else []
        return [*facts_of_wind(wind, line), *told]
    count = count_in_line(text)
    if count is None or counts_its_own(cells):
        return None
    return [Fact(WIND_COUNT, count, (), line)]


def _plain_wind(text: str) -> StatedWind | None:
    """`Wind from north, 4 m/s`, whose comma parts no key from its value."""
    plain = height_in(text)[1]
    pair = pair_in(plain)
    if pair is not None and speaks_of_wind(pair[0]):
        plain, pair = " ".join(pair), None
    if pair is not None or not speaks_of_wind(plain):
        return None
    wind = None if tells_several(plain) else wind_in(plain)
    return wind if wind is not None and wind.whole and wind.origin is not None else None


def without_aim(cells: Sequence[str], line: int) -> tuple[Sequence[str], list[Fact]]:
    """Cells without the words that say where shots are hit to, and the fact that they state."""
    pair = [": ".join(cells)] if len(cells) == 2 and aim_in(": ".join(cells)) else []
    for place, cell in enumerate(pair or cells):
        aim = aim_in(cell)
        if aim is not None:
            rest = [aim[1]] if aim[1] else []
            left = [*cells[:place], *rest, *cells[place + 1 :]] if not pair else rest
            return left, [Fact(TARGET_BEARING, aim[0], (), line)]
    return cells, []
