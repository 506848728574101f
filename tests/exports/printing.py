"""How an export writes numbers, clubs, sides and times, and what each written cell is worth."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

import numpy as np
from rangeledger.schemas.units import UNITS

from tests.exports.trade_words import CLUB_NOUNS, LONG_WEDGES, SHORT_WEDGES

ABBREVIATED_MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split()
LONG_MONTHS = {
    "en": "January February March April May June July August September October November December",
    "de": "Januar Februar März April Mai Juni Juli August September Oktober November Dezember",
    "fr": "janvier février mars avril mai juin juillet août septembre octobre novembre décembre",
    "es": "enero febrero marzo abril mayo junio julio agosto septiembre octubre noviembre "
    "diciembre",
    "sv": "januari februari mars april maj juni juli augusti september oktober november december",
}


@dataclass(frozen=True)
class NumberStyle:
    """Marks of the numbers of a file."""

    decimal: str = "."
    thousands: str = ""
    minus: str = "-"
    plus: str = ""

    def write(self, value: float, decimals: int) -> str:
        """A rounded number in this style."""
        body = f"{abs(value):,.{decimals}f}"
        body = "".join({",": self.thousands, ".": self.decimal}.get(c, c) for c in body)
        zero = float(f"{value:.{decimals}f}") == 0.0
        return (self.minus if value < 0 and not zero else "" if zero else self.plus) + body


@dataclass
class Column:
    """One printed column: heading, cells, and what the cells are worth in canonical units."""

    name: str
    heading: str
    unit: str = ""
    unit_word: str = ""
    cells: list[str] = field(default_factory=list)
    worth: list[Any] = field(default_factory=list)
    tolerance: float = 0.0


def printed(value: float, unit: str, decimals: int) -> tuple[float, float, float]:
    """Number as printed in `unit`, its worth in the canonical unit, and half its last digit."""
    scale = UNITS[unit]
    shown = float(f"{value / scale.factor - scale.offset:.{decimals}f}")
    worth = (shown + scale.offset) * scale.factor
    return shown, worth, (0.5 * 10.0**-decimals) * scale.factor * 1.02 + 1e-6


def club_word(club: str, language: str, style: str) -> str:
    """A club in one of several spellings."""
    number, _, kind = club.partition("-")
    nouns = CLUB_NOUNS[language]
    if club == "driver":
        return {"short": "D", "letters": "Dr", "one": "1W" if language == "en" else "Driver"}.get(
            style, "Driver"
        )
    if kind == "wedge" and not number.isdigit():
        return (SHORT_WEDGES if style in ("short", "letters", "hyphen") else LONG_WEDGES)[club]
    if kind == "wedge":
        return {
            "short": f"{number}°",
            "letters": f"{number}",
            "hyphen": f"{number}-deg wedge" if language == "en" else f"Wedge {number}°",
        }.get(style, f"Wedge {number}")
    noun = nouns[kind]
    if style in ("short", "letters") and language == "en":
        return f"{number}{kind[0].upper() if style == 'letters' else kind[0]}"
    if style == "hyphen":
        return f"{number}-{kind}" if language == "en" else f"{noun}-{number}"
    if style == "reverse":
        return f"{number}er {noun}" if language == "de" and kind != "hybrid" else f"{number} {noun}"
    if style == "upper":
        return f"{noun} {number}".upper()
    return f"{noun} {number}"


CLUB_STYLES = ("plain", "short", "letters", "hyphen", "reverse", "upper", "one")


def swing_word(swing: str, language: str, style: int) -> str:
    """A clock position in one of several spellings."""
    hour, minute = swing.split(":")
    spellings = {
        "en": (swing, f"{hour} o'clock" if minute == "00" else swing, f"{hour}.{minute}"),
        "de": (swing, f"{hour} Uhr" if minute == "00" else f"{hour}:{minute} Uhr", swing),
        "fr": (swing, f"{hour}h{minute}", f"{hour} h" if minute == "00" else f"{hour}h{minute}"),
        "es": (swing, f"{hour}:{minute} h", swing),
        "sv": (swing, f"kl {hour}" if minute == "00" else f"kl {hour}.{minute}", swing),
    }
    return spellings[language][style % 3]


@dataclass(frozen=True)
class TimeStyle:
    """How a file writes the time of its shots."""

    kind: str  # utc, naive, date, clock-with-day-above, none
    form: str
    open_order: bool = False  # day and month could be swapped


def _clock12(moment: datetime) -> str:
    return f"{(moment.hour - 1) % 12 + 1}:{moment:%M:%S} {'AM' if moment.hour < 12 else 'PM'}"


def write_instant(moment: datetime, form: str, language: str) -> str:
    """A moment (local and naive, or UTC for the forms that state a zone) as a cell."""
    m = moment
    serial = (m - datetime(1899, 12, 30)) / timedelta(days=1)
    long_month = LONG_MONTHS[language].split()[m.month - 1]
    forms = {
        "iso": f"{m:%Y-%m-%d %H:%M:%S}",
        "iso-t": f"{m:%Y-%m-%dT%H:%M:%S}",
        "iso-z": f"{m:%Y-%m-%dT%H:%M:%S}Z",
        "iso-ms": f"{m:%Y-%m-%d %H:%M:%S}.{m.microsecond // 1000:03d}",
        "iso-offset": f"{m + timedelta(hours=2):%Y-%m-%dT%H:%M:%S}+02:00",
        "epoch": f"{(m - datetime(1970, 1, 1)) // timedelta(seconds=1)}",
        "epoch-ms": f"{(m - datetime(1970, 1, 1)) // timedelta(milliseconds=1)}",
        "dots": f"{m:%d.%m.%Y %H:%M:%S}",
        "dots-short": f"{m:%d.%m.%y %H:%M}",
        "slash-dmy": f"{m:%d/%m/%Y %H:%M:%S}",
        "slash-mdy": f"{m:%m/%d/%Y} {_clock12(m)}",
        "slash-mdy-bare": f"{m.month}/{m.day}/{m.year} {m:%H:%M}",
        "month-word": f"{m.day} {long_month} {m.year} {m:%H:%M:%S}",
        "month-abbreviated": f"{m.day:02d}-{ABBREVIATED_MONTHS[m.month - 1]}-{m.year} {m:%H:%M:%S}",
        "serial": f"{serial:.8f}",
        "year-slash": f"{m:%Y/%m/%d %H:%M:%S}",
    }
    return forms[form]


def write_date(moment: datetime, form: str, language: str) -> str:
    """The day of a moment as a cell or on a line above the table."""
    m = moment
    long_month = LONG_MONTHS[language].split()[m.month - 1]
    forms = {
        "iso": f"{m:%Y-%m-%d}",
        "dots": f"{m:%d.%m.%Y}",
        "slash-dmy": f"{m:%d/%m/%Y}",
        "slash-mdy": f"{m:%m/%d/%Y}",
        "month-word": f"{m.day} {long_month} {m.year}",
        "compact": f"{m:%Y%m%d}",
    }
    return forms[form]


def write_clock(moment: datetime, form: str) -> str:
    """The time of day of a moment as a cell."""
    forms = {
        "24": f"{moment:%H:%M:%S}",
        "short": f"{moment:%H:%M}",
        "12": _clock12(moment),
        "h": f"{moment.hour}h{moment:%M}",
    }
    return forms[form]


def resolution(form: str, moment: datetime) -> datetime:
    """The moment that the written form keeps."""
    if form in ("dots-short", "slash-mdy-bare", "short", "h"):
        return moment.replace(second=0, microsecond=0)
    if form in ("iso-ms", "epoch-ms", "serial"):
        return moment.replace(microsecond=moment.microsecond // 1000 * 1000)
    return moment.replace(microsecond=0)


def side_cell(text: str, value: float, words: tuple[str, str], before: bool) -> str:
    """`3.4 L`, `L 3.4`: a magnitude with its side; zero keeps a side too."""
    word = words[0] if value < 0 or (value == 0 and math.copysign(1, value) < 0) else words[1]
    return f"{word} {text}" if before else f"{text} {word}"


def pick(rng: np.random.Generator, choices: Any) -> Any:
    """One of the choices by chance."""
    options = list(choices)
    return options[int(rng.integers(len(options)))]
