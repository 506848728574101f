"""Players named in lines without a key. The names are invented."""

from __future__ import annotations

import pytest
from rangeledger.pipelines.reader.recognising.words.names_in_text import (
    bare_name,
    full_name,
    is_name,
    person_in,
)


@pytest.mark.parametrize(
    "text",
    [
        "Tamsin Orrelle's session", "Session of Tamsin Orrelle", "Shots hit by Tamsin Orrelle",
        "Player Tamsin Orrelle", "Player - Tamsin Orrelle", "Practice session for Tamsin Orrelle",
        "Training von Tamsin Orrelle", "Séance de Tamsin Orrelle", "Sesión de Tamsin Orrelle",
        "Sessione di Tamsin Orrelle", "Sessie van Tamsin Orrelle", "Sessão de Tamsin Orrelle",
        "Pass för Tamsin Orrelle", "Træning for Tamsin Orrelle",
    ],
)  # fmt: skip
def test_a_player_is_found_without_a_key(text: str) -> None:
    assert person_in(text) == "Tamsin Orrelle"


@pytest.mark.parametrize(
    "text",
    [
        "Session by coach Tamsin Orrelle", "Lesson by Tamsin Orrelle", "Lesson with Tamsin Orrelle",
        "Printed by Tamsin Orrelle", "Session at Alder Meadow", "Session of Short Game",
        "Practice of Wedges", "Tamsin Orrelle", "Driver's test", "Erstellt von Tamsin Orrelle",
    ],
)  # fmt: skip
def test_staff_places_and_bare_words_are_no_players(text: str) -> None:
    assert person_in(text) is None


def test_what_is_said_of_a_player_is_no_part_of_the_name() -> None:
    assert bare_name("Tamsin Orrelle (handicap 12)") == "Tamsin Orrelle"
    assert bare_name("Tamsin Orrelle, HCP 4.1") == "Tamsin Orrelle"
    assert bare_name("Tamsin Orrelle (Alder)") == "Tamsin Orrelle (Alder)"


def test_two_parts_of_a_name_stand_as_their_key_says() -> None:
    assert full_name("Name, Vorname: Orrelle, Tamsin") == "Tamsin Orrelle"
    assert full_name("First name, last name: Tamsin, Orrelle") == "Tamsin Orrelle"
    assert full_name("Player: Orrelle, Tamsin") is None


def test_a_name_is_written_with_capitals_and_means_nothing_else() -> None:
    assert is_name("Ada van der Brook")
    assert is_name("J.-P. Moreau")
    assert not is_name("ada brook")
    assert not is_name("Range Meadow")
    assert not is_name("A Long Name Of Six Words")
