"""Names of players that look alike: suggested to the user, never merged by themselves."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from itertools import combinations
from typing import Final

from rangeledger.warehouse.counting.player_names import UNKNOWN

# One slip of the keyboard in a word of at least so many letters: shorter names differ by one
# letter and are two (Ann, Ana). Common practice, no source.
_LEAST_LETTERS: Final = 5
_LETTERS: Final = str.maketrans({"ß": "ss", "ø": "o", "æ": "ae", "œ": "oe", "đ": "d", "ł": "l"})


def alike_names(names: Sequence[str]) -> list[tuple[str, str]]:
    """Pairs of names that may be one player's, the shorter one first.

    Parameters
    ----------
    names : sequence of str

    Returns
    -------
    list of (str, str)
        `T. Orrelle` and `Tamsin Orrelle`; `Orrelle, Tamsin` and `Tamsin Orrelle`; names that
        differ in accents or by one slip of the keyboard.
    """
    known = [(name, _name_parts(name)) for name in sorted(set(names) - {UNKNOWN})]
    pairs = [
        (one, other)
        for (one, first), (other, second) in combinations(known, 2)
        if first and second and _alike(first, second)
    ]
    return [(a, b) if (len(a), "," not in a) <= (len(b), "," not in b) else (b, a)
            for a, b in pairs]  # fmt: skip


def _name_parts(name: str) -> tuple[str, ...]:
    """Words of a name, without accents, the family name last: `Orrelle, Tamsin` too."""
    last, comma, first = name.partition(",")
    ordered = f"{first} {last}" if comma else name
    plain = unicodedata.normalize("NFKD", ordered.casefold().translate(_LETTERS))
    bare = "".join(c for c in plain if not unicodedata.combining(c))
    return tuple(re.findall(r"[^\W_]+", bare))


def _alike(one: tuple[str, ...], other: tuple[str, ...]) -> bool:
    if one == other or sorted(one) == sorted(other):
        return True
    if len(one) != len(other):
        return False
    differing = [(a, b) for a, b in zip(one, other, strict=True) if a != b]
    initials = all(_is_initial(a, b) or _is_initial(b, a) for a, b in differing)
    if initials and one[-1] == other[-1]:
        return True
    return len(differing) == 1 and _one_slip(*differing[0])


def _is_initial(short: str, long: str) -> bool:
    return len(short) == 1 and long.startswith(short)


def _one_slip(one: str, other: str) -> bool:
    """Whether one letter was left out, added, changed, or two changed places."""
    if min(len(one), len(other)) < _LEAST_LETTERS or abs(len(one) - len(other)) > 1:
        return False
    start = next((n for n, (a, b) in enumerate(zip(one, other, strict=False)) if a != b),
                 min(len(one), len(other)))  # fmt: skip
    a, b = one[start:], other[start:]
    return a[1:] == b[1:] or a[1:] == b or a == b[1:] or (a[:2] == b[1::-1] and a[2:] == b[2:])
