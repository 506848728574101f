"""Words of sentences on signs as patterns: hands, right angles, comparisons with zero."""

from __future__ import annotations

import re
from functools import cache

from rangeledger.pipelines.reader.normalising.phrases import any_of
from rangeledger.schemas.headings import plain
from rangeledger.schemas.words import words_of

_SHORTEST_HAND = 6


@cache
def hand_words() -> re.Pattern[str]:
    """Words that say a side only together with the player's hand: `in-to-out`, `open`, `fade`."""
    words = sorted(words_of("hand_sides"), key=len, reverse=True)
    written = "|".join(re.escape(word).replace(r"\ ", r"[\s>-]+") for word in words)
    return re.compile(rf"(?<![^\W\d_])(?:{written})(?![^\W\d_])")


@cache
def handedness() -> re.Pattern[str]:
    """`Right-handed` and its like, which name a player's hand and no side."""
    words = [word for word in words_of("hands") if len(word) >= _SHORTEST_HAND]
    written = "|".join(re.escape(word).replace(r"\ ", r"[\s-]+") for word in words if " " in word)
    either = "|".join({re.escape(plain(w)) for w in words_of("sides")})
    whole = "|".join(re.escape(word) for word in words if " " not in word)
    sides = "|".join({re.escape(plain(w)) for w in words_of("sides") if len(w) >= _SHORTEST_HAND})
    # `left- and right-handers`: the hand that both words speak of stands once.
    shared = rf"(?:(?:{either})\s?-\s?(?:[^\W\d_]{{1,4}}|[&/,])\s+)?"
    return re.compile(
        rf"\b{shared}(?:{written}|(?!(?:{sides})\b)(?:{whole}))(?:s|n|en|er)?\b(?!\s+side)"
    )


@cache
def right_angles() -> re.Pattern[str]:
    """Words for a right angle, which lies on no side."""
    written = "|".join(re.escape(word).replace(r"\ ", r"\s+") for word in words_of("right_angles"))
    return re.compile(rf"\b(?:{written})\b")


@cache
def unbracketed() -> re.Pattern[str]:
    """`Without brackets`, which is the plus of numbers whose minus is written with them."""
    return re.compile(rf"\b{any_of('unbracketed')}\b")


@cache
def turned_sides() -> tuple[tuple[re.Pattern[str], str], ...]:
    """Turns as sides: an angle that grows clockwise, as seen from above, grows to the right."""
    return tuple(
        (re.compile(rf"(?<![^\W_]){any_of('turning', turn)}(?![^\W_])"), f" {side} ")
        for turn, side in (("anticlockwise", "left"), ("clockwise", "right"))
    )


@cache
def compared_with_zero() -> tuple[tuple[re.Pattern[str], str], ...]:
    """`> 0`, `below zero`, which say a sign, with the word for it."""
    found = []
    for kind, mark, sign in (("above_zero", ">", "plus"), ("below_zero", "<", "minus")):
        phrases = [phrase.rpartition(" ") for phrase in words_of(kind)]
        written = "|".join(rf"{re.escape(before)}\s+(?:{zero}|0)" for before, _, zero in phrases)
        found.append((re.compile(rf"{mark}\s*0\b|\b(?:{written})\b"), f" {sign} "))
    return tuple(found)


@cache
def sign_begins() -> re.Pattern[str]:
    """Where a clause may begin with its sign."""
    return re.compile(rf"[;:(]|\.\s|,(?=\s*[+\-~])|\b{any_of('between', 'and')}\b(?=\s*[+\-~])")
