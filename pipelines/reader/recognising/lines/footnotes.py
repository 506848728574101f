"""Footnotes: marks behind headings, and the lines that say what they stand for."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

_MARK = r"[¹²³⁴⁵⁶⁷⁸⁹*†‡§]"
_LINE = re.compile(rf"^\W{{0,2}}?({_MARK}{{1,3}})[\s:)=]*([^\W\d_].*?)\W*$")
_BEHIND = re.compile(rf"(?<=\S)\s*({_MARK}(?:[\s,]*{_MARK})*)\s*$")
FOOTNOTE = "footnote"  # kind of statement that a line makes for the headings with its mark alone


def footnotes_in(lines: Iterable[str]) -> dict[str, str]:
    """What lines beside a table say for the headings that bear their mark.

    Parameters
    ----------
    lines : iterable of str
        All of them.

    Returns
    -------
    dict of str to str
        Mark -> words. Empty where a mark is explained twice, as among bullet points.
    """
    found: dict[str, str] = {}
    for line in lines:
        matched = _LINE.match(line)
        if matched is None:
            continue
        if matched[1] in found and found[matched[1]] != matched[2]:
            return {}
        found[matched[1]] = matched[2]
    return found


def with_footnotes(text: str, footnotes: Mapping[str, str]) -> str | None:
    """A heading with the words of its footnotes in brackets in place of the marks.

    Parameters
    ----------
    text : str
        `Side¹ ³`, where the footnotes are `positive = left` and `metres`.
    footnotes : mapping of str to str
        As `footnotes_in` gives them.

    Returns
    -------
    str or None
        `Side (positive = left) (metres)`; None for a heading without marks, or with one that no
        line explains.
    """
    found = _BEHIND.search(text)
    if found is None:
        return None
    marks = [found[1]] if found[1] in footnotes else re.findall(_MARK, found[1])
    if not all(mark in footnotes for mark in marks):
        return None
    notes = "".join(f" ({footnotes[mark]})" for mark in marks)
    return text[: found.start()].rstrip() + notes


def is_footnote(text: str, footnotes: Mapping[str, str], headings: Iterable[str]) -> bool:
    """Whether a line is a footnote of one of some headings.

    Parameters
    ----------
    text : str
        The line.
    footnotes : mapping of str to str
        As `footnotes_in` gives them.
    headings : iterable of str
        As they stand in the table.
    """
    matched = _LINE.match(text) if footnotes else None
    return matched is not None and any(
        (found := _BEHIND.search(heading)) is not None and matched[1] in found[1]
        for heading in headings
    )
