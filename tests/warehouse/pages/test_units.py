"""Lengths and numbers as pages write them."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from rangeledger.warehouse.pages.units import (
    METRES,
    YARDS,
    club_label,
    club_words,
    day,
    number,
    percent,
)


def test_lengths() -> None:
    assert YARDS.whole(91.44) == "100"
    assert METRES.tenth(91.44) == "91.4"
    assert YARDS.whole(None) == "–"
    assert YARDS.tenth(float("nan")) == "–"


@pytest.mark.parametrize(
    ("metres", "words"), [(3.66, "4 right"), (-1.83, "2 left"), (0.2, "0"), (None, "–")]
)
def test_sides_in_words(metres: float | None, words: str) -> None:
    assert YARDS.signed(metres) == words


@pytest.mark.parametrize(
    ("metres", "words"), [(6.4, "+7"), (-11.0, "−12"), (-0.1, "0"), (None, "–")]
)
def test_changes_with_their_sign(metres: float | None, words: str) -> None:
    assert YARDS.change(metres) == words


def test_numbers() -> None:
    assert number(-0.04, 1) == "0.0"
    assert number(-1.26, 1) == "−1.3"
    assert percent(0.0834) == "8 %"
    assert percent(None) == "–"


@pytest.mark.parametrize(
    ("club", "words"),
    [("pitching-wedge", "pitching wedge"), ("56-wedge", "56° wedge"), ("7-iron", "7-iron"),
     ("driver", "driver"), ("old faithful", "old faithful")],
)  # fmt: skip
def test_clubs_as_people_write_them(club: str, words: str) -> None:
    assert club_words(club) == words


def test_labels_name_what_is_special() -> None:
    assert club_label("56-wedge", "9:00") == "56° wedge 9:00"
    assert club_label("7-iron", "full", "range", "premium") == "7-iron (range ball)"
    assert club_label("7-iron", "full", "range", "range") == "7-iron"


def test_days() -> None:
    assert day(datetime(2026, 5, 2, 9, tzinfo=UTC)) == "2026-05-02"
    assert day(None) == "–"
