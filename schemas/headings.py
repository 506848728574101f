"""The heading half of the vocabularies: parts of headings and words for a sign.

The words themselves are data, one file a language in `schemas/vocabulary`. A part of a heading
stands for one or more *tags* (`ball`, `speed`, `launch`, …); `schemas.compositions` says which
set of tags makes which column. A word that means different things in two languages keeps both
meanings; the other words of the heading and the values below it decide.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache

from rangeledger.schemas.folding import plain as plain
from rangeledger.schemas.unit_writing import unit_symbols as unit_symbols
from rangeledger.schemas.vocabulary import LANGUAGES, vocabulary

METRIC_LANGUAGES = frozenset(LANGUAGES) - {"en"}  # metres and degrees Celsius where none is said
FILLER = "filler"
_TOKEN = re.compile(r"[^\W_]+")
Meanings = frozenset[frozenset[str]]


def tokens_of(text: str) -> tuple[str, ...]:
    """Words and numbers of a text, in lower case without accents."""
    return tuple(_TOKEN.findall(plain(text)))


@dataclass(frozen=True, slots=True)
class HeadingWords:
    """All heading words of all languages.

    Parameters
    ----------
    parts : Mapping[tuple[str, ...], frozenset[frozenset[str]]]
        Folded words of a part of a heading -> the sets of tags it can stand for.
    by_language : Mapping[str, Mapping[tuple[str, ...], frozenset[frozenset[str]]]]
        The same for each language alone.
    signs : Mapping[str, frozenset[str]]
        Folded word or sign -> any of `left right up down positive negative`.
    longest : int
        Number of words of the longest part.
    languages : Mapping[tuple[str, ...], frozenset[str]]
        Folded words of a part -> the languages that have it.
    """

    parts: Mapping[tuple[str, ...], frozenset[frozenset[str]]]
    by_language: Mapping[str, Mapping[tuple[str, ...], frozenset[frozenset[str]]]]
    signs: Mapping[str, frozenset[str]]
    longest: int
    languages: Mapping[tuple[str, ...], frozenset[str]]

    def meanings(self, key: tuple[str, ...], language: str | None) -> Meanings | None:
        """What a part can stand for: in a language if it has the part, else in any."""
        known = self.by_language.get(language or "", {}).get(key)
        return known or self.parts.get(key)

    @property
    def single_words(self) -> frozenset[str]:
        """Parts that consist of one word."""
        return frozenset(key[0] for key in self.parts if len(key) == 1)


def _parts(table: Mapping[str, Iterable[str]]) -> Iterable[tuple[tuple[str, ...], frozenset[str]]]:
    for tags, words in table.items():
        for word in words:
            yield tokens_of(word), frozenset(tags.split("+"))


@cache
def heading_words() -> HeadingWords:
    """Read the vocabularies of all languages; the result is kept.

    Returns
    -------
    HeadingWords
        The words, folded.
    """
    files = {language: vocabulary(language) for language in LANGUAGES}
    parts: dict[tuple[str, ...], set[frozenset[str]]] = {}
    own: dict[str, dict[tuple[str, ...], set[frozenset[str]]]] = {}
    languages: dict[tuple[str, ...], set[str]] = {}
    signs: dict[str, set[str]] = {}
    for language, file in files.items():
        for key, tags in _parts(file.get("heading_parts", {})):
            parts.setdefault(key, set()).add(tags)
            own.setdefault(language, {}).setdefault(key, set()).add(tags)
            languages.setdefault(key, set()).add(language)
        for meaning, words in file.get("sign_words", {}).items():
            for word in words:
                signs.setdefault(plain(word), set()).add(meaning)
    return HeadingWords(
        {key: _without_filler(meanings) for key, meanings in parts.items()},
        {
            language: {key: _without_filler(meanings) for key, meanings in table.items()}
            for language, table in own.items()
        },
        {word: frozenset(meanings) for word, meanings in signs.items()},
        max(len(key) for key in parts),
        {key: frozenset(found) for key, found in languages.items()},
    )


def _without_filler(meanings: set[frozenset[str]]) -> Meanings:
    """A word that is only a filler word in one language keeps its meaning of another."""
    telling = {tags for tags in meanings if tags != frozenset({FILLER})}
    return frozenset(telling or {frozenset({FILLER})})
