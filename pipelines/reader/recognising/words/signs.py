"""Which side a text counts as positive: `left positive`, `L+ / R−`, `minus means right`.

A convention is a sequence of signs and sides. Of the ways to pair them, the one that uses every
sign and every side counts; where none does, or two disagree, nothing is said.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

from rangeledger.pipelines.reader.recognising.words.sign_patterns import (
    compared_with_zero,
    hand_words,
    handedness,
    right_angles,
    sign_begins,
    turned_sides,
    unbracketed,
)
from rangeledger.schemas.headings import heading_words, plain
from rangeledger.schemas.vocabulary import LANGUAGES
from rangeledger.schemas.words import cell_words, words_of

OPEN, CLOSED = "open", "closed"  # right and left for a right-handed player
OPPOSITE = {
    "left": "right", "right": "left", "up": "down", "down": "up", OPEN: CLOSED, CLOSED: OPEN,
}  # fmt: skip
_AXES = (frozenset({"left", "right"}), frozenset({"up", "down"}), frozenset({OPEN, CLOSED}))
_POLES = {"positive": 1, "negative": -1}
_TOKEN = re.compile(r"[^\W\d_]+|[+\-~=:]|[,;/|()\[\]]|\d+")
_STRONG_MINUS = str.maketrans({"−": "~", "⁻": "~", "⁺": "+", "±": " ", "–": "-", "—": "-"})
_THAT_IS = re.compile(r"\b(?:i\.\s?e|d\.\s?h|e\.\s?g|z\.\s?B)\.", re.IGNORECASE)
# A hyphen inside a compound is no minus: `in-out`, `Ball-v`, `right-handed`.
_HYPHEN = re.compile(r"(?<=[^\W\d_]{2})-(?=[^\W\d_]{2}|[^\W\d_]\b)|(?<=\b[xyz])-(?=[^\W\d_]{3})")
# A dash that parts two stretches; behind a comma or a bracket it is a minus.
_LOOSE_DASH = re.compile(r"(?:(?<=[^\s,;:(\[]\s)|(?<=\s\s)|^)-(?=\s+[^\W\d_])")
# A sign that is explained.
_DEFINED = re.compile(r"(?:^|[\s(;,:])[+\-~]\s[^;+~]{0,40}?=")
# `min` is a minus in one language, and in `r/min` a minute.
_POWER = re.compile(r"\b[a-z]{1,4}\s?\^?[-~]\s?1\b")  # `m s-1`, `min^-1`: no minus of a side
_PER_MINUTE = re.compile(r"(?:/|\bper\b)\s*min\b")
_GLUED = re.compile(r"(?<=[a-z])(?=[A-Z])")
_WORD = re.compile(r"[^\W_]+")
_ADDED = re.compile(r"(?<=[^\W\d_]\s)\+(?=\s[^\W\d_])")  # `carry + roll`
# A sign is written beside its side; a word for one may stand at the other end of a sentence.
_FARTHEST_SYMBOL = 4
_LONGEST_LETTERS = 3  # `d`, `der`, `izq`: sides only beside a sign, for they are other words too
_LONGEST_BRIEF = 5


@dataclass(frozen=True, slots=True)
class _Sign:
    """A sign or a side at its place: `pole` 1 or -1, or `sides`, by axis."""

    place: int
    pole: int = 0
    side: str = ""
    symbol: bool = False
    loose: bool = False
    brief: bool = False  # `plus`, `minus`, which are said of other things too


def _marked(found: re.Match[str]) -> str:
    word = " ".join(re.findall(r"[^\W_]+", found[0]))
    return " openside " if words_of("hand_sides")[word] == "right" else " closedside "


def _written(text: str) -> str:
    text = _GLUED.sub(" ", _THAT_IS.sub(" ", text))
    marked = hand_words().sub(_marked, plain(text.translate(_STRONG_MINUS)))
    marked = _PER_MINUTE.sub(" ", _POWER.sub(" ", right_angles().sub(" ", marked)))
    marked = unbracketed().sub(" plus ", marked)
    for turn, side in turned_sides():
        marked = turn.sub(side, marked)
    for pattern, sign in compared_with_zero():
        marked = pattern.sub(sign, marked)
    return _HYPHEN.sub(" ", handedness().sub(" ", marked))


def _signs(text: str) -> list[_Sign]:
    """Signs and sides of a text in their order."""
    words, found = heading_words().signs, []
    loose = {m.start() for m in _LOOSE_DASH.finditer(text)}
    tokens = list(_TOKEN.finditer(text))
    for place, token in enumerate(tokens):
        written = token[0]
        if written in ("openside", "closedside"):
            found.append(_Sign(place, side=written.removesuffix("side")))
            continue
        meanings = words.get("-" if written == "~" else written, frozenset())
        poles, sides = meanings & _POLES.keys(), meanings - _POLES.keys()
        if len(poles) == 1:
            symbol = written in "+-~"
            found.append(
                _Sign(
                    place,
                    _POLES[next(iter(poles))],
                    "",
                    symbol,
                    token.start() in loose,
                    len(written) <= _LONGEST_BRIEF,
                )
            )
        elif not meanings and _stands_by_a_sign(tokens, place):
            found += [_Sign(place, side=s, symbol=True) for s in _letters().get(written, ())]
        elif len(sides) == 1 or (sides and len(written) > _LONGEST_LETTERS):
            found.append(_Sign(place, side=next(iter(sides)), symbol=_is_short(written)))
    return _without_stray_letters(found)


@cache
def _letters() -> dict[str, frozenset[str]]:
    """Letters that are sides in one language and words in others: `s` and `e`, as in `E+/D-`."""
    tables = [cell_words(code).by_kind.get("side_letters", {}) for code in LANGUAGES]
    letters = {letter for table in tables for letter in table}
    return {x: frozenset(table[x] for table in tables if x in table) for x in letters}


def _stands_by_a_sign(tokens: Sequence[re.Match[str]], place: int) -> bool:
    """Whether a plus or a minus touches a letter or stands in brackets beside it."""
    near = [*tokens[max(0, place - 2) : place], *tokens[place + 1 : place + 3]]
    beside = [t[0] for t in near if abs(tokens.index(t) - place) == 1]
    return any(t in ("+", "-", "~") for t in beside) or (
        "(" in beside and any(t[0] in ("+", "-", "~") for t in near)
    )


def _is_short(word: str) -> bool:
    return len(word) <= _LONGEST_LETTERS


def _without_stray_letters(found: list[_Sign]) -> list[_Sign]:
    """Leave out short words that may be sides but stand beside no sign and no other side."""
    kept = []
    for k, sign in enumerate(found):
        near = [found[n] for n in (k - 1, k + 1) if 0 <= n < len(found)]
        beside = [n for n in near if abs(n.place - sign.place) <= 2]
        other = [n for n in beside if n.pole or n.side == OPPOSITE.get(sign.side)]
        if not sign.side or not sign.symbol or other:
            kept.append(sign)
    return kept


def _same(one: _Sign, other: _Sign) -> bool:
    return (one.pole, one.side) == (other.pole, other.side)


def _pairs(signs: Sequence[_Sign], near: bool = False) -> list[tuple[_Sign, _Sign]] | None:
    """Pairs of sign and side that use every one of them, None where there is no such way."""
    shape = "".join("P" if sign.pole else "S" for sign in signs)
    if shape in ("PS" * (len(shape) // 2), "SP" * (len(shape) // 2), "SPPS", "PSSP"):
        chosen = [(signs[k], signs[k + 1]) for k in range(0, len(signs), 2)]
    elif shape in ("SSPP", "PPSS"):
        chosen = [(signs[0], signs[2]), (signs[1], signs[3])]
    elif shape in ("PSP", "SPS") and _same(signs[0], signs[2]):
        chosen = [(signs[0], signs[1])]
    else:
        return None
    pairs = [(a, b) if a.pole else (b, a) for a, b in chosen]
    far = any(
        (p.symbol or (near and p.brief)) and abs(p.place - s.place) > _FARTHEST_SYMBOL
        for p, s in pairs
    )
    return None if far or not shape else pairs


def _names(signs: Sequence[_Sign]) -> list[list[_Sign]]:
    """The signs without a pair of opposites that only names the column: `left/right`, `+/-`."""
    found = []
    for k in range(len(signs) - 1):
        one, two = signs[k], signs[k + 1]
        sides = bool(one.side) and OPPOSITE.get(one.side) == two.side
        poles = one.symbol and two.symbol and one.pole * two.pole == -1
        if (sides or poles) and two.place - one.place <= 3:
            found.append([*signs[:k], *signs[k + 2 :]])
    return found


def _once(signs: Sequence[_Sign]) -> list[_Sign]:
    """Signs without one that only says the sign before it again: `positive (+)`."""
    return [s for k, s in enumerate(signs) if not (k and s.pole and s.pole == signs[k - 1].pole)]


def _sides_once(signs: Sequence[_Sign]) -> list[_Sign]:
    """Signs without a side said twice running: `positive = downward (hitting down)`."""
    return [s for k, s in enumerate(signs) if not (k and _same(s, signs[k - 1]))]


def _stated_side(signs: Sequence[_Sign], near: bool) -> str | None:
    """The positive side of signs and sides of one axis."""
    if not any(s.pole for s in signs) or not any(s.side for s in signs):
        return None
    tight = [s for s in signs if not s.loose]
    signs, tight = _once(signs), _once(tight)
    ways = [signs, tight] if any(s.pole and not s.loose for s in signs) else [tight]
    for way in [*ways, *(named for whole in ways for named in _names(whole)), _sides_once(tight)]:
        pairs = _pairs(way, near) if way else None
        if pairs:
            sides = {side.side if pole.pole > 0 else OPPOSITE[side.side] for pole, side in pairs}
            return sides.pop() if len(sides) == 1 else None
    return None


def _without_far_symbols(signs: list[_Sign]) -> list[_Sign]:
    """Leave out a plus or a minus that stands beside no side: `carry + roll`."""
    places = [sign.place for sign in signs if sign.side]
    return [
        s
        for s in signs
        if not (s.pole and s.symbol) or any(abs(s.place - p) <= _FARTHEST_SYMBOL for p in places)
    ]


@lru_cache(maxsize=8192)
def positive_sides(text: str, near: bool = False) -> tuple[str | None, str | None, str | None]:
    """What a text counts as positive across, upwards and by the player's hand.

    Parameters
    ----------
    text : str
        A heading, a part of one, a line or a note.
    near : bool
        Whether only signs close to their side count, for a text that may speak of other things.

    Returns
    -------
    tuple of (str or None, str or None, str or None)
        `left` or `right`; `up` or `down`; `open` or `closed`. None where nothing clear is said.
    """
    if not text.strip():
        return (None, None, None)
    signs = _signs(_written(text))
    across, upwards, by_hand = (
        _stated_side(_without_far_symbols([s for s in signs if s.pole or s.side in axis]), near)
        for axis in _AXES
    )
    named = any(s.side in _AXES[0] for s in signs)
    across = across or _side_by_clauses(text)
    return across, upwards, None if named else by_hand


def _side_by_clauses(text: str) -> str | None:
    """The positive side of two clauses that begin with the two signs, however long each is.

    `+ turns the ball to the left, - turns it to the right`.
    """
    sides_by_pole: dict[int, str] = {}
    for clause in sign_begins().split(_written(text)):
        signs = [s for s in _signs(clause.strip()) if s.pole or s.side in _AXES[0]]
        if not signs or not (signs[0].pole and signs[0].symbol and signs[0].place == 0):
            continue
        sides = {s.side for s in signs[1:]}
        if len(sides) != 1 or "" in sides or signs[0].pole in sides_by_pole:
            return None
        sides_by_pole[signs[0].pole] = sides.pop()
    opposed = len(sides_by_pole) == len(_POLES) and OPPOSITE[sides_by_pole[1]] == sides_by_pole[-1]
    return sides_by_pole[1] if opposed else None


def one_sign_two_sides(text: str) -> tuple[int, tuple[tuple[str, str], ...]] | None:
    """The one sign of a text that names two opposed sides, and each side with what follows it.

    `Positive is to the observer's right, i.e. left for the player` tells one direction twice.
    """
    written = _written(text)
    found = [s for s in _signs(written) if s.pole or s.side in _AXES[0]]
    sides = [s for s in _sides_once(found) if s.side]
    poles = {s.pole for s in found if s.pole}
    opposed = len(sides) == 2 and OPPOSITE[sides[0].side] == sides[1].side
    if len(poles) != 1 or not opposed:
        return None
    ends = [match.end() for match in _TOKEN.finditer(written)]
    starts = [ends[s.place] for s in sides]
    behind = (written[starts[0] : starts[1]], written[starts[1] :])
    return poles.pop(), tuple((s.side, b) for s, b in zip(sides, behind, strict=True))


def sign_beside_side(text: str) -> bool:
    """Whether a sentence has a word for a side and any sign, however far from each other.

    An axis that points to a side, and a turn that counts as positive, tell signs as well.
    """
    written = _written(text)
    signs = _signs(written)
    sides = any(s.side in _AXES[0] and not s.symbol for s in signs)
    sums = {len(_TOKEN.findall(written[: m.start()])) for m in _ADDED.finditer(written)}
    signed = any(s.pole and not s.loose and s.place not in sums for s in signs)
    words = f" {' '.join(_WORD.findall(written))} "
    turns = any(f" {turn} " in words for turn in words_of("turning"))
    signed = signed or points_along_an_axis(text)
    return (sides and signed) or (turns and any(s.pole for s in signs))


def points_along_an_axis(text: str) -> bool:
    """Whether a text says where the axis `y` points."""
    words = _WORD.findall(_written(text))
    return "y" in words and not words_of("points_to").keys().isdisjoint(words)


def defines_a_sign(text: str) -> bool:
    """Whether a text says what a plus or a minus means by some side, as `+ = push side` does."""
    signs = _signs(_written(text))
    return bool(_DEFINED.search(_written(text))) and any(s.side for s in signs)


def partly_stated(text: str, *, named_too: bool = False) -> bool:
    """Whether a text has signs and sides across that make no convention: `L - R + L`.

    What only names both, `left/right (+/-)`, counts with `named_too`.
    """
    signs = _without_far_symbols(
        [s for s in _signs(_written(text)) if s.pole or s.side in _AXES[0]]
    )
    both_named = any(s.pole for s in signs) and any(s.side for s in signs)
    named = {s.side for s in signs if s.side} == _AXES[0] and {s.pole for s in signs} >= {1, -1}
    return both_named and (named_too or not named) and _stated_side(signs, near=False) is None


def positive_side(text: str) -> str | None:
    """`left`, `right`, `up` or `down` that a text counts as positive, None if it says neither."""
    across, upwards, _ = positive_sides(text)
    return across or upwards


def speaks_of_sides(text: str) -> bool:
    """Whether a text has a word for a sign beside one for a side, whatever they say together."""
    signs = _signs(_written(text))
    return any(s.pole and not s.symbol for s in signs)


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
    side = positive_sides(text)[2]
    if side is None:
        return None
    rest = re.split(r"(\W+)", _written(text))
    signs = heading_words().signs
    kept = [t for t in rest if t not in ("openside", "closedside") and not signs.get(t)]
    return side, re.sub("[+=~]", " ", "".join(kept))


def is_sign_word(token: str) -> bool:
    """Whether a folded word is one of the words that say a side or a sign."""
    return token in heading_words().signs


def is_side_letter(token: str) -> bool:
    """Whether a folded letter is a side beside a sign, and perhaps a word elsewhere."""
    return token in _letters()


def lone_sign_and_side(text: str) -> str | None:
    """The positive side of a text with one sign and one side, however far from each other.

    Parameters
    ----------
    text : str
        `Sides are noted with + when the ball lands to the left of the target`.

    Returns
    -------
    str or None
        `left` or `right`; None where it names more, or less.
    """
    signs = _signs(_written(text))
    poles = {s.pole for s in signs if s.pole and not s.loose}
    sides = {s.side for s in signs if s.side in _AXES[0]}
    if len(poles) != 1 or len(sides) != 1 or any(s.side and s.symbol for s in signs):
        return None
    side = sides.pop()
    return side if poles.pop() > 0 else OPPOSITE[side]
