"""Which side a heading or a note counts as positive: `left positive`, `L+`, `+ = rechts`."""

from __future__ import annotations

import re
from functools import cache, lru_cache

from rangeledger.schemas.headings import heading_words, plain
from rangeledger.schemas.words import words_of

OPEN, CLOSED = "open", "closed"  # right and left for a right-handed player
OPPOSITE = {
    "left": "right", "right": "left", "up": "down", "down": "up", OPEN: CLOSED, CLOSED: OPEN,
}  # fmt: skip
_TOKEN = re.compile(r"[^\W\d_]+|\+|-")
# A hyphen inside a compound or between words is no minus: `in-out`, `Ball-v`.
_HYPHEN = re.compile(r"(?<=[^\W\d_]{2})-(?=[^\W\d_]{2}|[^\W\d_]\b)|(?<=\s)-(?=\s+[^\W\d_]{3})")
_DASHES = str.maketrans({"−": "-", "–": "-", "—": "-", "±": " ", "⁺": "+", "⁻": "-"})
_SIDES = frozenset(OPPOSITE) - {OPEN, CLOSED}
_POLES = {"positive": 1, "negative": -1}


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
    return _positive(*_sides_and_poles(folded))


def _positive(sides: list[tuple[int, str]], poles: list[tuple[int, int]]) -> str | None:
    if not sides or not poles:
        return None
    if len(sides) == len(poles):
        pairs = [(side, pole) for (_, side), (_, pole) in zip(sides, poles, strict=True)]
    else:
        pairs = _nearest(sides, poles)
    said = {side if pole > 0 else OPPOSITE[side] for side, pole in pairs}
    return said.pop() if len(said) == 1 else None


@cache
def _hand_words() -> re.Pattern[str]:
    """Words that say a side only together with the player's hand: `in-to-out`, `open`, `fade`."""
    words = sorted(words_of("hand_sides"), key=len, reverse=True)
    written = "|".join(re.escape(word).replace(r"\ ", r"[\s>-]+") for word in words)
    return re.compile(rf"(?<![^\W\d_])(?:{written})(?![^\W\d_])")


@lru_cache(maxsize=4096)
def side_by_hand(text: str) -> tuple[str, str] | None:
    """Which of open and closed, or in-out and out-in, a heading counts as positive.

    Parameters
    ----------
    text : str
        A heading such as `Club path (in-to-out +)`.

    Returns
    -------
    tuple[str, str] or None
        `open` or `closed`, and the heading without the words that say so; None if it says
        neither, or names left and right as well.
    """
    folded = plain(text.translate(_DASHES))
    if not _hand_words().search(folded):
        return None
    sides: list[tuple[int, str]] = []
    meanings = words_of("hand_sides")

    def marked(found: re.Match[str]) -> str:
        word = " ".join(re.findall(r"[^\W_]+", found[0]))
        return " openside " if meanings[word] == "right" else " closedside "

    written = _HYPHEN.sub(" ", _hand_words().sub(marked, folded))
    for place, token in enumerate(_TOKEN.findall(written)):
        if token in ("openside", "closedside"):
            sides.append((place, token.removesuffix("side")))
    plain_sides, poles = _sides_and_poles(written)
    said = None if plain_sides else _positive(sides, poles)
    if said is None:
        return None
    rest = [t for t in re.split(r"(\W+)", written) if t not in ("openside", "closedside")]
    signs = heading_words().signs
    return said, "".join(t for t in rest if not signs.get(t)).replace("+", " ").replace("=", " ")


def is_sign_word(token: str) -> bool:
    """Whether a folded word is one of the words that say a side or a sign."""
    return token in heading_words().signs
