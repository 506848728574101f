"""Spellings of clubs: common practice of the trade in five languages, no published source."""

from __future__ import annotations

import pytest
from rangeledger.schemas.clubs import CANONICAL_CLUBS, club_of, clubs_of

SPELLINGS = {
    "driver": "Driver, driver, Dr, D, 1W, W1, Wood 1, Holz 1, Bois 1, Madera 1, DRIVER, "
    "10.5° Driver",
    "3-wood": "3w, 3-wood, Wood 3, 3 Wood, Holz 3, 3er Holz, Bois 3, B3, Madera 3, M3, Trä 3, T3, "
    "Trätrea, Fairway 3, 3 Fairway Wood, FW3, three wood, Spoon",
    "4-wood": "Träfyra, 4w",
    "5-wood": "5w, 5 Wood, bois 5, Holz5",
    "4-hybrid": "4h, Hybrid 4, 4-hybrid, Rescue 4, Hybride 4, Híbrido 4, Hyb 4, Hy4, 4 Hybrid 22°",
    "7-iron": "7i, 7I, 7 Iron, Iron 7, 7-iron, I7, Eisen 7, 7er Eisen, 7er-Eisen, E7, Fer 7, F7, "
    "Hierro 7, Järn 7, J7, Järnsjua, järn sju, 7:a järn, seven iron, No. 7 iron, #7 iron, IRON7, "
    "7  iron, fer sept, hierro siete, Eisen sieben",
    "9-iron": "9i, Eisen 9, Fer 9, hierro 9, järn 9",
    "1-iron": "1-iron, 1 iron",
    "pitching-wedge": "PW, pw, P-Wedge, Pitching Wedge, Pitchingwedge, Wedge P, Pitch, PW 45°, P/W",
    "gap-wedge": "GW, Gap Wedge, G-Wedge, AW, A-Wedge, Approach Wedge, Attack wedge, gap wdg",
    "sand-wedge": "SW, Sand Wedge, Sandwedge, S-Wedge, Wedge de sable, wedge de arena",
    "lob-wedge": "LW, Lob Wedge, L-Wedge, Lob, Lobwedge",
    "56-wedge": "56°, 56, 56 deg, 56 deg wedge, Wedge 56, 56-degree, 56-deg wedge, Wedge 56°, W56, "
    "56w, 56 Grad, 56 grados, 56 grader, Wedge 56 degrés, Wedge de 56°, 56 graders wedge, SW 56, "
    "56° SW, 56.0°",
    "60-wedge": "60°, LW 60, 60-wedge",
    "putter": "Putter, putter, Pt, PTR, Putt",
}
OWN = ["7 Iron old", "Iron", "Mini Driver", "chipper", "45° wedge", "10 iron", "2.5 wood", "x"]


@pytest.mark.parametrize(
    ("spelling", "name"),
    [(s.strip(), name) for name, spellings in SPELLINGS.items() for s in spellings.split(",")],
)
def test_common_spellings_give_the_canonical_name(spelling: str, name: str) -> None:
    club = club_of(spelling)
    assert (club.name, club.known) == (name, True)


@pytest.mark.parametrize("word", OWN)
def test_other_words_stay_the_players_own_in_lower_case(word: str) -> None:
    club = club_of(word)
    assert (club.name, club.known) == (word.lower(), False)


@pytest.mark.parametrize("name", CANONICAL_CLUBS)
def test_canonical_names_read_as_themselves(name: str) -> None:
    assert club_of(name).name == name
    assert club_of(name.upper().replace("-", " ")).name == name


def test_the_names_are_those_of_the_contract() -> None:
    assert len(CANONICAL_CLUBS) == 1 + 8 + 9 + 9 + 4 + 19 + 1


@pytest.mark.parametrize(
    ("text", "language", "name"),
    [
        ("H7", "es", "7-iron"),
        ("H7", None, "7-hybrid"),
        ("H3", "de", "3-wood"),
        ("H4", "fr", "4-hybrid"),
        ("7i", "de", "7-iron"),
    ],
)
def test_a_letter_follows_the_language(text: str, language: str | None, name: str) -> None:
    assert club_of(text, language).name == name


def test_the_letters_of_a_file_settle_each_other() -> None:
    assert _names(["H7", "M3", "D"]) == ["7-iron", "3-wood", "driver"]
    assert _names(["H3", "E7"]) == ["3-wood", "7-iron"]
    assert _names(["4h", "7i", "3w"], "es") == ["4-hybrid", "7-iron", "3-wood"]


def test_single_letters_of_wedges_make_digits_irons() -> None:
    assert _names(["P", "S", "#9"]) == ["pitching-wedge", "sand-wedge", "9-iron"]


def test_bare_digits_are_irons_beside_clubs_that_are_spelt_out() -> None:
    assert _names(["D", "3w", "5", "9", "P", "S"]) == [
        "driver",
        "3-wood",
        "5-iron",
        "9-iron",
        "pitching-wedge",
        "sand-wedge",
    ]
    assert _names(["5", "9"]) == ["5", "9"]
    assert _names(["5", "7i"]) == ["5", "7-iron"]


@pytest.mark.parametrize(
    "spellings",
    [
        ("SW", "56"),
        ("7 Iron old", "7 iron new"),
        ("Driver 9°", "Driver 12°"),
        ("GW", "AW"),
        ("SW 54", "SW 58"),
        ("7 Iron", "7 iron (old)"),
        ("Sand Wedge", "SW 56"),
    ],
)
def test_two_clubs_told_apart_stay_apart(spellings: tuple[str, str]) -> None:
    first, second = _names(list(spellings))
    assert first != second


def test_spellings_of_one_club_come_together() -> None:
    assert set(_names(["SW", "Sand Wedge", "sandwedge"])) == {"sand-wedge"}
    assert set(_names(["AW", "Approach Wedge"])) == {"gap-wedge"}


def _names(spellings: list[str], language: str | None = None) -> list[str]:
    clubs = clubs_of(spellings, language)
    return [clubs[text].name for text in spellings]


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("ijz. 8", "8-iron"),
        ("Eis. 7", "7-iron"),
        ("hyb. 4", "4-hybrid"),
        ("Pitching W.", "pitching-wedge"),
        ("the driver", "driver"),
        ("sixty degree wedge", "60-wedge"),
        ("fifty-six wedge", "56-wedge"),
        ("Tre 3", "3-wood"),
        ("ferro tre", "3-iron"),
        ("Wed 5", "wed 5"),
        ("hole 3", "hole 3"),
    ],
)
def test_shortened_and_spelt_out_clubs(text: str, name: str) -> None:
    """Short forms that coaches write; common practice, no source."""
    assert club_of(text).name == name


def test_a_single_letter_beside_a_wedge_is_a_wedge() -> None:
    assert clubs_of(["P", "Gap", "Sand"])["P"].name == "pitching-wedge"
    assert not clubs_of(["P", "Driver", "7 iron"])["P"].known
