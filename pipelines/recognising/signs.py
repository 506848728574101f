"""Which side a heading or a note counts as positive: `left positive`, `L+`, `+ = rechts`."""

from __future__ import annotations

import re
from functools import lru_cache

from schemas.headings import heading_words, plain

OPPOSITE = {"left": "right", "right": "left", "up": "down", "down": "up"}
_TOKEN = re.compile(r"[^\W\d_]+|\+|-")
# A hyphen inside a compound or between words is no minus: `in-out`, `Ball-v`.
_HYPHEN = re.compile(r"(?<=[^\W\d_]{2})-(?=[^\W\d_]{2}|[^\W\d_]\b)|(?<=\s)-(?=\s+[^\W\d_]{3})")
_DASHES = str.maketrans({"−": "-", "–": "-", "—": "-", "±": " ", "⁺": "+", "⁻": "-"})
_SIDES, _POLES = frozenset(OPPOSITE), {"positive": 1, "negative": -1}


def _sides_and_poles(text: str) -> tuple[list[tuple[int, str]], list[tuple[int, int]]]:
    signs = heading_words().signs
    sides: list[tuple[int, str]] = []
    poles: list[tuple[int, int]] = []
    for place, token in enumerate(_TOKEN.findall(text)):
        meanings = signs.get(token, frozenset())
        side = meanings & _SIDES
        pole = meanings & _POLES.keys()
        if len(side) == 1:
            sides.append((place, next(iter(side))))
        elif len(pole) == 1:
            poles.append((place, _POLES[next(iter(pole))]))
    return sides, poles


def _nearest(sides: list[tuple[int, str]], poles: list[tuple[int, int]]) -> list[tuple[str, int]]:
    """Pair a lone side or pole with its nearest neighbour of the other kind."""
    pairs = [(abs(p - s), side, pole) for s, side in sides for p, pole in poles]
    distance, side, pole = min(pairs)
    return [(side, pole)] if distance <= 3 else []


@lru_cache(maxsize=4096)
def positive_side(text: str) -> str | None:
    """Side that a text counts as positive.

    Parameters
    ----------
    text : str
        A heading, a part of one, or a note.

    Returns
    -------
    str or None
        `left`, `right`, `up` or `down`; None if the text doesn't say or contradicts itself.
    """
    folded = _HYPHEN.sub(" ", plain(text.translate(_DASHES)))
    sides, poles = _sides_and_poles(folded)
    if not sides or not poles:
        return None
    if len(sides) == len(poles):
        pairs = [(side, pole) for (_, side), (_, pole) in zip(sides, poles, strict=True)]
    else:
        pairs = _nearest(sides, poles)
    said = {side if pole > 0 else OPPOSITE[side] for side, pole in pairs}
    return said.pop() if len(said) == 1 else None


def is_sign_word(token: str) -> bool:
    """Whether a folded word is one of the words that say a side or a sign."""
    return token in heading_words().signs
