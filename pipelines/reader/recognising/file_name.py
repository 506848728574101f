"""What the name of an export says: only a club, and only in words that leave no doubt."""

from __future__ import annotations

import re
from functools import lru_cache

from rangeledger.pipelines.reader.recognising.facts import Fact
from rangeledger.schemas.clubs import club_of

_MOST_WORDS = 3


def facts_of_name(file_name: str) -> dict[str, Fact]:
    """Facts that a file's name states.

    Parameters
    ----------
    file_name : str
        With or without its ending.

    Returns
    -------
    dict[str, Fact]
        The club, if the name holds exactly one known club; used where the rows name none.
    """
    club = _club_in(file_name)
    return {"club": Fact("club", club, (), 0)} if club else {}


@lru_cache(maxsize=1024)
def _club_in(file_name: str) -> str | None:
    stem = re.sub(r"\.[A-Za-z]{1,5}$", "", file_name)
    words = [word for word in re.split(r"[\s_\-.,()]+", stem) if word]
    found: dict[str, str] = {}
    place = 0
    while place < len(words):
        for length in range(min(_MOST_WORDS, len(words) - place), 0, -1):
            text = " ".join(words[place : place + length])
            if _tells(text) and (len(words) > 1 or length > 1 or len(text) >= 5):
                found.setdefault(club_of(text).name, text)
                place += length
                break
        else:
            place += 1
    return next(iter(found.values())) if len(found) == 1 else None


def _tells(text: str) -> bool:
    """A known club in words, or a digit with a letter; lone letters and numbers say too little."""
    letters = sum(c.isalpha() for c in text)
    digits = sum(c.isdigit() for c in text)
    short = bool(re.fullmatch(r"[1-9][iwh]", text.casefold()))
    enough = letters >= 5 or short or (digits and letters >= 4)
    return bool(enough) and club_of(text).known
