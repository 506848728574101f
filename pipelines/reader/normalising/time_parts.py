"""One cell of dates and times taken apart, without deciding which number is the month."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from rangeledger.pipelines.reader.normalising.characters import plain_characters
from rangeledger.schemas.words import fold, words_of

FIRST_YEAR, LAST_YEAR = 1990, 2100
DAY_MS = 86_400_000

# Abbreviations that mean one offset wherever they are used; others (CST, IST, BST) don't.
_ZONE_HOURS = {
    "utc": 0, "gmt": 0, "z": 0, "wet": 0, "west": 1, "cet": 1, "mez": 1, "cest": 2, "mesz": 2,
    "eet": 2, "eest": 3, "edt": -4, "est": -5, "cdt": -5, "mdt": -6, "mst": -7, "pdt": -7,
    "pst": -8,
}  # fmt: skip

_CLOCK_INSIDE = re.compile(
    r"(?:(?<=[0-9])T|(?<![0-9A-Za-z:.,/\-]))"
    r"([0-9]{1,2}(?::[0-9]{2}|\s?[hHuU]\s?[0-9]{2})(?:[:m'.][0-9]{2})?s?(?:[.,:][0-9]{1,9})?"
    r"|[0-9]{1,2}(?=\s?[ap]\.?\s?m\b))",
    re.I,
)
_COMPACT_INSTANT = re.compile(r"^([0-9]{8})[T _-]?([0-9]{6}|[0-9]{4})(?:\.([0-9]{1,9}))?(Z)?$")
_CLOCK = re.compile(
    r"^([0-9]{1,2})(?:\s?[:.hHuU]\s?([0-9]{2}))?(?:[:.m']([0-9]{2})s?)?(?:[.,:]([0-9]{1,9}))?\s*(.*)$"
)
_DOTTED_CLOCK = re.compile(r"^[0-9]{1,2}\.[0-9]{2}(?:\.[0-9]{2})?(?:\s*\D+)?$")
_WORDS_BEFORE = re.compile(r"^\s*([^\W\d_]+(?:\s[^\W\d_]+)?)\.?\s+(?=[0-9])")
_OFFSET = re.compile(r"(?:utc|gmt)?\s*([+-])([0-9]{1,2}):?([0-9]{2})?$", re.I)
_NUMERIC_DATE = re.compile(r"^([0-9]{1,4})\s?([-/.:])\s?([0-9]{1,2})\s?\2\s?([0-9]{1,4})\.?$")
# `13/5-2025` and `13/5 2025`, as they are written in the north: the day stands first.
_NORTHERN_DATE = re.compile(r"^([0-9]{1,2})\s?[/.]\s?([0-9]{1,2})\s?[-–\s]\s?([0-9]{4})$")
_WEEK_DATE = re.compile(r"^([0-9]{4})-?W([0-9]{2})-?([1-7])$", re.I)  # ISO 8601
_COMPACT_DATE = re.compile(r"^([0-9]{4})([0-9]{2})([0-9]{2})$")


@dataclass(frozen=True, slots=True)
class DateText:
    """A date with the readings that its text allows.

    Parameters
    ----------
    readings : dict[str, date]
        Order of the parts (`ymd`, `dmy`, `mdy`) -> date. One entry, or several that agree, where
        the text leaves no choice.
    mark : str
        What parts the numbers; blank where the month is a word.
    """

    readings: dict[str, date]
    mark: str = ""


@dataclass(frozen=True, slots=True)
class ClockText:
    """A time of day: milliseconds since midnight, and minutes east of UTC where stated."""

    ms: int
    offset: int | None = None


def _date(year: int, month: int, day: int) -> date | None:
    if not FIRST_YEAR <= year <= LAST_YEAR:
        return None
    try:
        return date(year, month, day)
    except ValueError:
        return None


def _full_year(text: str) -> int:
    return int(text) + 2000 if len(text) == 2 else int(text)


def _numeric_date(a: str, mark: str, b: str, c: str) -> DateText | None:
    """Readings of three numbers; years of two digits are 20yy, and come first only with dashes."""
    if len(a) in (1, 2) and len(c) in (1, 2) and (len(c) == 1 or mark == ":"):
        return None
    readings: dict[str, date | None] = {}
    if len(a) == 4 and len(c) <= 2:
        readings["ymd"] = _date(int(a), int(b), int(c))
    elif len(a) <= 2 and len(c) in (2, 4):
        year = _full_year(c)
        readings["dmy"] = _date(year, int(b), int(a))
        if mark != ".":
            readings["mdy"] = _date(year, int(a), int(b))
        if len(c) == 2 and len(a) == 2 and mark == "-":
            readings["ymd"] = _date(_full_year(a), int(b), int(c))
    valid = {order: day for order, day in readings.items() if day}
    return DateText(valid, mark) if valid else None


def _week_date(year: int, week: int, weekday: int) -> DateText | None:
    try:
        return DateText({"ymd": date.fromisocalendar(year, week, weekday)})
    except ValueError:
        return None


def _word_date(text: str) -> DateText | None:
    """A date whose month is a word: `7 June 2025`, `June 7th, 2025`, `7. Juni 2025`, `7-Jun-25`."""
    months, fillers = words_of("months"), words_of("date_fillers")
    parts = re.findall(r"[0-9]+|[^\W\d_]+", text)
    month, numbers = 0, []
    for part in parts:
        folded = fold(part)
        if part.isdigit():
            numbers.append(part)
        elif folded in months and not month:
            month = int(months[folded])
        elif folded not in fillers:
            return None
    if not month or len(numbers) != 2:
        return None
    year_first = len(numbers[0]) == 4
    year, day = (numbers[0], numbers[1]) if year_first else (numbers[1], numbers[0])
    if len(year) not in (2, 4) or len(day) > 2:
        return None
    found = _date(_full_year(year), month, int(day))
    return DateText({"dmy": found}) if found else None


def _without_weekday(text: str) -> str:
    found = re.match(r"^([^\W\d_]+)\.?,?\s+(.*)$", text)
    if found and fold(found[1]) in words_of("date_fillers"):
        return _without_weekday(found[2])
    return text


def read_date(text: str) -> DateText | None:
    """Readings of a date.

    Parameters
    ----------
    text : str
        `2025-06-07`, `2025-W23-6`, `07.06.2025`, `6/7/25`, `20250607`, `Saturday, 7 June 2025`,
        `7 juin 2025`.

    Returns
    -------
    DateText or None
        None where the text is no date between 1990 and 2100.
    """
    plain = _without_weekday(plain_characters(text).strip(" ,;"))
    compact = _COMPACT_DATE.match(plain)
    if compact:
        found = _date(*(int(part) for part in compact.groups()))
        return DateText({"ymd": found}) if found else None
    week = _WEEK_DATE.match(plain)
    if week:
        return _week_date(*(int(part) for part in week.groups()))
    numeric = _NUMERIC_DATE.match(plain)
    if numeric:
        return _numeric_date(*numeric.groups())
    northern = _NORTHERN_DATE.match(plain)
    if northern:
        day, month, year = northern.groups()
        return _numeric_date(day, ".", month, year)
    return _word_date(plain)


def _offset_minutes(words: str) -> tuple[str, int | None] | None:
    """Words without a stated offset, and the offset; None where the words are not understood."""
    words = re.sub(r"\[.*\]$", "", words).strip()
    found = _OFFSET.search(words)
    if found:
        minutes = int(found[2]) * 60 + int(found[3] or 0)
        if minutes > 14 * 60:
            return None
        return words[: found.start()].strip(), minutes if found[1] == "+" else -minutes
    last = words.rsplit(maxsplit=1)[-1].casefold() if words else ""
    if last in _ZONE_HOURS:
        return words[: -len(last)].strip(), _ZONE_HOURS[last] * 60
    return words, None


def _hour_of_day(hour: int, half: str | None) -> int | None:
    if half is None:
        return hour if hour < 24 else None
    if not 1 <= hour <= 12:
        return hour if half == "pm" and 12 < hour < 24 else None
    return hour % 12 + (12 if half == "pm" else 0)


def _half_of_day(words: str) -> tuple[str | None, bool]:
    """`am`, `pm` or None, and whether the words are understood."""
    folded = fold(words)
    if folded in words_of("am"):
        return "am", True
    if folded in words_of("pm"):
        return "pm", True
    return None, not folded or folded in words_of("clock_words")


def _behind_clock_words(text: str) -> str:
    """A time of day without the words that stand before it: `ore 10.15`, `kl. 10`, `um 10:15`."""
    found = _WORDS_BEFORE.match(text)
    return text[found.end() :] if found and fold(found[1]) in words_of("before_clock") else text


def read_clock(text: str) -> ClockText | None:
    """A time of day.

    Parameters
    ----------
    text : str
        `10:05`, `10:05:43.250`, `10.05`, `10h05`, `10:05 PM`, `10:05 Uhr`, `10:05:43+02:00`.

    Returns
    -------
    ClockText or None
        None where the text is no time of day.
    """
    found = _CLOCK.match(_behind_clock_words(plain_characters(text)))
    if not found:
        return None
    hour, minute, second, fraction, words = found.groups()
    zoned = _offset_minutes(words)
    if zoned is None:
        return None
    half, known = _half_of_day(zoned[0])
    hour_of_day = _hour_of_day(int(hour), half)
    if not known or hour_of_day is None or (minute is None and half is None):
        return None
    if (fraction and not second) or int(minute or 0) > 59 or int(second or 0) > 60:
        return None
    ms = int((fraction or "0").ljust(3, "0")[:3])
    seconds = hour_of_day * 3600 + int(minute or 0) * 60 + min(int(second or 0), 59)
    return ClockText(seconds * 1000 + ms, zoned[1])


def split_instant(text: str) -> tuple[str, str]:
    """Date part and clock part of a cell; either may be blank.

    Parameters
    ----------
    text : str
        A date, a time of day, or both in either order.

    Returns
    -------
    tuple[str, str]
        The two parts as text.
    """
    plain = plain_characters(text)
    compact = _COMPACT_INSTANT.match(plain)
    if compact:
        day, clock, fraction, zone = compact.groups()
        spaced = ":".join(re.findall("..", clock)) + (f".{fraction}" if fraction else "")
        return day, spaced + (zone or "")
    found = _CLOCK_INSIDE.search(plain)
    if not found:
        dotted = re.match(r"^(\S*[0-9]{4}\S*|[0-9./-]{6,10})\s+([0-9]{1,2}\.[0-9]{2}.*)$", plain)
        if dotted:
            return dotted[1], dotted[2]
        worded = re.match(
            r"^(.*[0-9]{4})[\s,]+(?:kl|klockan|um|at)\.?\s+([0-9]{1,2}\.[0-9]{2}.*)$", plain
        )
        if worded:
            return worded[1], worded[2]
        # `28.08.25` is no time of day, but a date.
        if _DOTTED_CLOCK.match(_behind_clock_words(plain)) and (
            read_clock(plain) or not read_date(plain)
        ):
            return "", plain
        return plain, ""
    before, after = plain[: found.start()], plain[found.end() :]
    following = re.search(r"[\s,;]+(?=[0-9]{1,4}[-/.][0-9]{1,2}[-/.]|\S*\s*[0-9]{1,2}\S*\s)", after)
    if not before.strip() and following:
        return after[following.end() :], found[1] + after[: following.start()]
    if fold(before) in words_of("before_clock"):
        return "", found[1] + after
    joined = re.sub(r"(?:\s(?:um|à|at|kl\.?|a las|-)\s*|[\s,;T]+)$", "", before)
    return joined, found[1] + after
