"""One cell of dates and times taken apart; the forms are common practice, no source."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rangeledger.pipelines.reader.normalising.time_parts import read_clock, read_date, split_instant


@pytest.mark.parametrize(
    ("text", "orders"),
    [
        ("2025-06-07", {"ymd"}),
        ("07.06.2025", {"dmy"}),
        ("07/06/2025", {"dmy", "mdy"}),
        ("17/06/2025", {"dmy"}),
        ("06/17/2025", {"mdy"}),
        ("25-06-07", {"ymd", "dmy"}),
        ("7.6.25", {"dmy"}),
        ("7 June 2025", {"dmy"}),
    ],
)
def test_readings_of_a_date(text: str, orders: set[str]) -> None:
    found = read_date(text)
    assert found is not None
    assert set(found.readings) == orders


@pytest.mark.parametrize(
    "text",
    ["", "31.02.2025", "2025-13-07", "7/6", "1/2/3", "June", "7 June", "7 Brumaire 2025",
     "1700-01-01", "7-6.2025", "2025", "12.5", "carry 7 June 2025"],
)  # fmt: skip
def test_what_is_no_date(text: str) -> None:
    assert read_date(text) is None


@given(day=st.dates(date(1990, 1, 1), date(2099, 12, 31)))
def test_unambiguous_forms_give_the_day_back(day: date) -> None:
    for form in (
        "%Y-%m-%d",
        "%Y/%m/%d",
        "%Y%m%d",
        "%d.%m.%Y",
        "%d %B %Y",
        "%d-%b-%Y",
        "%A, %B %d, %Y",
    ):
        found = read_date(day.strftime(form))
        assert found is not None, form
        assert set(found.readings.values()) == {day}


@pytest.mark.parametrize(
    ("text", "ms", "offset"),
    [
        ("10:05", 36_300_000, None),
        ("10:05:43.25", 36_343_250, None),
        ("10h05", 36_300_000, None),
        ("10.05 Uhr", 36_300_000, None),
        ("12:05 am", 300_000, None),
        ("12:05 p.m.", 43_500_000, None),
        ("9:05 em", 75_900_000, None),
        ("9 PM", 75_600_000, None),
        ("10:05Z", 36_300_000, 0),
        ("10:05 GMT+2", 36_300_000, 120),
        ("10:05-0530", 36_300_000, -330),
    ],
)
def test_times_of_day(text: str, ms: int, offset: int | None) -> None:
    found = read_clock(text)
    assert found is not None
    assert (found.ms, found.offset) == (ms, offset)


@pytest.mark.parametrize("text", ["24:00", "10:60", "13:05 am", "10", "10:05 soon", "0:05 pm", "x"])
def test_what_is_no_time_of_day(text: str) -> None:
    assert read_clock(text) is None


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("2025-06-07 10:05", ("2025-06-07", "10:05")),
        ("2025-06-07T10:05Z", ("2025-06-07", "10:05Z")),
        ("7.6.2025 um 10:05 Uhr", ("7.6.2025", "10:05 Uhr")),
        ("10:05 07.06.2025", ("07.06.2025", "10:05")),
        ("20250607T100500", ("20250607", "10:05:00")),
        ("07.06.2025 10.05", ("07.06.2025", "10.05")),
        ("07.06.2025", ("07.06.2025", "")),
        ("10.05.30", ("", "10.05.30")),
    ],
)
def test_date_and_clock_are_parted(text: str, parts: tuple[str, str]) -> None:
    assert split_instant(text) == parts


def test_a_day_first_date_with_a_dash_before_its_year() -> None:
    """`13/5-2025`, as it is written in the north; common practice, no source."""
    for text in ("13/5-2025", "13/5 2025", "13.5-2025"):
        found = read_date(text)
        assert found is not None
        assert found.readings == {"dmy": date(2025, 5, 13)}


def test_a_dotted_date_that_no_clock_shows_is_a_date() -> None:
    assert split_instant("28.08.25") == ("28.08.25", "")
    assert split_instant("12.08.25") == ("", "12.08.25")


@pytest.mark.parametrize(
    "text",
    ["ore 10.15", "alle ore 10:15", "um 10.15 Uhr", "kl. 10.15", "à 10h15", "at 10:15", "10u15"],
)
def test_words_before_a_time_of_day_are_read_over(text: str) -> None:
    day, clock = split_instant(text)
    assert day == ""
    found = read_clock(clock)
    assert found is not None
    assert found.ms == (10 * 60 + 15) * 60_000
