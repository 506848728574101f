"""What the text around a number says: a unit, a side, a minus, or nothing that is understood."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache, lru_cache

import polars as pl
from rangeledger.schemas.vocabulary import LANGUAGES
from rangeledger.schemas.words import cell_words, fold, words_of

# What `in-out`, `open` and their opposites say: right and left for a right-handed player.
OPEN, CLOSED = "OPEN", "CLOSED"
_ARROWS = {"←": "L", "→": "R", "⇐": "L", "⇒": "R", "↑": "UP", "↓": "DOWN"}
SIDES = {"left": "L", "right": "R", "up": "UP", "down": "DOWN"}
_HAND_SIDES = {"left": CLOSED, "right": OPEN}
# `1/min` and `m s-1` hold a digit that is none of the number's; a private character stands for it.
UNIT_ONE = "\ue001"
_FORMULA_MARKS = ("=", "@")
_ABOUT = "~≈"  # before a number that is rounded
_TEXT_MARK = "'"  # how spreadsheets mark a number that is kept as text
_MARKS = {"*", "#", "†", "‡"}


@lru_cache(maxsize=65536)
def _tail(text: str) -> tuple[str | None, str | None, bool]:
    """Unit word, side and understood of the text around a number."""
    for arrow, side in _ARROWS.items():
        if arrow in text:
            unit, second, known = _tail(text.replace(arrow, " ").strip())
            return unit, side, known and second is None
    if by_hand := words_of("hand_sides").get(fold(text)):
        return None, _HAND_SIDES[by_hand], True
    if fold(text) in words_of("on_line"):  # `0 on line`: neither left nor right
        return None, None, True
    unit_words, sides = [], set()
    for word in re.sub(r"[()]", " ", text).replace("°", "° ").split():
        folded = fold(word)
        if folded in words_of("sides"):
            sides.add(SIDES[words_of("sides")[folded]])
        elif folded in words_of("hand_sides"):
            sides.add(_HAND_SIDES[words_of("hand_sides")[folded]])
        elif folded not in words_of("fillers") or not folded:
            unit_words.append(word)
    unit = " ".join(word for word in unit_words if word not in _MARKS)
    unit = unit.replace(UNIT_ONE, "1")
    return unit or None, sides.pop() if len(sides) == 1 else None, len(sides) < 2


def around(
    opening: str | None, lead: str | None, tail: str | None, sign: str | None
) -> tuple[float | None, str | None, str | None]:
    """Factor (1, -1, or None if not understood), unit and side of what surrounds a number."""
    nothing = (None, None, None)
    if lead is None or tail is None or lead.endswith((".", ",")):
        return nothing
    if lead.lstrip().startswith(_FORMULA_MARKS):
        return nothing
    lead, tail, minus = lead.strip().lstrip(_ABOUT), tail.strip(), sign == "-"
    if bool(opening) != tail.endswith(")"):
        return nothing
    if tail == "-" and not sign:
        minus, tail = True, ""
    elif tail == "+" and not sign:
        tail = ""
    lead_unit, lead_side, lead_known = _tail("" if lead == _TEXT_MARK else lead)
    unit, side, known = _tail(tail)
    if lead_unit and not unit and any(fold(lead_unit) in pair for pair in _letter_pairs()):
        unit, lead_unit = lead_unit, None  # `S 1,4`: a side, if the column has `D 2,3` as well
    if not (lead_known and known) or lead_unit or (lead_side and side):
        return nothing
    if unit and not _may_be_unit(unit):
        return nothing
    side = side or lead_side
    if opening and side is None:
        minus = not minus
    return (-1.0 if minus else 1.0), unit, side


def _may_be_unit(word: str) -> bool:
    return len(word) <= 24 and not re.search(r"[=+@<>|;:,!&]|\s-|-$|^-", word)


@cache
def _letter_pairs() -> list[dict[str, str]]:
    """Letters for the two sides in each language: S and D."""
    tables = (cell_words(code).by_kind.get("side_letters", {}) for code in LANGUAGES)
    return [{letter: SIDES[side] for letter, side in table.items()} for table in tables]


def letters_as_sides(unit: pl.Series, side: pl.Series) -> dict[str, tuple[str | None, str]]:
    """What unit and side the words behind the numbers say where their last is a letter for a side.

    Alone the `s` of `1,4 S` would be seconds; beside `2,3 D` it is the Italian left. Both letters
    of a pair must occur, and no more.

    Parameters
    ----------
    unit, side : pl.Series
        Words behind each number that name no side, and the side that others named.

    Returns
    -------
    dict of str to (str or None, str)
        Words as they stand -> their unit, if there is one before the letter, and the side.
    """
    words = unit.drop_nulls().unique().to_list()
    parted = {word: word.rsplit(None, 1) for word in words}
    stated_sides = set(side.drop_nulls().unique().to_list())
    for pair in _letter_pairs():
        sided = {w: parts for w, parts in parted.items() if fold(parts[-1]) in pair}
        units = [parts[0] for parts in sided.values() if len(parts) > 1]
        letters = {fold(parts[-1]) for parts in sided.values()}
        others = [word for word in words if word not in sided]
        whole = not others or (bool(units) and set(others) <= set(units))
        if sided and whole and {pair[k] for k in pair.keys() - letters} <= stated_sides:
            return {
                word: (parts[0] if len(parts) > 1 else None, pair[fold(parts[-1])])
                for word, parts in sided.items()
            }
    return {}


def letter_sides(cells: Iterable[str]) -> dict[str, str]:
    """Sides of cells that are all letters of one pair, and hold both: `D`, `S`; else empty."""
    for pair in _letter_pairs():
        found = {cell: pair.get(fold(cell)) for cell in cells}
        if set(found.values()) == set(pair.values()):
            return {cell: side for cell, side in found.items() if side}
    return {}
