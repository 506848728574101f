"""Whether the dates of a file are day-month or month-day, judged over the whole file."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from itertools import pairwise

from rangeledger.pipelines.reader.normalising.time_parts import DateText
from rangeledger.schemas.date_orders import DATE_ORDERS
from rangeledger.schemas.errors import ExportError
from rangeledger.schemas.reasons import FileReason
from rangeledger.schemas.vocabulary import LANGUAGES, vocabulary

_WORDS = {order: words for words, order in DATE_ORDERS.items()}


def _agree(texts: Sequence[DateText], orders: Sequence[str]) -> bool:
    return all(len({t.readings[o] for o in orders if o in t.readings}) <= 1 for t in texts)


def _monotone(values: Sequence[tuple[date, int]]) -> bool:
    pairs = list(pairwise(values))
    return all(a <= b for a, b in pairs) or all(a >= b for a, b in pairs)


def _by_language(orders: list[str], language: str | None) -> list[str]:
    usual = vocabulary(language).get("date_orders", []) if language in LANGUAGES else []
    return next(([order] for order in usual if order in orders), orders)


def _by_sequence(orders: list[str], steps: Sequence[tuple[DateText, int]]) -> list[str]:
    """Orders under which the rows run steadily forwards or backwards."""
    steady = [o for o in orders if _monotone([(t.readings[o], clock) for t, clock in steps])]
    return steady or orders


def date_order(
    texts: Sequence[DateText],
    steps: Sequence[tuple[DateText, int]],
    *,
    language: str | None = None,
    stated: str | None = None,
    usual: str | None = None,
    day: date | None = None,
    example: str = "",
) -> str:
    """Order of day, month and year in a file.

    Parameters
    ----------
    texts : sequence of DateText
        All distinct dates of the file that are written alike.
    steps : sequence of (DateText, int)
        Dates in the order of the rows, each with the milliseconds since midnight (0 if unknown);
        repeats may be left out.
    language : str or None
        The file's language; German, French, Spanish and Swedish write the day before the month.
    stated : str or None
        What a note says: `day-month`, `month-day` or `year-month-day`.
    usual : str or None
        What the home's settings say of dates that nothing else settles.
    day : date or None
        The day of the visit, where the file says it elsewhere.
    example : str
        A date as the file writes it, for the message.

    Returns
    -------
    str
        `ymd`, `dmy` or `mdy`.

    Raises
    ------
    ExportError
        Where two orders remain that give different dates.

    Notes
    -----
    Narrowed in turn by: a number above 12, the note, the day of the visit, the language, the
    sequence of the rows (only one order makes it run steadily), and what is usual in the home.
    """
    orders = [o for o in ("ymd", "dmy", "mdy") if all(o in t.readings for t in texts)]
    if stated and DATE_ORDERS.get(stated) in orders:
        return DATE_ORDERS[stated]
    if day and len(orders) > 1:
        orders = [o for o in orders if any(t.readings[o] == day for t in texts)] or orders
    if len(orders) > 1 and not _agree(texts, orders):
        orders = _by_language(orders, language)
    if len(orders) > 1 and not _agree(texts, orders):
        orders = _by_sequence(orders, steps)
    if len(orders) > 1 and usual and not _agree(texts, orders):
        orders = [o for o in orders if o == DATE_ORDERS.get(usual)] or orders
    if len(orders) == 1 or (orders and _agree(texts, orders)):
        return orders[0]
    raise ExportError(_message(orders, example), FileReason.UNCLEAR_TIMES)


def _message(orders: list[str], example: str) -> str:
    if not orders:
        return (
            f"The dates such as {example!r} follow no single order of day and month. "
            "Write them as 2025-06-07 and offer the file again."
        )
    choices = " or ".join(f'date_order = "{_WORDS[order]}"' for order in orders)
    return (
        f"The dates such as {example!r} can be read in {len(orders)} ways. "
        f"Put {choices} into a note file beside the export (or into settings.toml, for every "
        "export that leaves it open) and offer it again."
    )
