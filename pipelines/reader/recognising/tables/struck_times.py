"""When the shots of a table were struck: columns of dates and times, zones, facts and notes."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from zoneinfo import ZoneInfo

import numpy as np
import polars as pl
from rangeledger.pipelines.reader.normalising.times import constant_time, read_times
from rangeledger.pipelines.reader.normalising.zones import to_utc
from rangeledger.pipelines.reader.recognising.columns.assignment import Assigned
from rangeledger.pipelines.reader.recognising.columns.profile import Profile
from rangeledger.pipelines.reader.recognising.tables.odd_cells import Rejection
from rangeledger.pipelines.reader.recognising.tables.stated import Stated
from rangeledger.pipelines.reader.recognising.tables.word_columns import (
    constant_text,
    filled_down,
)
from rangeledger.pipelines.reader.recognising.words.dates_in_text import DATE_ORDER, order_in
from rangeledger.pipelines.reader.recognising.words.facts import TWO_DAYS
from rangeledger.pipelines.reader.recognising.words.heading import Heading
from rangeledger.schemas.compositions import DATE, DATETIME, TIME, ZONE
from rangeledger.schemas.errors import ExportError
from rangeledger.schemas.reasons import FileReason, RowReason
from rangeledger.schemas.units import UNITS
from rangeledger.schemas.words import fold, words_of

_ISO = re.compile(r"^[0-9]{4}-[0-9]{2}-[0-9]{2} [0-9]{2}:[0-9]{2}:[0-9]{2}$")
_OFFSET = (
    r"^(?i:UTC|GMT)?\s?[+-][0-9]{1,2}(?::?[0-9]{2})?$|^(?i:UTC|GMT|Z)$|^(?:CES?T|MES?Z|[ECP][SD]T)$"
)
_WITHOUT_OFFSET = r"[0-9]:[0-9]{2}(?:[.,][0-9]+)?(?:\s?[AaPp][Mm])?$"
_UTC = (
    r"(?<![^\W_])(?:(?i:UTC|GMT))(?:\s?[+-][0-9]{1,2}(?::?[0-9]{2})?)?(?![A-Za-z])"
    r"|\b(?:CES?T|MES?Z)\b"
)
_SHORT_YEAR = r"^(\s*[0-9]{1,2}\.\s?[0-9]{1,2}\.\s?)([0-9]{2})\s*$"
_COMPACT_CLOCK = r"^\s*([01]?[0-9]|2[0-3])([0-5][0-9])([0-5][0-9])\s*$"
_TIMES = (DATE, DATETIME, TIME)
# A clock that runs from a start: rows that tell it, what lies between two shots at least, as
# the median [s], which no hang time reaches, and the longest visit [s]. Common practice, no source.
_ZERO = r"^(?:0?0:)?0?0:00$"
_STOPWATCH = r"^(?:[0-9]{1,2}:)?[0-9]{1,3}:[0-9]{2}(?:\.[0-9]+)?$"
_FEWEST_RUNNING, _LEAST_BETWEEN_S, _LONGEST_VISIT_S = 4, 8.0, 12 * 3600.0


Running = tuple[str, pl.Series]


def struck_times(
    columns: Mapping[str, Assigned],
    stated: Stated,
    rejections: list[Rejection],
    running: Running | None = None,
) -> pl.Series:
    """Instants of the rows, from their columns, else lines, else the note.

    Parameters
    ----------
    columns : mapping of str to Assigned
        What became of the table's columns.
    stated : Stated
        What is said beside the rows; gets a remark where a time is open.
    rejections : list of Rejection
        Gets the rows whose cell is no time.
    running : (str, polars.Series), optional
        As `running_column` gives it: a stated time is that of the start then, on a column's day.

    Returns
    -------
    polars.Series
        Datetime in UTC [ms], null where nobody says.

    Raises
    ------
    ExportError
        If dates can be read in two ways and nothing decides.
    """
    note = stated.given.note
    texts = _texts(columns, stated, started=running is not None)
    zone = note.zone or stated.given.zone
    offset = _offset(columns, stated)
    if offset is not None:
        texts = [_with_offset(text, offset) for text in texts]
        zone = note.zone or _named_zone(offset) or zone
    two = stated.text_of(TWO_DAYS) if not ({DATE, DATETIME} & columns.keys() or note.day) else None
    if two is not None:
        raise ExportError(
            f"Lines of the export name two days for the same shots: {two.drop_nulls()[0]}. State "
            "the date in a note beside the export.",
            FileReason.UNCLEAR_TIMES,
        )
    if texts:
        quick = _iso_times(texts, zone)
        if quick is not None:
            _refuse_another_day(quick, columns, stated, zone)
            return quick
        times = read_times(
            *texts,
            zone=zone,
            language=stated.given.language,
            day=note.day,
            order=note.date_order or _date_order(columns, stated),
            usual_order=stated.given.usual_date_order,
            day_above=DATE not in columns and DATETIME not in columns,
        )
        if times.remark:
            stated.remarks.append(times.remark)
        rejections += _no_times(times.bad, texts)
        _refuse_another_day(times.struck_at, columns, stated, zone)
        return times.struck_at
    length = len(stated.block_of)
    moment = note.moment or note.day
    if moment is not None:
        return constant_time(length, moment=moment, zone=zone).struck_at
    return pl.repeat(None, length, dtype=pl.Datetime("ms", "UTC"), eager=True)


def running_column(
    columns: Mapping[str, Assigned], unassigned: Sequence[Profile], stated: Stated
) -> Running | None:
    """The one column that counts the time since a start that a line states, or since the last shot.

    Parameters
    ----------
    columns : mapping of str to Assigned
        What became of the table's columns; None is found beside one of times.
    unassigned : sequence of Profile
        Columns without a canonical meaning.
    stated : Stated
        What is said beside the rows.

    Returns
    -------
    (str, polars.Series) or None
        Its heading and seconds since the start, row by row.
    """
    timed = {TIME, DATETIME} & columns.keys()
    if timed or all(stated.text_of(name) is None for name in (TIME, DATETIME)):
        return None
    mark = stated.marks.decimal
    found = [
        (profile.heading.text, passed)
        for profile in unassigned
        if (passed := _running(profile, mark)) is not None
        or (passed := _gaps(profile, mark)) is not None
    ]
    return found[0] if len(found) == 1 else None


def since_start(struck: pl.Series, stated: Stated, running: Running | None) -> pl.Series:
    """Instants of rows that count the seconds from a start that a line states.

    Parameters
    ----------
    struck : polars.Series
        As `struck_times` gives them.
    stated : Stated
        What is said beside the rows; gets a remark where seconds were added.
    running : (str, polars.Series) or None
        As `running_column` gives it.

    Returns
    -------
    polars.Series
        With the seconds added where one column runs, else as given.
    """
    if running is None or struck.n_unique() != 1:
        return struck
    heading, passed = running
    stated.remarks.append(f"Column {heading!r} runs from the start; it was added to its time.")
    frame = pl.DataFrame({"start": struck, "ms": (passed * 1000.0).round(0).cast(pl.Int64)})
    later = pl.col("start") + pl.duration(milliseconds="ms", time_unit="ms")
    return frame.select(later.alias(struck.name)).to_series()


def _running(profile: Profile, decimal: str) -> pl.Series | None:
    """Seconds of a column in units of time that only ever grow, as those since a start do."""
    per_unit = _seconds_in(profile.heading)
    text = profile.text.str.strip_chars()
    passing = "elapsed" in profile.heading.tags or bool(text.head(1).str.contains(_ZERO).any())
    if passing and text.str.contains(_STOPWATCH).fill_null(False).all():
        seconds = _stopped(text)
    elif per_unit is None:
        return None
    else:
        numbers = text.str.replace(decimal, ".", literal=True)
        seconds = numbers.cast(pl.Float64, strict=False) * per_unit
    if len(seconds) < _FEWEST_RUNNING or seconds.null_count():
        return None
    values = seconds.to_numpy()
    gaps = np.diff(values)
    runs = bool((gaps > 0).all()) and float(np.median(gaps)) >= _LEAST_BETWEEN_S
    return seconds if runs and values[0] >= 0.0 and values[-1] <= _LONGEST_VISIT_S else None


def _gaps(profile: Profile, decimal: str) -> pl.Series | None:
    """Seconds since the first shot of a column that counts those since the shot before.

    Without a unit they are seconds, which shots can't follow faster than people swing.
    """
    if "gap" not in profile.heading.tags:
        return None
    text = profile.text.str.strip_chars()
    if text.str.contains(_STOPWATCH).fill_null(True).all():
        gaps = _stopped(text)
    else:
        bare = text.str.extract(r"^([0-9]+(?:[.,][0-9]+)?)(?:\s?s)?$")
        numbers = bare.str.replace(decimal, ".", literal=True).cast(pl.Float64, strict=False)
        gaps = numbers * (_seconds_in(profile.heading) or 1.0)
    behind = gaps.slice(1)  # what stands beside the first shot is no gap between two
    if behind.null_count() or len(behind) + 1 < _FEWEST_RUNNING:
        return None
    known = float(behind.median() or 0.0) >= _LEAST_BETWEEN_S  # type: ignore[arg-type]
    passed = pl.concat([pl.Series([0.0]), behind]).cum_sum()
    return passed if known and passed[-1] <= _LONGEST_VISIT_S else None


def _seconds_in(heading: Heading) -> float | None:
    """Seconds in the unit of time that a heading names; None where it names none."""
    factors = {UNITS[u].factor for u in heading.units if UNITS[u].dimension == "time"}
    if len(factors) == 1:
        return factors.pop()
    words = {words_of("clock_parts").get(word) for word in fold(heading.text).split()}
    return 60.0 if "minute" in words else None


def _stopped(text: pl.Series) -> pl.Series:
    """Seconds of `mm:ss` and `h:mm:ss`, as a stopwatch shows them."""
    parts = pl.col("text").str.split(":").list.reverse().cast(pl.List(pl.Float64))
    minutes, hours = (parts.list.get(k, null_on_oob=True).fill_null(0.0) for k in (1, 2))
    seconds = parts.list.get(0) + 60.0 * minutes + 3600.0 * hours
    return text.to_frame("text").select(seconds).to_series()


def _texts(columns: Mapping[str, Assigned], stated: Stated, *, started: bool) -> list[pl.Series]:
    """Cells of dates and times, then what lines state where no column does."""
    texts = [columns[name].profile.text for name in _TIMES if name in columns]
    if DATE in columns:
        # A day that stands once above its shots, as in merged cells, holds for those below it.
        beside = [columns[name].profile.text for name in ("player", "club") if name in columns]
        filled = filled_down(texts[0], beside)
        if filled is not None:
            stated.remarks.append("A date stands once above its shots; it was filled down.")
        texts[0] = _with_century(texts[0] if filled is None else filled)
    if TIME in columns and DATE in columns:
        texts[-1] = _with_colons(texts[-1])
    for name in _TIMES:
        if stated.given.note.day and name in (DATE, DATETIME) and stated.is_of_the_name(name):
            continue  # the note knows better than the file's name
        fact = stated.text_of(name) if name not in columns else None
        if fact is not None and (started or name == DATE or DATE not in columns):
            texts.append(_with_century(fact) if name == DATE else fact)
    return texts


def _refuse_another_day(
    struck_at: pl.Series, columns: Mapping[str, Assigned], stated: Stated, zone: ZoneInfo
) -> None:
    """Refuse where the note names a day on which, by the export, no shot was struck."""
    note = stated.given.note
    day = note.day or (note.moment.date() if note.moment else None)
    instants = struck_at.drop_nulls()
    if day is None or not len(instants):
        return
    days = {*instants.dt.date(), *instants.dt.convert_time_zone(zone.key).dt.date()}
    named = [
        name for name in (DATE, DATETIME) if name in columns or stated.text_of(name) is not None
    ]
    if day in days or not named:
        return
    column = columns.get(named[0])
    where = f"column {column.profile.heading.text!r}" if column else stated.place_of(named[0])
    raise ExportError(
        f"The note says that the shots were struck on {day}, but {where} says {min(days)}. Correct "
        "the note, or leave its date out.",
        FileReason.UNCLEAR_TIMES,
    )


def _no_times(bad: pl.Series, texts: Sequence[pl.Series]) -> list[Rejection]:
    """The rows whose cells are no time, with what stands in them."""
    rows = np.flatnonzero(bad.to_numpy())
    if not rows.size:
        return []
    cells = zip(*(text.gather(rows).to_list() for text in texts), strict=True)
    unreadable = [" ".join(cell or "" for cell in row).strip() for row in cells]
    return [
        Rejection(
            RowReason.BAD_TIME, rows, [f"{text!r} is no date or time." for text in unreadable]
        )
    ]


def _date_order(columns: Mapping[str, Assigned], stated: Stated) -> str | None:
    """Order of day and month as the heading of the dates says it, else a line."""
    for name in (DATE, DATETIME, TIME):
        order = order_in(columns[name].profile.heading.text) if name in columns else None
        if order:
            return order
    stated_order = stated.text_of(DATE_ORDER)
    orders = set() if stated_order is None else set(stated_order.drop_nulls())
    return orders.pop() if len(orders) == 1 else None


def _offset(columns: Mapping[str, Assigned], stated: Stated) -> pl.Series | None:
    """Offset from UTC or zone of the times, as a column, their heading or a line says it."""
    if ZONE in columns:
        return columns[ZONE].profile.text
    for name in (TIME, DATETIME):
        found = re.search(_UTC, columns[name].profile.heading.text) if name in columns else None
        if found:
            return constant_text(found[0], len(stated.block_of))
    return stated.text_of(ZONE)


def _iso_times(texts: Sequence[pl.Series], zone: ZoneInfo) -> pl.Series | None:
    """Instants of a single clean column `2025-06-07 09:00:00`; None for all else."""
    if len(texts) != 1:
        return None
    text = texts[0]
    if not len(text) or not _ISO.match(text[0] or "") or text.null_count():
        return None
    local = text.str.to_datetime("%Y-%m-%d %H:%M:%S", time_unit="ms", strict=False)
    if local.null_count():
        return None
    instants, remark = to_utc(local, zone)
    return None if remark else instants.alias("struck_at")


def _with_offset(text: pl.Series, offset: pl.Series) -> pl.Series:
    """Times of day with the offset from UTC that stands beside them, unless they have their own."""
    frame = pl.DataFrame({"time": text, "offset": offset.str.strip_chars()})
    apart = pl.col("offset").str.contains(_OFFSET) & pl.col("time").str.contains(_WITHOUT_OFFSET)
    joined = pl.concat_str("time", pl.lit(" "), "offset")
    joint = pl.when(apart.fill_null(False)).then(joined).otherwise("time")
    return frame.select(joint.alias("time")).to_series()


def _named_zone(zones: pl.Series) -> ZoneInfo | None:
    """The zone whose name all rows share, such as `Europe/Berlin`."""
    names = zones.drop_nulls().str.strip_chars().unique().to_list()
    if len(names) != 1 or "/" not in names[0]:
        return None
    try:
        return ZoneInfo(names[0])
    except (KeyError, ValueError, OSError):
        return None


def _with_colons(text: pl.Series) -> pl.Series:
    """`143005` as `14:30:05`, where all cells of a column are so written."""
    if not bool(text.str.contains(_COMPACT_CLOCK).fill_null(False).all()):
        return text
    return text.str.replace(_COMPACT_CLOCK, "${1}:${2}:${3}")


def _with_century(text: pl.Series) -> pl.Series:
    """`04.03.26` as `04.03.2026` where a date is asked for: by itself it is a time of day too."""
    return text.str.replace(_SHORT_YEAR, "${1}20$2")
