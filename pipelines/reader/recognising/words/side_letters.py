"""Letters for sides that a heading explains or names: `Side (L = left, R = right)`, `Écart (G/D)`.

They say how the cells name a side, and nothing of a sign.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache, lru_cache

import polars as pl
from rangeledger.pipelines.reader.normalising.phrases import any_of
from rangeledger.schemas.headings import plain
from rangeledger.schemas.vocabulary import LANGUAGES
from rangeledger.schemas.words import cell_words, words_of

_LETTER = {"left": "L", "right": "R"}
_LONGEST_CODE = 4
_SHORTEST_WORD = 3
_CODE = rf"[^\W\d_]{{1,{_LONGEST_CODE}}}\.?"
_WORD = rf"[^\W\d_]{{{_SHORTEST_WORD},}}"
_EQUALS = r"\s*(?:=|:|→|->)\s*|\s+(?:is|for|means|ist|für|est|es|är|è|is|é|er)\s+|\s+"
_CODE_FIRST = rf"(?P<c{{k}}>{_CODE})(?:{_EQUALS})(?P<w{{k}}>{_WORD})"
_WORD_FIRST = rf"(?P<w{{k}}>{_WORD})(?:\s*[=:]\s*|\s*\(\s*|\s+)(?P<c{{k}}>{_CODE})\s*\)?"
_BEFORE, _BEHIND = r"(?<![^\W\d_])(?<![+\-−–~])(?<![+\-−–~]\s)", r"(?![^\W\d_])(?!\s*\(?[+−–~=]|-)"
_LEFT_OVER = re.compile(
    r"[(\[{<][\s,;:]*[)\]}>]|[,;:]\s*(?=[)\]}>])|(?<=[(\[{<])\s*[,;:]|[\s,;:]+$"
)


@cache
def _explanations() -> list[re.Pattern[str]]:
    """`L = left and R = right`, `left (L), right (R)`."""
    between = rf"\s*(?:[,;/|&]|\b{any_of('between', 'and', 'or')}\b)?\s*"
    return [
        re.compile(_BEFORE + way.replace("{k}", "1") + between + way.replace("{k}", "2") + _BEHIND)
        for way in (_CODE_FIRST, _WORD_FIRST)
    ]


@cache
def _pair() -> re.Pattern[str]:
    """`L/R`, `L or R`."""
    between = rf"(?:\s*[/|\\,;]\s*|[-–]|\s+{any_of('between', 'or')}\s+)"
    return re.compile(rf"{_BEFORE}(?P<c1>{_CODE}){between}(?P<c2>{_CODE}){_BEHIND}")


@cache
def _codes(language: str) -> dict[str, str]:
    """What a language's cells write for a side."""
    kinds = cell_words(language).by_kind
    return {**kinds.get("side_letters", {}), **kinds.get("sides", {})}


@cache
def _side_words() -> dict[str, str]:
    return {word: side for word, side in words_of("sides").items() if side in _LETTER}


def _overlapping(pattern: re.Pattern[str], text: str) -> Iterator[re.Match[str]]:
    found = pattern.search(text)
    while found:
        yield found
        found = pattern.search(text, found.start() + 1)


def _explained(text: str) -> Iterator[tuple[re.Match[str], dict[str, str]]]:
    """Where letters stand beside the words that they are short for, with what they mean."""
    for pattern in _explanations():
        for found in _overlapping(pattern, text):
            sides = [_side_words().get(plain(found[w])) for w in ("w1", "w2")]
            codes = [plain(found[c]).rstrip(".") for c in ("c1", "c2")]
            known = [_side_words().get(code, side) for code, side in zip(codes, sides, strict=True)]
            explained = re.search("[=:]", found[0]) or all(
                plain(found[w]).startswith(code)
                for w, code in zip(("w1", "w2"), codes, strict=True)
            )
            if explained and set(sides) == set(_LETTER) and known == sides and codes[0] != codes[1]:
                yield found, {c: s for c, s in zip(codes, sides, strict=True) if s}


def _named(text: str) -> Iterator[tuple[re.Match[str], dict[str, str]]]:
    """Where two letters of one language stand for left and right, as `G/D` do."""
    for found in _overlapping(_pair(), text):
        codes = [plain(found[c]).rstrip(".") for c in ("c1", "c2")]
        for language in LANGUAGES:
            sides = [_codes(language).get(code) for code in codes]
            if set(sides) == set(_LETTER):
                yield found, {c: s for c, s in zip(codes, sides, strict=True) if s}
                break


@lru_cache(maxsize=8192)
def side_letters(text: str) -> tuple[str, tuple[tuple[str, str], ...]] | None:
    """A heading without its letters for sides, and what they stand for.

    Parameters
    ----------
    text : str
        `Sidled (m; V vänster, H höger)`.

    Returns
    -------
    tuple[str, tuple[tuple[str, str], ...]] or None
        `Sidled (m)` and pairs of a folded letter and `L` or `R`; None for a heading without any.
    """
    for ways in (_explained, _named):
        for found, sides in ways(text):
            rest = text[: found.start()] + " " + text[found.end() :]
            rest = " ".join(_LEFT_OVER.sub(" ", rest).split())
            return rest, tuple((code, _LETTER[side]) for code, side in sides.items())
    return None


def letter_for(words: str) -> str | None:
    """`L` or `R` for words that name exactly one side, `tilted left (draw)`, else None."""
    sides = {_side_words().get(word) for word in plain(words).replace("(", " ").split()} - {None}
    return _LETTER[sides.pop() or ""] if len(sides) == 1 else None


def respelt(text: pl.Series, letters: tuple[tuple[str, str], ...]) -> pl.Series:
    """Cells with the letters of their heading for a side written as `L` and `R`.

    Parameters
    ----------
    text : pl.Series
        `V 3,4`, `0,8h`.
    letters : tuple of (str, str)
        As `side_letters` gives them.
    """
    for code, letter in letters:
        if code != letter.lower():
            text = text.str.replace(rf"(?i)(^|[^\pL]){code}\.?($|[^\pL])", f"${{1}}{letter}${{2}}")
    return text
