"""The value half of the vocabularies: what stands in cells and in lines beside the tables.

The words themselves are data, one file a language in `schemas/vocabulary`. This module folds
them to a form in which case, accents and punctuation don't matter, and merges the languages.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache

from rangeledger.schemas.remembering import remembered
from rangeledger.schemas.vocabulary import LANGUAGES, vocabulary

_LETTERS_WITHOUT_ACCENT = str.maketrans({"ß": "ss", "œ": "oe", "æ": "ae", "ø": "o", "ð": "d"})


@remembered
def fold(text: str) -> str:
    """Text in lower case without accents, punctuation turned to single spaces."""
    decomposed = unicodedata.normalize("NFKD", text.casefold().translate(_LETTERS_WITHOUT_ACCENT))
    plain = "".join(c for c in decomposed if not unicodedata.combining(c))
    return " ".join("".join(c if c.isalnum() else " " for c in plain).split())


@dataclass(frozen=True, slots=True)
class CellWords:
    """Folded words of one language, each kind as folded word -> meaning.

    Parameters
    ----------
    language : str
        Two-letter code.
    by_kind : Mapping[str, Mapping[str, str]]
        Kind of word (`missing`, `sides`, `balls`, …) -> folded word -> meaning.
    """

    language: str
    by_kind: Mapping[str, Mapping[str, str]]

    def meaning(self, kind: str, text: str) -> str | None:
        """Meaning of `text` among the words of a kind, None if it is none of them."""
        return self.by_kind.get(kind, {}).get(fold(text))


def _inverted(table: Mapping[str, Iterable[str]]) -> dict[str, str]:
    return {fold(word): meaning for meaning, words in table.items() for word in words}


@cache
def cell_words(language: str) -> CellWords:
    """Words of one language.

    Parameters
    ----------
    language : str
        Two-letter code, one of `LANGUAGES`.

    Returns
    -------
    CellWords
        The words, folded.
    """
    file = vocabulary(language)
    cells = {**file.get("cells", {}), **file.get("lines", {})}
    kinds = {kind: _inverted(table) for kind, table in cells.items() if isinstance(table, dict)}
    lists = {
        kind: {fold(word): kind for word in words}
        for kind, words in cells.items()
        if isinstance(words, list)
    }
    return CellWords(language, {**kinds, **lists})


def speaks_of_unit(text: str) -> bool:
    """Whether one of the words of a text is that for a unit: `Units:`, `Einheit (Carry)`."""
    return not words_of("units_said").keys().isdisjoint(fold(text).split())


@cache
def words_of(kind: str, language: str | None = None) -> dict[str, str]:
    """Folded word -> meaning for a kind of word.

    Parameters
    ----------
    kind : str
        Name of a table or list under `[cells]` or `[lines]` in the vocabulary files.
    language : str or None
        Whose meaning wins where languages disagree; English otherwise.

    Returns
    -------
    dict[str, str]
        The merged words of all languages.
    """
    order = [code for code in (language, *LANGUAGES) if code in LANGUAGES]
    merged: dict[str, str] = {}
    for code in reversed(order):
        merged.update(cell_words(code).by_kind.get(kind, {}))
    return merged
