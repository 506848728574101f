"""Which way putts break: words of nine languages, and what is never guessed."""

from __future__ import annotations

import json

import polars as pl
import pytest
from rangeledger.models.coaching.putt_breaks import break_of, with_breaks
from rangeledger.schemas.vocabulary import LANGUAGES
from rangeledger.schemas.words import cell_words

# One heading and one cell of each way in each language: words of the trade, from memory.
SAID = {
    "en": ("Break", "Left-to-right", "R > L", "Straight"),
    "de": ("Break", "links nach rechts", "Rechts nach links", "gerade"),
    "fr": ("Pente", "gauche à droite", "de droite à gauche", "Droit"),
    "es": ("Caída", "izquierda a derecha", "De derecha a izquierda", "recto"),
    "sv": ("Brytning", "vänster till höger", "Höger-vänster", "rak"),
    "it": ("Pendenza", "da sinistra a destra", "dx → sx", "dritto"),
    "nl": ("Helling", "van links naar rechts", "rechts naar links", "recht"),
    "pt": ("Queda", "esquerda para a direita", "direita-esquerda", "reto"),
    "da": ("Break", "venstre mod højre", "Højre til venstre", "lige"),
}


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_language_says_which_way_a_putt_breaks(language: str) -> None:
    heading, *cells = SAID[language]
    assert [break_of(json.dumps({heading: cell})) for cell in cells] == [
        "left-to-right", "right-to-left", "straight",
    ]  # fmt: skip


@pytest.mark.parametrize("kind", ["breaks", "break_headings", "break_words"])
def test_no_word_means_two_ways_in_two_languages(kind: str) -> None:
    seen: dict[str, str] = {}
    for language in LANGUAGES:
        for word, meaning in cell_words(language).by_kind[kind].items():
            assert seen.setdefault(word, meaning) == meaning, (language, word)


@pytest.mark.parametrize(
    ("heading", "cell", "told"),
    [
        ("Slope direction", "slightly left to right, downhill", "left-to-right"),
        ("Break (L-R/R-L)", "R-L 2 cups", "right-to-left"),
        ("Break", "Straight, uphill", "straight"),
        ("BREAK DIRECTION", "LTR", "left-to-right"),
    ],
)
def test_how_much_and_which_slope_may_stand_beside(heading: str, cell: str, told: str) -> None:
    assert break_of(json.dumps({heading: cell})) == told


@pytest.mark.parametrize(
    "extras",
    [
        {"Break": "left"},  # where it goes, or where to aim?
        {"Break": "right edge"},
        {"Break": "left to right to left"},
        {"Break": "no left to right"},
        {"Break": "aim left to right"},
        {"Break": "2.5"},
        {"Break": ""},
        {"Break": "none"},
        {"Slope": "level"},  # along the line, or across it?
        {"Slope": "uphill"},
        {"Break": "left to right", "Slope": "right to left"},
        {"Curve": "left to right"},
        {"Break": None},
        {},
    ],
)
def test_a_break_is_never_guessed(extras: dict[str, str | None]) -> None:
    assert break_of(json.dumps(extras)) is None


def test_only_putts_break() -> None:
    said = '{"Break": "left to right"}'
    shots = pl.DataFrame({"club": ["putter", "7-iron", "putter"], "extras": [said, said, None]})
    assert with_breaks(shots)["break"].to_list() == ["left-to-right", None, None]
    assert with_breaks(shots.drop("extras"))["break"].to_list() == [None, None, None]
