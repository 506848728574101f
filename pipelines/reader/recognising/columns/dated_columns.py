"""A day and a time of day whose parts stand in columns of their own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import polars as pl
from rangeledger.pipelines.reader.recognising.words.heading import Heading, read_heading
from rangeledger.schemas.words import fold, words_of

_DAY, _CLOCK = ("year", "month", "day"), ("hour", "minute", "second")
_RANGES = {
    "year": (1990, 2100), "month": (1, 12), "day": (1, 31),
    "hour": (0, 23), "minute": (0, 59), "second": (0, 59),
}  # fmt: skip
_WHOLE = r"^\s*[0-9]{1,4}(?:[.,]0*)?\s*$"


def join_date_parts(headings: list[Heading], texts: list[pl.Series]) -> None:
    """Make one column of a day, with its time where that is parted too.

    Parameters
    ----------
    headings : list of Heading
        One a column; changed in place.
    texts : list of polars.Series
        The cells of each; changed in place. Left alone unless year, month and day, and all parts
        of a time that are there, stand once each and hold whole numbers that can be such.
    """
    places = _places(headings)
    if not set(_DAY) <= places.keys():
        return
    parts = {name: _whole(texts[place], *_RANGES[name]) for name, place in places.items()}
    day = [parts[name] for name in _DAY]
    if any(part is None for part in day):
        return
    clock = [parts.get(name) for name in _CLOCK[: 3 if "second" in places else 2]]
    timed = {"hour", "minute"} <= places.keys() and all(part is not None for part in clock)
    joined = _joined(day, "-", (4, 2, 2))
    if timed:
        joined = joined + " " + _joined(clock, ":", (2,) * len(clock))
    title = headings[places["year"]].text
    for name in (*_DAY, *(_CLOCK if timed else ())):
        if name in places:
            headings[places[name]] = read_heading("")
            texts[places[name]] = pl.Series([None] * len(joined), dtype=pl.String)
    first = places["year"]
    heading = read_heading("date and time" if timed else "date")
    headings[first], texts[first] = replace(heading, text=title), joined


def _places(headings: Sequence[Heading]) -> dict[str, int]:
    """Where each part stands, of those that stand once."""
    found: dict[str, list[int]] = {}
    for place, heading in enumerate(headings):
        text = fold(heading.text)
        part = words_of("date_parts").get(text) or words_of("clock_parts").get(text)
        if part:
            found.setdefault(part, []).append(place)
    return {part: places[0] for part, places in found.items() if len(places) == 1}


def _whole(text: pl.Series, low: int, high: int) -> pl.Series | None:
    """Cells as whole numbers; None where one is none, or can't be such a part."""
    filled = text.drop_nulls().filter(text.drop_nulls().str.strip_chars() != "")
    if not len(filled) or not filled.str.contains(_WHOLE).all():
        return None
    numbers = text.str.extract(r"([0-9]+)").cast(pl.Int64, strict=False)
    inside = numbers.drop_nulls().is_between(low, high).all()
    return numbers if inside else None


def _joined(parts: Sequence[pl.Series | None], mark: str, widths: Sequence[int]) -> pl.Series:
    """`2025-09-04` of three columns; null where a part is missing."""
    frame = pl.DataFrame([p.alias(str(k)) for k, p in enumerate(parts) if p is not None])
    padded = [pl.col(str(k)).cast(pl.String).str.zfill(w) for k, w in enumerate(widths)]
    return frame.select(pl.concat_str(padded, separator=mark)).to_series()
