"""Days and times of day within a text: `Practice, Monday 18 May 2026, 2.30 pm`."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import pairwise

from rangeledger.pipelines.reader.normalising.characters import plain_characters
from rangeledger.pipelines.reader.normalising.phrases import any_of, pieces_of
from rangeledger.pipelines.reader.normalising.time_parts import read_clock, read_date
from rangeledger.schemas.words import fold, words_of

DATE_ORDER = "date_order"  # no column, but it says how dates are to be read
_ORDER_IN_LETTERS = re.compile(
    r"\b(?:(?P<d>dd?|tt?|jj?|gg?)[-/. ]mm?|(?P<m>mm?)[-/. ](?:dd?|tt?|jj?|gg?))"
    r"[-/. ](?:yy|yyyy|jj|jjjj|aa|aaaa|åå|åååå)\b",
    re.I,
)
_ORDERS = {("day", "month"): "day-month", ("month", "day"): "month-day"}

_SENTENCE_END = re.compile(r"(?:(?<=[a-zà-ÿ)]{3})|(?<=/[a-zà-ÿ])|(?<=[0-9°]))\.\s+(?=[A-ZÀ-Þ])")
_NUMERIC = (
    r"(?<![0-9.,/:'-])(?:[0-9]{4}\s?([-/.])\s?[0-9]{1,2}\s?\1\s?[0-9]{1,2}"
    r"|[0-9]{1,2}\s?([-/.])\s?[0-9]{1,2}\s?\2\s?[0-9]{4})(?![0-9]|[-/][0-9]|[.,][0-9])"
)
_NORTHERN = r"(?<![0-9.,/:'-])[0-9]{1,2}/[0-9]{1,2}\s?[- ]\s?[0-9]{4}(?![0-9]|[-/][0-9])"
# Two digits of a year, or spaces between the parts: only where a day is asked for.
_SHORT = (
    r"(?<![0-9.,/:'-])[0-9]{1,2}\s?([-/.])\s?[0-9]{1,2}\s?\1\s?'?[0-9]{2}(?![0-9]|[-/:.,][0-9])"
    r"|(?<![0-9.,/:'-])[0-9]{1,2} [0-9]{1,2} [0-9]{4}(?![0-9])"
)
_COMPACT = r"(?<![0-9])(?:19|20)[0-9]{2}(?:0[1-9]|1[0-2])(?:0[1-9]|[12][0-9]|3[01])(?![0-9])"
_WEEK = r"(?<![0-9])[0-9]{4}-?W[0-9]{2}-?[1-7](?![0-9])"
_ORDINAL = r"(?:st|nd|rd|th|er|°|º|ª|:e|:a|a|e)?"
_BETWEEN = r"[\s./-]*(?:(?:of|de|del|den)\s+|d'\s?)?"
_YEAR = r"(?P<year>[0-9]{4}|'[0-9]{2}|[0-9]{2}(?=\s*$|\s*[,;)]|\s+(?:at|um|kl)\b))"
_HALVES = r"(?:[ap]\.?\s?m\b\.?)"
# Without seconds `14:30-15:30` is a stretch of time, and no offset from UTC.
_ZONES = (
    r"(?:\s?(?:Z\b|(?:UTC|GMT)(?:\s?[+-][0-9]{1,2})?|CES?T\b|MES?Z\b|\+[0-9]{2}:?[0-9]{2}(?![0-9])"
    r"|(?<=:[0-9]{2}:[0-9]{2})-[0-9]{2}:?[0-9]{2}(?![0-9])))?"
)
_CLOCKS = (
    r"(?<![0-9.,:/+-])[0-9]{1,2}\s?[:hH]\s?[0-9]{2}(?![0-9])(?:\s?[:m']\s?[0-9]{2}s?)?"
    rf"\s?{_HALVES}?{_ZONES}"
    rf"|(?<![0-9.,:/+-])[0-9]{{1,2}}\.[0-9]{{2}}(?:\.[0-9]{{2}})?\s?(?:{_HALVES}|Uhr\b|uur\b|h\b)"
    r"|(?<=kl )[0-9]{1,2}\.[0-9]{2}(?![0-9.])|(?<=kl\. )[0-9]{1,2}\.[0-9]{2}(?![0-9.])"
    r"|(?<=klockan )[0-9]{1,2}\.[0-9]{2}(?![0-9.])|(?<=klokken )[0-9]{1,2}\.[0-9]{2}(?![0-9.])"
    r"|(?<=um )[0-9]{1,2}\.[0-9]{2}(?![0-9.])|(?<=at )[0-9]{1,2}\.[0-9]{2}(?![0-9.])"
    r"|(?<=om )[0-9]{1,2}\.[0-9]{2}(?![0-9.])|(?<=ore )[0-9]{1,2}\.[0-9]{2}(?![0-9.])"
    rf"|(?<![0-9.,:/+-])[0-9]{{1,2}}\s?{_HALVES}|(?<![0-9.,:/+-])[0-9]{{1,2}}\s?(?:Uhr|uur)\b"
)
_CLOCK = re.compile(_CLOCKS, re.I)


@dataclass(frozen=True, slots=True)
class DateInText:
    """A day that a text states.

    Parameters
    ----------
    text : str
        As `read_date` takes it.
    start, end : int
        Where it stands in the text.
    whole : bool
        False for a day that has no year or is one of a stretch of days.
    """

    text: str
    start: int
    end: int
    whole: bool = True


@cache
def _month_dates() -> re.Pattern[str]:
    months = "|".join(sorted(map(re.escape, words_of("months")), key=len, reverse=True))
    return re.compile(
        rf"(?<![\w.,:/])(?P<day>[0-9]{{1,2}}){_ORDINAL}{_BETWEEN}(?P<m1>{months})(?![^\W\d_])"
        rf"\.?,?(?:{_BETWEEN}{_YEAR}(?![0-9]))?"
        rf"|(?<![^\W\d_])(?P<m2>{months})\.?\s+(?P<day2>[0-9]{{1,2}}){_ORDINAL}(?![0-9:])"
        rf"(?:,?\s+(?P<year2>[0-9]{{4}}|'[0-9]{{2}})(?![0-9]))?"
        rf"|(?<![0-9])(?P<year3>[0-9]{{4}})[\s,.-]+(?P<m3>{months})[\s.-]+(?P<day3>[0-9]{{1,2}})(?![0-9])",
        re.I,
    )


def _flat(text: str) -> str:
    """Text with every letter without its accent, so that places stay what they are."""
    return "".join((fold(c) or c) if c.isalpha() and len(fold(c)) == 1 else c for c in text)


@lru_cache(maxsize=4096)
def days_in(text: str, *, asked: bool = False) -> tuple[DateInText, ...]:
    """All days that a text states, in its order.

    Parameters
    ----------
    text : str
        A line or a part of one.
    asked : bool
        Whether a key asks for a day, so that two digits may be those of a year.

    Returns
    -------
    tuple of DateInText
        Each part of the text belongs to one day at most.
    """
    plain = plain_characters(text)
    found: list[DateInText] = []
    for pattern in (_NUMERIC, _NORTHERN, _WEEK, _COMPACT, *((_SHORT,) if asked else ())):
        for match in re.finditer(pattern, plain, re.I):
            free = all(match.end() <= day.start or day.end <= match.start() for day in found)
            written = match[0].replace("'", "")
            if pattern != _NORTHERN:
                written = re.sub(r"\s*([-/.])\s*", r"\1", written).replace(" ", "/")
            if free and read_date(written) is not None:
                found.append(DateInText(written, match.start(), match.end()))
    for match in _month_dates().finditer(_flat(plain)):
        free = all(match.end() <= day.start or day.end <= match.start() for day in found)
        worded = _worded(match) if free else None
        found += [worded] if worded else []
    in_order = sorted(found, key=lambda day: day.start)
    return tuple(_of_a_stretch(plain, day) for day in in_order)


def _worded(match: re.Match[str]) -> DateInText | None:
    month = match["m1"] or match["m2"] or match["m3"]
    day = match["day"] or match["day2"] or match["day3"]
    year = (match["year"] or match["year2"] or match["year3"] or "").strip("'")
    number = words_of("months")[fold(month)]
    if not year:
        return DateInText(match[0].strip(), match.start(), match.end(), whole=False)
    written = f"{year if len(year) == 4 else '20' + year}-{int(number):02d}-{int(day):02d}"
    return DateInText(written, match.start(), match.end()) if read_date(written) else None


@cache
def _range_before() -> re.Pattern[str]:
    """`18 to`, `18-`: another day before the one that is found, with the word before it."""
    between = rf"(?:-|&|{any_of('between', 'and', 'to')})"
    return re.compile(rf"(?:([^\W\d_]+)\s)?[0-9]{{1,2}}\.?\s?{between}\s?$", re.I)


def _of_a_stretch(text: str, day: DateInText) -> DateInText:
    """`18-20 May 2026` is not one day, but `Session 2 - 20 May 2026` is."""
    found = _range_before().search(text[: day.start])
    numbered = found is not None and " " in found[0].strip() and found[0].endswith(" ")
    if found is None or (numbered and fold(found[1] or "") in words_of("visits")):
        return day
    return DateInText(day.text, day.start, day.end, whole=False)


def without_days(text: str, days: tuple[DateInText, ...]) -> str:
    """What is left of a text once its days are taken out."""
    plain = plain_characters(text)
    for day in reversed(days):
        plain = f"{plain[: day.start]} ; {plain[day.end :]}"
    return plain


@lru_cache(maxsize=4096)
def clock_in(text: str) -> tuple[str, str] | None:
    """The time of day that a text states, the first of `14:30-15:30`, and what is left.

    Parameters
    ----------
    text : str
        A text without its days.

    Returns
    -------
    tuple[str, str] or None
        The time as it stands there, with its half of the day and its zone.
    """
    plain = plain_characters(text)
    for match in _CLOCK.finditer(plain):
        behind = re.match(r"\s*([^\W\d_][^\W\d_.]*\.?)", plain[match.end() :])
        half = behind[1] if behind and _is_half(behind[1]) else ""
        clock = f"{match[0].strip()} {half}".strip()
        if read_clock(clock) is not None:
            end = match.end() + (behind.end() if behind and half else 0)
            rest = re.sub(
                r"^\s*(?:-|to|bis|till|til|tot|a|à|until)\s*[0-9][0-9:.h]*", "", plain[end:]
            )
            return clock, f"{plain[: match.start()]} ; {rest}"
    for word in words_of("noon"):
        if re.search(rf"(?<![^\W_]){word}(?![^\W_])", fold(plain)):
            return "12:00", plain
    return None


def _is_half(word: str) -> bool:
    return fold(word) in words_of("am") or fold(word) in words_of("pm")


@lru_cache(maxsize=2048)
def order_in(text: str) -> str | None:
    """Order of day and month that a heading or a line states.

    Parameters
    ----------
    text : str
        `Date (dd/mm/yyyy)`, `Dates are month/day/year`, `Datum: Tag zuerst`.

    Returns
    -------
    str or None
        `day-month` or `month-day`; None where nothing is said, or both are.
    """
    orders = {
        "day-month" if found["d"] else "month-day" for found in _ORDER_IN_LETTERS.finditer(text)
    }
    pieces = pieces_of(text, ("parts_first", "date_parts"))
    orders |= {piece.meaning for piece in pieces if piece.kind == "parts_first"}
    for first, second, third in zip(pieces, pieces[1:], pieces[2:], strict=False):
        if third.meaning == "year":
            orders.add(_ORDERS.get((first.meaning, second.meaning), ""))
    orders.discard("")
    return orders.pop() if len(orders) == 1 else None


def sentences_of(text: str) -> list[str]:
    """Sentences of a line; the point behind the number of a day ends none: `am 12. Mai`."""
    ends = [
        found.start()
        for found in _SENTENCE_END.finditer(text)
        if not text[found.start() - 1].isdigit()
        or fold(text[found.end() :]).split(" ")[0] not in words_of("months")
    ]
    return [text[a:b].strip(" .") for a, b in pairwise([0, *ends, len(text)])]
