"""Axes that lines beside a table explain: `x along the target line, y to the left, z up`."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from functools import cache

from rangeledger.pipelines.reader.normalising.phrases import any_of
from rangeledger.pipelines.reader.recognising.words.heading import read_heading
from rangeledger.pipelines.reader.recognising.words.unit_statements import tags_of_any
from rangeledger.pipelines.reader.recognising.words.viewpoints import FRONT, viewpoint
from rangeledger.schemas.headings import heading_words, plain

_ENDS = re.compile(r"[,;.](?=\s)|\.$")
_WORD = re.compile(r"[^\W\d_]+")
_AHEAD = (frozenset({"along"}), frozenset({"target"}))
_SHORTEST_SIDE = 4  # `der` and `d` are sides only beside a sign
_SIDES = frozenset({"left", "right"})


def axes_in(lines: Sequence[str]) -> dict[str, str]:
    """What the letters of the axes stand for, in words of a heading.

    Parameters
    ----------
    lines : sequence of str
        Comments and lines beside the table.

    Returns
    -------
    dict of str to str
        Letter -> `along`, or `sideways` with the side that counts as positive; empty unless one
        line explains an axis along the line of the target and one across it.
    """
    for line in lines:
        found = {}
        for clause in _ENDS.split(line):
            axis = _axis_begins().search(clause)
            role = _role(axis[2]) if axis else None
            if axis and role:
                found[axis[1].lower()] = role
        if len(found) == len({*found.values()}) == 2:
            landing = any(
                "landing" in tags_of_any(other) for other in lines if _names(other, found)
            )
            return {
                letter: f"landing {role}" if landing else role for letter, role in found.items()
            }
    return {}


@cache
def _axis_begins() -> re.Pattern[str]:
    """`x along …`, `y axis: …`: a letter, and behind it where it points."""
    word = rf"(?:[\s-]*{any_of('axis_words')})?"
    return re.compile(rf"(?:^|[\s:(#])([xyz]){word}\s*(?:[:=]|\s)\s*(\S.*)$", re.IGNORECASE)


def _names(line: str, letters: Iterable[str]) -> bool:
    """Whether a line names all of some letters: `x and y are given for the landing point`."""
    words = {*_WORD.findall(line.lower())}
    return words.issuperset(letters)


def _role(words: str) -> str | None:
    """`along`, or `sideways (+ left)`; None of an axis that points upwards or somewhere else."""
    signs = heading_words().signs
    sides = {
        side
        for token in _WORD.findall(plain(words))
        if len(token) >= _SHORTEST_SIDE and signs.get(token, frozenset()) & _SIDES
        for side in signs[token] & _SIDES
    }
    if len(sides) == 1 and viewpoint(words) != FRONT:
        return f"sideways (+ {sides.pop()})"
    heading = read_heading(words)
    if sides or any(tag in heading.tags for tag in ("vertical", "height", "apex")):
        return None
    return "along" if any(ahead <= heading.tags for ahead in _AHEAD) else None


def with_axes(text: str, axes: Mapping[str, str]) -> str | None:
    """A heading with the words for its axis in place of the letter: `y_land` -> `side of land`.

    Parameters
    ----------
    text : str
        The heading.
    axes : mapping of str to str
        As `axes_in` gives them.

    Returns
    -------
    str or None
        None where the heading holds no letter of an axis, or more than one.
    """
    letters = list(re.finditer(r"(?<![^\W_])([xyzXYZ])(?![^\W_])", text))
    if len(letters) != 1 or letters[0][1].lower() not in axes:
        return None
    word, _, sign = axes[letters[0][1].lower()].partition(" (")
    sign = f"({sign}" if sign else ""
    start, end = letters[0].span()
    return f"{text[:start]} {word} {text[end:]} {sign}".strip()
