"""The order of day and month where words say it: `Date (dd/mm/yyyy)`, `day/month/year`."""

from __future__ import annotations

import re
from functools import lru_cache

from rangeledger.pipelines.reader.normalising.phrases import pieces_of

DATE_ORDER = "date_order"  # no column, but it says how dates are to be read
_LETTERS = re.compile(
    r"\b(?:(?P<d>dd?|tt?|jj?|gg?)[-/. ]mm?|(?P<m>mm?)[-/. ](?:dd?|tt?|jj?|gg?))"
    r"[-/. ](?:yy|yyyy|jj|jjjj|aa|aaaa|åå|åååå)\b",
    re.I,
)
_ORDERS = {("day", "month"): "day-month", ("month", "day"): "month-day"}


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
    orders = {"day-month" if found["d"] else "month-day" for found in _LETTERS.finditer(text)}
    pieces = pieces_of(text, ("parts_first", "date_parts"))
    orders |= {piece.meaning for piece in pieces if piece.kind == "parts_first"}
    for first, second, third in zip(pieces, pieces[1:], pieces[2:], strict=False):
        if third.meaning == "year":
            orders.add(_ORDERS.get((first.meaning, second.meaning), ""))
    orders.discard("")
    return orders.pop() if len(orders) == 1 else None
