"""Where a wind was measured, in the words beside it: in the hand, by a weather station."""

from __future__ import annotations

import re

from rangeledger.pipelines.reader.recognising.words.winds import wind_in
from rangeledger.schemas.words import words_of

_COMMA = re.compile(r",\s+")


def height_in(text: str) -> tuple[str | None, str]:
    """Where a wind was measured, `player` or `weather`, and the text without the words for it."""
    for phrase, height in sorted(words_of("wind_heights").items(), key=lambda item: -len(item[0])):
        words = r"[\W_]*".join(map(re.escape, phrase.split()))
        pattern = rf"[\s,;(]*(?<![^\W_])(?:(?:at|in|auf|på|op|à|a)\s+)?{words}(?![^\W_]|/)\s*\)?"
        if re.search(pattern, text, re.I):
            return height, re.sub(pattern, " ", text, flags=re.I).strip(" ,;")
    return None, text


def of_the_wind(value: str) -> str:
    """What a value says of a wind, without the words for where it was measured.

    A later clause with such words, `read with the anemometer in the hand`, speaks of that alone.
    """
    first, *others = _COMMA.split(value)
    others = [c for c in others if height_in(c)[0] is None or wind_in(c) is not None]
    return height_in(", ".join([first, *others]))[1]
