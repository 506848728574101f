"""Lengths on a page: yards or metres, and how numbers are written."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from typing import Any

from rangeledger.schemas.units import YARD_M


@dataclass(frozen=True, slots=True)
class PageUnit:
    """Unit of lengths on a page.

    Parameters
    ----------
    symbol : str
        `yd` or `m`.
    word : str
        Its plural in words.
    length_m : float
        Its length [m].
    """

    symbol: str
    word: str
    length_m: float

    def of(self, metres: float) -> float:
        """A length in this unit."""
        return metres / self.length_m

    def whole(self, metres: float | None) -> str:
        """A length as a whole number, a dash where unknown."""
        return number(None if metres is None else self.of(metres), 0)

    def tenth(self, metres: float | None) -> str:
        """A length with one decimal."""
        return number(None if metres is None else self.of(metres), 1)

    def signed(self, metres: float | None) -> str:
        """A side in words: `4 left`, `2 right`, `0`."""
        if metres is None or not math.isfinite(metres):
            return "–"
        rounded = round(self.of(metres))
        if rounded == 0:
            return "0"
        return f"{abs(rounded)} {'right' if rounded > 0 else 'left'}"

    def change(self, metres: float | None) -> str:
        """A change with its sign, as `+7` or `−12`."""
        if metres is None or not math.isfinite(metres):
            return "–"
        rounded = round(self.of(metres))
        return "0" if rounded == 0 else f"{'+' if rounded > 0 else '−'}{abs(rounded)}"


YARDS = PageUnit("yd", "yards", YARD_M)
METRES = PageUnit("m", "metres", 1.0)
UNITS = {"yd": YARDS, "m": METRES}


def number(value: float | None, decimals: int = 0) -> str:
    """A number with so many decimals, a dash where unknown."""
    if value is None or not math.isfinite(value):
        return "–"
    written = f"{value:.{decimals}f}"
    return written.replace("-", "−") if float(written) else written.lstrip("-")


def day(instant: Any) -> str:
    """A date as written on our pages, a dash where unknown."""
    return instant.strftime("%Y-%m-%d") if isinstance(instant, date) else "–"


def percent(value: float | None) -> str:
    """A share in per cent."""
    return number(None if value is None else 100.0 * value) + (" %" if value is not None else "")


def club_words(club: str) -> str:
    """A club as people write it: `pitching wedge`, `7-iron`, `56° wedge`."""
    head, _, tail = club.partition("-")
    if tail == "wedge" and head.isdigit():
        return f"{head}° wedge"
    return club if head.isdigit() else club.replace("-", " ")


def club_label(club: str, swing: str, ball: str = "", usual: str = "") -> str:
    """A club with its swing where that is not a full one, and its ball where not the usual one."""
    words = club_words(club) if swing == "full" else f"{club_words(club)} {swing}"
    return words if ball == usual else f"{words} ({ball} ball)"
