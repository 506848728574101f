"""Swings: full, a clock position, or the player's own feel label."""

from __future__ import annotations

import re

from rangeledger.pipelines.reader.normalising.characters import plain_characters
from rangeledger.pipelines.reader.normalising.missing import is_missing
from rangeledger.schemas.clubs import club_of
from rangeledger.schemas.remembering import remembered
from rangeledger.schemas.words import fold, words_of

FULL = "full"
_HOURS = re.compile(r"^\s*([0-9]{1,2})(?:[.,:]([0-9]{1,2}))?\s*$")
_PARTS_OF_AN_HOUR = {"5": 30, "50": 30, "25": 15, "75": 45}
_DIGITS = re.compile(r"^([0-9]{1,2})(?:\s*[:.h]\s*([0-9]{2})(?::00)?)?$", re.I)


def _clock(hour: int, minute: int) -> str | None:
    return f"{hour}:{minute:02d}" if 1 <= hour <= 12 and 0 <= minute < 60 else None


def _without_clock_words(text: str) -> tuple[str, bool]:
    """Text without `o'clock`, `Uhr`, `heures`, `kl`, and whether one of them was there."""
    words = sorted((w for w, m in words_of("clock_words").items() if m == "clock"), key=len)
    bare = re.sub(r"o['\s]?clock", " clock ", text.casefold())
    for word in reversed(words):
        bare, count = re.subn(rf"(?<![^\W\d_]){re.escape(word)}(?![^\W\d_])\.?", " ", bare)
        if count:
            return bare.strip(), True
    return text.strip(), False


def _and_a_half(text: str) -> str | None:
    """The Spanish `10 y media` and the French `10 heures et demie` -> 10:30."""
    half = r"(?:a las |las )?([0-9]{1,2})(?: heures| heure| h)? (?:y media|et demie?)"
    found = re.fullmatch(half, fold(text))
    return _clock(int(found[1]), 30) if found else None


def _half_past(text: str) -> str | None:
    """`half past ten` -> 10:30; the German and Swedish `halb elf` means the same time."""
    folded = fold(text)
    numerals = words_of("numerals") | {"ten": "10", "eleven": "11", "twelve": "12"}
    numerals |= {"zehn": "10", "elf": "11", "zwolf": "12", "tio": "10", "elva": "11", "tolv": "12"}
    for word, before in (("half past ", False), ("halb ", True), ("halv ", True)):
        if folded.startswith(word):
            rest = folded.removeprefix(word)
            hour = numerals.get(rest, rest)
            if hour.isdigit():
                return _clock((int(hour) - 2) % 12 + 1 if before else int(hour), 30)
    return None


@remembered
def clock_position(text: str) -> str | None:
    """Clock position such as `9:00`, None where the text is no clock position.

    Parameters
    ----------
    text : str
        `9:00`, `9 o'clock`, `9h`, `10.30`, `10h30`, `9 Uhr`, `9 heures`, `kl 9`, `half past ten`.

    Returns
    -------
    str or None
        Hour without a leading zero and two digits of minutes; a bare number is no position.
    """
    plain = plain_characters(text)
    half = _half_past(plain) or _and_a_half(plain)
    if half:
        return half
    found, worded = _DIGITS.match(plain), False
    if not found or found[2] is None:
        bare, worded = _without_clock_words(plain)
        found = _DIGITS.match(re.sub(r"(?<=[0-9])\s+(?=[0-9]{2}$)", ":", bare))
    if not found or (found[2] is None and not worded):
        return None
    return _clock(int(found[1]), int(found[2] or 0))


@remembered
def club_and_swing(text: str) -> tuple[str, str] | None:
    """A club and its swing where one cell states both.

    Parameters
    ----------
    text : str
        `GW 9:00`, `56° (10:30)`, `9 o'clock SW`, `PW full`.

    Returns
    -------
    tuple[str, str] or None
        The club's spelling and the swing; None where the cell names a club alone, or no known one.
    """
    words = text.split()
    if len(words) < 2 or club_of(text).known:
        return None
    for count in range(1, len(words)):
        for club, swing in ((words[:-count], words[-count:]), (words[count:], words[:count])):
            label = " ".join(swing).strip("()[]@,;-–/ ")
            extent = FULL if fold(label) in words_of("swings") else clock_position(label)
            name = " ".join(club).strip("@,;-–/ ")
            if extent and club_of(name).known:
                return name, extent
    return None


def asks_for_hours(heading: str) -> bool:
    """Whether a heading names swings by the clock: `Swing (o'clock)`, `Movimento (ore)`."""
    return not words_of("clocks").keys().isdisjoint(fold(heading.replace("'", "")).split())


def swing_by_hours(text: str | None) -> str | None:
    """Canonical swing of a cell below a heading that asks for hours: `8`, `7,5`, `7.30`."""
    found = _HOURS.match(text or "")
    if found is None:
        return swing_of(text)
    part = found[2] or "0"
    minutes = _PARTS_OF_AN_HOUR.get(part, int(part))
    return _clock(int(found[1]), minutes) or swing_of(text)


def swing_of(text: str | None) -> str | None:
    """Canonical swing of a cell.

    Parameters
    ----------
    text : str or None
        The cell.

    Returns
    -------
    str or None
        `full`, a clock position, or the player's own label in lower case; None where missing.
    """
    if text is None or is_missing(text):
        return None
    if fold(text) in words_of("swings"):
        return FULL
    return clock_position(text) or " ".join(text.casefold().split())
