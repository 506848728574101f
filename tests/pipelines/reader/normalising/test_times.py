"""Times against the standard library's zone rules and hand-written readings of each form."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import polars as pl
import pytest
from rangeledger.pipelines.reader.normalising.times import (
    TimeKind,
    Times,
    constant_time,
    read_times,
)
from rangeledger.schemas.errors import ExportError

BERLIN = ZoneInfo("Europe/Berlin")
FLAT = ZoneInfo("UTC")


def _read(*columns: list[str | None], **settings: object) -> Times:
    series = [pl.Series(column, dtype=pl.String) for column in columns]
    return read_times(*series, **{"zone": FLAT, **settings})


def _text(times: Times) -> list[str | None]:
    return times.struck_at.dt.to_string("%Y-%m-%d %H:%M:%S%.3f").to_list()


@pytest.mark.parametrize(
    "cell",
    [
        "2025-06-17T21:05:43", "2025-06-17 21:05:43", "20250617T210543", "20250617210543",
        "17.06.2025 21:05:43", "17/06/2025 21:05:43", "06/17/2025 9:05:43 PM",
        "17-06-2025 21:05:43",
        "2025/06/17 21:05:43", "17 June 2025 21:05:43", "June 17th, 2025 9:05:43 p.m.",
        "17. Juni 2025 21:05:43 Uhr", "17 juin 2025 21h05:43", "17 de junio de 2025 21:05:43",
        "tisdag 17 juni 2025 kl 21:05:43", "17-Jun-25 21:05:43", "17/06/25 21:05:43",
        "Tue, 17 Jun 2025 21:05:43", "17.06.2025 21.05.43", "21:05:43 17.06.2025",
        "2025:06:17 21:05:43", "2025-06-17T21:05:43Z", "2025-06-17T23:05:43+02:00",
        "2025-06-17 17:05:43 EDT", "1750194343", "1750194343000",
    ],
)  # fmt: skip
def test_forms_of_one_moment(cell: str) -> None:
    times = _read([cell])
    assert _text(times) == ["2025-06-17 21:05:43.000"]
    assert not times.bad.any()


def test_epochs_and_offsets_are_utc_and_the_rest_is_local() -> None:
    assert _read(["1750194343"]).kind is TimeKind.UTC
    assert _read(["2025-06-17T21:05:43+02:00"]).kind is TimeKind.UTC
    assert _read(["2025-06-17 21:05:43"], zone=BERLIN).kind is TimeKind.NAIVE
    assert _text(_read(["2025-06-17 21:05:43"], zone=BERLIN)) == ["2025-06-17 19:05:43.000"]


def test_fractions_of_a_second_are_kept_to_the_millisecond() -> None:
    cells = ["2025-06-17 21:05:43.25", "2025-06-17T21:05:43.123456Z", "2025-06-17 21:05:43,5"]
    assert [t[-3:] for t in _text(_read(cells)) if t] == ["250", "123", "500"]


@pytest.mark.parametrize(
    ("cells", "first"),
    [
        (["03/04/2025", "13/04/2025"], "2025-04-03"),
        (["03/04/2025", "03/14/2025"], "2025-03-04"),
        (["05/05/2025"], "2025-05-05"),
        (["03.04.2025"], "2025-04-03"),
        (["30/01/2025", "03/02/2025"], "2025-01-30"),
    ],
)
def test_the_file_settles_day_and_month(cells: list[str], first: str) -> None:
    times = _read(cells)
    assert times.kind is TimeKind.DATE
    assert (_text(times)[0] or "").startswith(first)


def test_the_sequence_settles_day_and_month() -> None:
    # As day-month the visits run forwards; as month-day they would jump to and fro.
    assert _text(_read(["01/02/2025 9:00", "02/02/2025 9:00", "01/03/2025 9:00"]))[2] == (
        "2025-03-01 09:00:00.000"
    )


@pytest.mark.parametrize("cells", [["03/04/2025"], ["03/04/2025 9:00 AM"], ["03-04-25"]])
def test_an_open_date_is_refused_with_the_way_out(cells: list[str]) -> None:
    with pytest.raises(ExportError, match="date_order") as caught:
        _read(cells)
    assert caught.value.code == "unclear-times"


def test_note_language_and_day_settle_day_and_month() -> None:
    cells = ["03/04/2025"]
    april, march = "2025-04-03 12:00:00.000", "2025-03-04 12:00:00.000"
    assert _text(_read(cells, order="day-month")) == [april]
    assert _text(_read(cells, order="month-day")) == [march]
    assert _text(_read(cells, language="fr")) == [april]
    assert _text(_read(cells, day=date(2025, 3, 4))) == [march]
    assert _text(_read(["25-04-03"], language="sv")) == [april]


def test_mixed_orders_are_refused() -> None:
    with pytest.raises(ExportError, match="no single order"):
        _read(["13/04/2025", "03/14/2025", "01/02/2025"])


def test_date_and_time_in_two_columns() -> None:
    times = _read(["17.06.2025", None, "18.06.2025"], ["21:05", "21:06", None])
    assert _text(times) == ["2025-06-17 21:05:00.000", None, None]
    assert times.missing.to_list() == [False, False, False]


def test_times_of_day_take_the_day_of_the_visit_and_run_past_midnight() -> None:
    times = _read(["23:59", None, "00:05"], day=date(2025, 6, 17))
    assert _text(times) == ["2025-06-17 23:59:00.000", None, "2025-06-18 00:05:00.000"]


def test_times_of_day_without_a_day_give_no_instant() -> None:
    times = _read(["10:05", "10:06"])
    assert times.kind is TimeKind.CLOCK
    assert times.struck_at.null_count() == 2
    assert times.clock_ms.to_list() == [36_300_000, 36_360_000]


@pytest.mark.parametrize("zone", ["Pacific/Auckland", "America/Los_Angeles", "Asia/Tokyo"])
def test_a_bare_date_is_that_day_in_its_zone(zone: str) -> None:
    instant = _read(["2025-06-17"], zone=ZoneInfo(zone)).struck_at[0]
    assert instant.astimezone(ZoneInfo(zone)).date() == date(2025, 6, 17)


@pytest.mark.parametrize(
    "cell",
    ["junk", "2025-02-30", "2025-13-01", "25:00", "0", "1900-01-01", "12.5", "2025-06-17 24:30",
     "2025-06-17 10:05 CST", "13/25/2025", "2025-06-17 10:05 tomorrow"],
)  # fmt: skip
def test_what_is_no_time_is_bad(cell: str) -> None:
    times = _read([cell, "-"])
    assert times.struck_at.null_count() == 2
    assert times.bad.to_list() == [True, False]
    assert times.missing.to_list() == [False, True]


def test_serial_days_count_from_1899() -> None:
    # From memory: spreadsheets show day 36526 as 2000-01-01, so 91 days earlier is 1999-10-02.
    assert _text(_read(["36435"])) == ["1999-10-02 12:00:00.000"]
    assert _text(_read(["36435.75"])) == ["1999-10-02 18:00:00.000"]
    assert _text(_read(["36435,75"])) == ["1999-10-02 18:00:00.000"]


def test_a_long_column_reads_as_its_parts_do() -> None:
    start = datetime(2025, 6, 1, 8)
    stamps = [start + timedelta(seconds=17 * k) for k in range(6_000)]
    cells: list[str | None] = [f"{s:%d/%m/%Y %H:%M:%S}" for s in stamps]
    cells[10], cells[20], cells[30] = None, "junk", "-"
    cells[40] = f"{stamps[40]:%d/%m/%Y %I:%M:%S %p}"
    cells[50] = "31/02/2025 10:00:00"
    times = _read(cells, order="day-month")
    expected: list[datetime | None] = [s.replace(tzinfo=UTC) for s in stamps]
    for gap in (10, 20, 30, 50):
        expected[gap] = None
    assert times.struck_at.to_list() == expected
    assert times.bad.arg_true().to_list() == [20, 50]
    assert times.missing.arg_true().to_list() == [10, 30]


@pytest.mark.parametrize("form", ["%H:%M:%S", "%I:%M:%S %p", "%H:%M"])
def test_a_long_column_of_times_of_day(form: str) -> None:
    start = datetime(2025, 6, 17, 0, 0)
    moments = [start + timedelta(seconds=13 * k) for k in range(6_000)]
    times = _read([m.strftime(form) for m in moments], day=date(2025, 6, 17))
    kept = [m.replace(second=0) if form == "%H:%M" else m for m in moments]
    assert times.struck_at.to_list() == [m.replace(tzinfo=UTC) for m in kept]
    assert times.kind is TimeKind.NAIVE


def test_constant_time_of_a_note() -> None:
    times = constant_time(2, moment=date(2025, 2, 15), zone=BERLIN)
    assert times.kind is TimeKind.DATE
    assert _text(times) == ["2025-02-15 11:00:00.000"] * 2
    exact = constant_time(1, moment=datetime(2025, 2, 15, 10, 30), zone=BERLIN)
    assert _text(exact) == ["2025-02-15 09:30:00.000"]
