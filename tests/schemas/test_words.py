"""The words of the cells and the form in which they are compared."""

from __future__ import annotations

import pytest
from rangeledger.schemas.columns import BALLS, FLIGHT_BASES, SURFACES
from rangeledger.schemas.vocabulary import LANGUAGES
from rangeledger.schemas.words import cell_words, fold, words_of


@pytest.mark.parametrize(
    ("text", "folded"),
    [("Järn", "jarn"), ("k.A.", "k a"), ("#N/A", "n a"), ("Übungsbälle", "ubungsballe"),
     ("  Höger ", "hoger"), ("Straße", "strasse"), ("cœur", "coeur"), ("o'clock", "o clock")],
)  # fmt: skip
def test_folding_drops_case_accents_and_punctuation(text: str, folded: str) -> None:
    assert fold(text) == folded
    assert fold(folded) == folded


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_language_names_all_months_and_both_sides(language: str) -> None:
    kinds = cell_words(language).by_kind
    assert set(kinds["months"].values()) == {str(month) for month in range(1, 13)}
    assert {"left", "right"} <= set(kinds["sides"].values())
    assert {"wood", "iron", "hybrid"} <= set(kinds["club_kinds"].values())
    assert kinds["missing"]
    assert kinds["summary"]
    assert kinds["units_said"]


def test_meanings_are_canonical_words() -> None:
    assert set(words_of("balls").values()) <= set(BALLS)
    assert set(words_of("surfaces").values()) <= set(SURFACES)
    assert set(words_of("flight_bases").values()) <= set(FLIGHT_BASES)


@pytest.mark.parametrize(
    "kind", ["sides", "months", "balls", "surfaces", "numerals", "hands", "between"]
)
def test_no_word_means_two_things_in_two_languages(kind: str) -> None:
    seen: dict[str, str] = {}
    for language in LANGUAGES:
        for word, meaning in cell_words(language).by_kind[kind].items():
            assert seen.setdefault(word, meaning) == meaning, (language, word)


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_language_has_words_between_two_others(language: str) -> None:
    assert set(cell_words(language).by_kind["between"].values()) == {"and", "or", "to"}
