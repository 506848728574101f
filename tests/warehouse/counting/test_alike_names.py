from __future__ import annotations

import pytest
from rangeledger.warehouse.counting.alike_names import alike_names


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("T. Orrelle", "Tamsin Orrelle"),
        ("Orrelle, Tamsin", "Tamsin Orrelle"),
        ("Joakim Tverasen", "Joakim Tveråsen"),
        ("Tamsin Orelle", "Tamsin Orrelle"),
        ("Tamsin Orrlele", "Tamsin Orrelle"),
        ("Tamson Orrelle", "Tamsin Orrelle"),
    ],
)
def test_names_that_may_be_one_players_are_suggested(one: str, other: str) -> None:
    assert sorted(alike_names([other, one])[0]) == sorted((one, other))


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Ann Lind", "Ana Lind"),
        ("Tamsin Orrelle", "Tamsin Ostervik"),
        ("Bram Ostervik", "Tamsin Ostervik"),
        ("T. Orrelle", "T. Ostervik"),
        ("unknown", "unknowm"),
    ],
)
def test_other_names_are_not(one: str, other: str) -> None:
    assert alike_names([one, other]) == []
