"""From where a text sees its sides: from behind the ball, or from the target looking back."""

from __future__ import annotations

import re
from functools import cache, lru_cache
from itertools import pairwise

from rangeledger.pipelines.reader.recognising.words.signs import OPPOSITE, positive_sides
from rangeledger.schemas.headings import heading_words, plain
from rangeledger.schemas.words import fold, words_of

FRONT = "front"
_REASON = re.compile(
    r"\b(?:because|since|weil|da die|car|parce|porque|perche|omdat|eftersom|fordi)\b"
)
_BRACKETS = re.compile(r"[()\[\];:,]")  # no view goes over one
_FARTHEST_OTHER_SIDE = 6  # words from a side to the one that it is said to be


def _states_other_side(text: str) -> bool:
    """Whether a text says that one side is the other: `L is right for the player`."""
    if positive_sides(text)[0]:  # `+ is right of the target, - is left of it`
        return False
    tokens = fold(text).split()
    signs = heading_words().signs
    sides = [(k, next(iter(s))) for k, t in enumerate(tokens) if len(s := signs.get(t, ())) == 1]
    for (first, one), (second, other) in pairwise(sides):
        if OPPOSITE.get(one) == other and 3 <= second - first <= _FARTHEST_OTHER_SIDE:
            return True
    return False


@cache
def _views() -> list[str]:
    """Words that say from where sides are seen, the longest first."""
    views = words_of("viewpoints")
    return sorted((w for w, meaning in views.items() if meaning != "seen"), key=len, reverse=True)


def without_view(text: str, *, seen: bool = False) -> str:
    """A text without the words for a viewpoint: who `faces the player` speaks of no club face.

    With `seen` it is also without the words that say that there is one.
    """
    words = _views()
    if seen:
        views = words_of("viewpoints")
        words = [*words, *(word for word, meaning in views.items() if meaning == "seen")]
    written = "|".join(re.escape(word).replace(r"\ ", r"\W+") for word in words)
    return re.sub(rf"\b(?:{written})\b", " ", plain(text))


@lru_cache(maxsize=4096)
def viewpoint(text: str) -> str | None:
    """From where a text says that sides are seen.

    Parameters
    ----------
    text : str
        A line or a heading.

    Returns
    -------
    str or None
        `behind` the ball or in `front`, from the target; `unknown` where it speaks of a view that
        no vocabulary has; None where it speaks of none. A reason (`because …`) is no view.
    """
    parts = _BRACKETS.split(_REASON.split(plain(text))[0])
    folded = f" {' | '.join(map(fold, parts))} "
    views = words_of("viewpoints")
    if not any(f" {word} " in folded for word, meaning in views.items() if meaning == "seen"):
        return None
    lines = words_of("target_lines")
    for line in sorted(lines, key=len, reverse=True):
        folded = folded.replace(f" {line} ", " ")
    named = set()
    for word in _views():  # `stands at the target` goes before the `at the target` in it
        if f" {word} " in folded:
            before = {part.split()[-1] for part in folded.split(f" {word} ")[:-1] if part.split()}
            # `Rechts vom Ziel` is a place, and nobody looks from there.
            of_a_side = bool(before) and before <= words_of("sides").keys()
            named |= set() if of_a_side else {views[word]}
            folded = folded.replace(f" {word} ", " | ")
    if len(named) != 1 and _states_other_side(text):
        return FRONT
    return named.pop() if len(named) == 1 else "unknown"
