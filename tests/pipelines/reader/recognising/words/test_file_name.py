"""A club in a file's name. Expected: common practice, no source."""

from __future__ import annotations

import pytest
from rangeledger.pipelines.reader.recognising.words.file_name import facts_of_name


@pytest.mark.parametrize(
    ("name", "club"),
    [
        ("2026-05-02_driver.csv", "driver"),
        ("7i evening.csv", "7i"),
        ("sand-wedge-practice.csv", "sand wedge"),
        ("driver and 7-iron.csv", None),
        ("session-7.csv", None),
        ("export.csv", None),
    ],
)
def test_only_one_club_in_plain_words_is_taken(name: str, club: str | None) -> None:
    fact = facts_of_name(name).get("club")
    assert (fact.text if fact else None) == club
