"""When shots were struck: instants in UTC from dates, times of day, epochs and serial days."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, datetime
from enum import StrEnum
from typing import Any
from zoneinfo import ZoneInfo

import polars as pl
from rangeledger.pipelines.reader.normalising.date_order import date_order
from rangeledger.pipelines.reader.normalising.epochs import (
    are_serial_days,
    epoch_ms,
    numeric_cells,
    serial_dates_as_text,
    serial_ms,
)
from rangeledger.pipelines.reader.normalising.missing import is_missing
from rangeledger.pipelines.reader.normalising.time_parts import (
    DAY_MS,
    DateText,
    read_clock,
    read_date,
    split_instant,
)
from rangeledger.pipelines.reader.normalising.zones import INSTANT, NAIVE, to_utc

_NOON_MS = DAY_MS // 2


class TimeKind(StrEnum):
    """What an export knows about the time of its shots."""

    UTC = "utc"
    NAIVE = "naive"
    DATE = "date"
    CLOCK = "clock"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class Times:
    """Times of a file; every series is as long as the file has rows.

    Parameters
    ----------
    struck_at : pl.Series
        Instants in UTC to the millisecond; null where missing, bad, or of unknown date. Where
        only the day is known it is noon of that day, so that the day is right in every view.
    clock_ms : pl.Series
        Milliseconds since local midnight, null where unknown: the order of shots without a date.
    kind : TimeKind
        The least that is known of any row.
    missing : pl.Series
        Whether the row says nothing.
    bad : pl.Series
        Whether the row says something that is no time.
    remark : str
        A sentence on what was assumed; blank where nothing was.
    """

    struck_at: pl.Series
    clock_ms: pl.Series
    kind: TimeKind
    missing: pl.Series
    bad: pl.Series
    remark: str = ""


@dataclass(slots=True)
class _Column:
    """One column taken apart: date texts, clocks and offsets by row."""

    frame: pl.DataFrame  # cell, date_key, clock_ms, offset, instant_ms, missing, bad
    dates: dict[str, DateText]


_SCHEMA = {
    "cell": pl.String,
    "date_key": pl.String,
    "clock_ms": pl.Int64,
    "offset": pl.Int64,
    "missing": pl.Boolean,
    "bad": pl.Boolean,
}


def _take_apart(cell: str | None, dates: dict[str, DateText]) -> tuple[Any, ...]:
    if cell is None or is_missing(cell):
        return (cell, None, None, None, True, False)
    date_text, clock_text = split_instant(cell)
    bad = (cell, None, None, None, False, True)
    clock = read_clock(clock_text) if clock_text else None
    if clock_text and clock is None:
        return bad
    if date_text and date_text not in dates:
        found = read_date(date_text)
        if found is None:
            return bad
        dates[date_text] = found
    key = date_text or None
    return (cell, key, clock.ms if clock else None, clock.offset if clock else None, False, False)


# The usual shapes of an instant or a time of day, taken apart for a whole column at once.
_USUAL = (
    r"^(?:([0-9]{1,4}[-/.][0-9]{1,2}[-/.][0-9]{1,4})[T ])?([0-9]{1,2}):([0-9]{2})"
    r"(?::([0-9]{2})(?:\.([0-9]{1,9}))?)?(?: ?([AaPp])\.?[Mm]\.?)?(Z)?$"
)
_LARGE = 5_000


def _usual(text: pl.Series) -> pl.DataFrame:
    """Date text, clock and offset of the cells that have a usual shape; null for the others."""
    found = text.str.extract_groups(_USUAL).struct.unnest()
    found.columns = ["date_key", "hour", "minute", "second", "fraction", "half", "zulu"]
    hour, minute, second = (pl.col(n).cast(pl.Int64) for n in ("hour", "minute", "second"))
    second = second.fill_null(0)
    ms = pl.col("fraction").fill_null("0").str.pad_end(3, "0").str.slice(0, 3).cast(pl.Int64)
    half = pl.col("half").str.to_lowercase()
    hour_of_day = (
        pl.when(half.is_null()).then(hour).otherwise(hour % 12 + 12 * (half == "p").cast(pl.Int64))
    )
    possible = (minute < 60) & (second < 60)
    possible &= pl.when(half.is_null()).then(hour < 24).otherwise(hour.is_between(1, 12))
    clock_ms = (hour_of_day * 3600 + minute * 60 + second) * 1000 + ms
    return found.select(
        pl.when(possible).then("date_key").alias("date_key"),
        pl.when(possible).then(clock_ms).alias("clock_ms"),
        pl.when(possible & pl.col("zulu").is_not_null()).then(pl.lit(0)).alias("offset"),
    )


def _column(text: pl.Series) -> _Column:
    dates: dict[str, DateText] = {}
    if len(text) <= _LARGE:
        cells = text.to_list()
        parts = {cell: _take_apart(cell, dates) for cell in dict.fromkeys(cells)}
        rows = [parts[cell] for cell in cells]
        return _Column(pl.DataFrame(rows, schema=_SCHEMA, orient="row"), dates)
    usual = _usual(text)
    rest = text.set(usual["clock_ms"].is_not_null(), None)
    rows = [_take_apart(cell, dates) for cell in rest.drop_nulls().unique(maintain_order=True)]
    parted = pl.DataFrame(rows, schema=_SCHEMA, orient="row")
    frame = pl.DataFrame({"cell": rest}).join(parted, on="cell", how="left", maintain_order="left")
    return _with_usual(frame.with_columns(pl.col("bad").fill_null(False)), usual, dates)


def _with_usual(frame: pl.DataFrame, usual: pl.DataFrame, dates: dict[str, DateText]) -> _Column:
    """Join what was taken apart at once to the rest; a date that is none makes its row bad."""
    known = usual["clock_ms"].is_not_null()
    read = {key: read_date(key) for key in usual["date_key"].drop_nulls().unique()}
    dates.update({key: found for key, found in read.items() if found})
    none = [key for key, found in read.items() if found is None]
    wrong = usual["date_key"].is_in(none).fill_null(False)
    usual = usual.with_columns(pl.when(~wrong).then(pl.all()))
    joined = frame.with_columns(
        pl.coalesce(usual[name], pl.col(name)).alias(name) for name in usual.columns
    )
    return _Column(
        joined.with_columns(
            missing=pl.col("missing").fill_null(True) & ~known,
            bad=pl.col("bad") | wrong,
        ),
        dates,
    )


def _from_epoch(instant_ms: pl.Series) -> Times:
    struck_at = instant_ms.cast(INSTANT)
    nothing = pl.repeat(None, len(struck_at), dtype=pl.Int64, eager=True)
    good = pl.repeat(False, len(struck_at), eager=True)
    return Times(struck_at, nothing, TimeKind.UTC, struck_at.is_null(), good)


def _from_serial(value: pl.Series, zone: ZoneInfo) -> Times:
    """Spreadsheet serial days; whole numbers are dates."""
    dated = bool((value.drop_nulls() % 1.0 == 0.0).all())
    local_ms = serial_ms(value) + (_NOON_MS if dated else 0)
    clock = pl.repeat(None, len(value), dtype=pl.Int64, eager=True) if dated else local_ms % DAY_MS
    struck_at, remark = to_utc(local_ms.cast(NAIVE), zone)
    kind = TimeKind.DATE if dated else TimeKind.NAIVE
    good = pl.repeat(False, len(value), eager=True)
    return Times(struck_at, clock, kind, value.is_null(), good, remark)


def _resolve_dates(column: _Column, clock: pl.Series, order_of: Callable[..., str]) -> pl.Series:
    """Dates of the rows once the order of day and month is settled for all of them."""
    if not column.dates:
        return pl.repeat(None, len(column.frame), dtype=pl.Date, eager=True)
    open_dates = {key: text for key, text in column.dates.items() if len(text.readings) > 1}
    order = "dmy"
    if open_dates:
        marks = {text.mark for text in open_dates.values()}
        alike = {key: text for key, text in column.dates.items() if text.mark in marks}
        order = order_of(alike, _steps(column, clock, alike), example=next(iter(open_dates)))
    chosen = {
        key: text.readings.get(order) or next(iter(text.readings.values()))
        for key, text in column.dates.items()
    }
    return column.frame["date_key"].replace_strict(chosen, default=None, return_dtype=pl.Date)


def _steps(
    column: _Column, clock: pl.Series, dates: dict[str, DateText]
) -> list[tuple[DateText, int]]:
    """First and last row of every run of one date: enough to judge the sequence of a file."""
    rows = pl.DataFrame({"key": column.frame["date_key"], "ms": clock})
    runs = (
        rows.filter(pl.col("key").is_in(list(dates)))
        .with_columns(run=pl.col("key").rle_id())
        .group_by("run", maintain_order=True)
        .agg(pl.first("key"), pl.first("ms").alias("first"), pl.last("ms").alias("last"))
    )
    return [
        (dates[key], ms or 0)
        for key, first, last in runs.select("key", "first", "last").iter_rows()
        for ms in (first, last)
    ]


def _with_rollover(days: pl.Series, clock: pl.Series) -> pl.Series:
    """Days counted on where a time of day falls back by more than 12 h: past midnight."""
    step = clock.forward_fill().diff()
    passed = (step < -_NOON_MS).fill_null(False).cast(pl.Int32).cum_sum()
    return (days.cast(pl.Int32) + passed).cast(pl.Date)


def _as_serial_or_epoch(text: pl.Series, zone: ZoneInfo) -> Times | None:
    value = numeric_cells(text)
    if value is None:
        return None
    instant_ms = epoch_ms(text, value)
    if instant_ms is not None:
        return _from_epoch(instant_ms)
    return _from_serial(value, zone) if are_serial_days(value) else None


def read_times(
    *columns: pl.Series,
    zone: ZoneInfo,
    language: str | None = None,
    day: date | None = None,
    order: str | None = None,
    usual_order: str | None = None,
    day_above: bool = False,
) -> Times:
    """Times of the rows of an export.

    Parameters
    ----------
    *columns : pl.Series
        One or two text columns: a date, a time of day, or both in one.
    zone : ZoneInfo
        Zone of times that state none.
    language : str or None
        The file's language.
    day : date or None
        The day of the visit where it stands outside the rows (preamble, note).
    order : str or None
        `day-month`, `month-day` or `year-month-day`, where a note says so.
    usual_order : str or None
        The same for dates that nothing else settles.
    day_above : bool
        Whether the date stands above the rows, so that it is that of the first of them.

    Returns
    -------
    Times
        Instants, what is known of them, and which rows are missing or bad.

    Raises
    ------
    ExportError
        Where the order of day and month can't be told; the message says how to state it.

    Notes
    -----
    Understood are ISO 8601, dates with points, slashes, dashes or month names, 12-hour and
    24-hour clocks, epoch seconds to nanoseconds, and spreadsheet serial days.
    """
    texts = [column.cast(pl.String) for column in columns]
    if not texts:
        raise ValueError("read_times needs at least one column")
    if len(texts) == 1:
        numeric = _as_serial_or_epoch(texts[0], zone)
        if numeric is not None:
            return numeric
    parts = [_column(serial_dates_as_text(text)) for text in texts]

    def order_of(
        dates: dict[str, DateText], steps: list[tuple[DateText, int]], example: str
    ) -> str:
        texts = list(dates.values())
        return date_order(
            texts, steps, language=language, stated=order, usual=usual_order, day=day,
            example=example,
        )  # fmt: skip

    return _combined(parts, order_of, zone, day, day_above)


def _first(parts: list[_Column], name: str) -> pl.Series:
    frame = pl.DataFrame({str(i): part.frame[name] for i, part in enumerate(parts)})
    return frame.select(pl.coalesce(pl.all())).to_series()


def _combined(
    parts: list[_Column],
    order_of: Callable[..., str],
    zone: ZoneInfo,
    day: date | None,
    day_above: bool,
) -> Times:
    clock, offset = _first(parts, "clock_ms"), _first(parts, "offset")
    days = (
        pl.DataFrame(
            {str(i): _resolve_dates(part, clock, order_of) for i, part in enumerate(parts)}
        )
        .select(pl.coalesce(pl.all()))
        .to_series()
    )
    bad = (
        pl.DataFrame([p.frame["bad"].alias(str(i)) for i, p in enumerate(parts)])
        .select(pl.any_horizontal(pl.all()))
        .to_series()
    )
    stated = days.is_not_null() | clock.is_not_null()
    if day is not None and not days.is_not_null().any():
        anchor = pl.repeat(day, len(clock), dtype=pl.Date, eager=True)
        days = _with_rollover(anchor, clock).set(bad, None)
    elif day_above and len(parts) > 1 and days.drop_nulls().n_unique() == 1:
        days = _with_rollover(days, clock).set(bad, None)
    return _instants(days, clock, offset, bad, ~stated & ~bad, zone)


def _instants(
    days: pl.Series,
    clock: pl.Series,
    offset: pl.Series,
    bad: pl.Series,
    missing: pl.Series,
    zone: ZoneInfo,
) -> Times:
    """Join days, times of day and offsets; rows of an unknown part are noon or null."""
    dated, clocked = bool(days.is_not_null().any()), bool(clock.is_not_null().any())
    midnight = days.cast(NAIVE).cast(pl.Int64)
    whole_day = not clocked
    time_ms = pl.repeat(_NOON_MS, len(days), dtype=pl.Int64, eager=True) if whole_day else clock
    local = (midnight + time_ms).cast(NAIVE)
    instants, remark = to_utc(local, zone)
    if offset.is_not_null().any():
        stated = (midnight + time_ms - offset * 60_000).cast(NAIVE).dt.replace_time_zone("UTC")
        instants = pl.select(pl.coalesce(stated.cast(INSTANT), instants)).to_series()
    kind = TimeKind.NONE
    if dated and whole_day:
        kind = TimeKind.DATE
    elif dated:
        every = offset.is_not_null() | instants.is_null()
        kind = TimeKind.UTC if every.all() and offset.is_not_null().any() else TimeKind.NAIVE
    elif clocked:
        kind = TimeKind.CLOCK
    instants = instants.set(bad, None)
    return Times(instants.rename("struck_at"), clock, kind, missing, bad, remark)


def constant_time(length: int, *, moment: date | datetime, zone: ZoneInfo) -> Times:
    """Times of a file whose rows say nothing, from the day or moment that a note states.

    Parameters
    ----------
    length : int
        Number of rows.
    moment : date or datetime
        A day (noon is taken) or a moment; without a zone it is local time.
    zone : ZoneInfo
        Zone of a moment that states none.

    Returns
    -------
    Times
        The same instant for every row.
    """
    text = moment.isoformat()
    times = read_times(pl.repeat(text, length, dtype=pl.String, eager=True), zone=zone)
    return replace(times, missing=pl.repeat(False, length, eager=True))
