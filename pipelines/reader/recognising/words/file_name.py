"""What the name of an export says in words that leave no doubt: club, day, player."""

from __future__ import annotations

import re
from functools import lru_cache

from rangeledger.pipelines.reader.normalising.phrases import pieces_of
from rangeledger.pipelines.reader.normalising.time_parts import read_date
from rangeledger.pipelines.reader.recognising.words.dates_in_text import days_in, without_days
from rangeledger.pipelines.reader.recognising.words.facts import Fact
from rangeledger.pipelines.reader.recognising.words.names_in_text import person_in
from rangeledger.schemas.clubs import club_of
from rangeledger.schemas.compositions import DATE

_MOST_WORDS = 3
_ENDING = re.compile(r"\.[A-Za-z]{1,5}$")
_UNDERLINED = re.compile(
    r"(?<![0-9])(?:[0-9]{4}_[0-9]{2}_[0-9]{2}|[0-9]{2}_[0-9]{2}_[0-9]{4})(?![0-9])"
)
# `18052026`: eight digits that are a day, a month and a year, and nothing the other way round.
_DAY_FIRST = re.compile(r"(?<![0-9])(0[1-9]|[12][0-9]|3[01])(0[1-9]|1[0-2])(20[0-9]{2})(?![0-9])")


def facts_of_name(file_name: str) -> dict[str, Fact]:
    """Facts that a file's name states.

    Parameters
    ----------
    file_name : str
        With or without its ending.

    Returns
    -------
    dict[str, Fact]
        The club, if the name holds exactly one known club; the one day that it states with its
        year; the player where a word says that it is one. Used where the rows and the lines beside
        them say nothing.
    """
    club = _club_in(file_name)
    found = {"club": Fact("club", club, (), 0)} if club else {}
    return found | _day_and_player(_ENDING.sub("", file_name))


def _day_and_player(stem: str) -> dict[str, Fact]:
    text = _UNDERLINED.sub(lambda day: day[0].replace("_", "-"), stem)
    text = re.sub(r"(?<![0-9])[_-]|[_-](?![0-9])|_", " ", text)
    text = _DAY_FIRST.sub(r"\3-\2-\1", text)
    days = days_in(text)
    found: dict[str, Fact] = {}
    rest = without_days(text, days)
    kinds = {piece.kind for piece in pieces_of(rest, ("other_days",))}
    single = len(days) == 1 and days[0].whole and "other_days" not in kinds
    if single and _is_settled(days[0].text):
        found[DATE] = Fact(DATE, days[0].text, (), 0, loose=True)
    person = person_in(" ".join(rest.replace(";", " ").split()))
    if person is not None:
        found["player"] = Fact("player", person, (), 0, loose=True)
    return found


def _is_settled(text: str) -> bool:
    """Whether a day can be read in one way: a name that leaves it open is no reason to refuse."""
    day = read_date(text)
    return day is not None and len(set(day.readings.values())) == 1


@lru_cache(maxsize=1024)
def _club_in(file_name: str) -> str | None:
    stem = _ENDING.sub("", file_name)
    words = [word for word in re.split(r"[\s_\-.,()]+", stem) if word]
    found: dict[str, str] = {}
    place = 0
    while place < len(words):
        for length in range(min(_MOST_WORDS, len(words) - place), 0, -1):
            text = " ".join(words[place : place + length])
            if _names_a_club(text) and (len(words) > 1 or length > 1 or len(text) >= 5):
                found.setdefault(club_of(text).name, text)
                place += length
                break
        else:
            place += 1
    return next(iter(found.values())) if len(found) == 1 else None


def _names_a_club(text: str) -> bool:
    """A known club in words, or a digit with a letter; lone letters and numbers say too little."""
    letters = sum(c.isalpha() for c in text)
    digits = sum(c.isdigit() for c in text)
    short = bool(re.fullmatch(r"[1-9][iwh]", text.casefold()))
    enough = letters >= 5 or short or (digits and letters >= 4)
    return bool(enough) and club_of(text).known
