"""Days and times of day within lines, in the usual writings of the nine languages."""

from __future__ import annotations

import pytest
from rangeledger.pipelines.reader.normalising.time_parts import read_date
from rangeledger.pipelines.reader.recognising.words.dates_in_text import (
    clock_in,
    days_in,
    without_days,
)


@pytest.mark.parametrize(
    "text",
    [
        "Monday, 18 May 2026", "May 18th, 2026", "the 18th of May 2026", "18-May-26", "18 May '26",
        "18MAY2026", "2026 May 18", "2026-05-18", "2026/05/18", "18.05.2026", "18. 5. 2026",
        "20260518", "2026-W21-1",  # ISO 8601: week 21 of 2026 begins on Monday 18 May
        "Montag, den 18. Mai 2026", "le lundi 18 mai 2026", "lunes 18 de mayo de 2026",
        "måndagen den 18 maj 2026", "lunedì 18 maggio 2026", "maandag 18 mei 2026",
        "segunda-feira, 18 de maio de 2026", "mandag d. 18. maj 2026",
    ],
)  # fmt: skip
def test_a_day_is_found_in_every_usual_writing(text: str) -> None:
    days = days_in(f"Practice, {text}, evening")
    assert [day.whole for day in days] == [True]
    read = read_date(days[0].text)
    assert read is not None
    assert {day.isoformat() for day in read.readings.values()} == {"2026-05-18"}


@pytest.mark.parametrize(
    "text",
    [
        "18-20 May 2026", "18 May", "from 18 to 20 May 2026", "18.–20. Mai 2026",
        "18 and 20 May 2026", "18. und 20. Mai 2026", "18 et 20 mai 2026", "du 18 au 20 mai 2026",
        "18 y 20 mayo 2026", "18 och 20 maj 2026", "18 e 20 maggio 2026", "18 en 20 mei 2026",
        "18 t/m 20 mei 2026", "18 e 20 maio 2026", "18. og 20. maj 2026",
    ],
)  # fmt: skip
def test_a_stretch_of_days_or_a_day_without_a_year_is_no_single_day(text: str) -> None:
    days = days_in(text)
    assert days
    assert not all(day.whole for day in days)


@pytest.mark.parametrize("text", ["Version 2.10.4", "carry 150-160 yd", "10/12 hit", "3-5-7 drill"])
def test_other_numbers_are_no_days(text: str) -> None:
    assert days_in(text) == ()


def test_two_digits_are_a_year_only_where_a_day_is_asked_for() -> None:
    assert days_in("ratio 18/05/26") == ()
    assert len(days_in("18/05/26", asked=True)) == 1


@pytest.mark.parametrize(
    ("text", "clock"),
    [
        ("18 May 2026, 14:30", "14:30"), ("18 May 2026 2:30 p.m.", "2:30 p.m."),
        ("18.05.2026 um 14.30 Uhr", "14.30 Uhr"), ("18 maj 2026 kl 14.30", "14.30"),
        ("18 mai 2026 à 14 h 30", "14 h 30"), ("18 May 2026 14:30-15:30", "14:30"),
        ("2026-05-18T14:30:00Z", "14:30:00Z"), ("18 May 2026, noon", "12:00"),
        ("18 May 2026, 2 pm", "2 pm"),
    ],
)  # fmt: skip
def test_the_time_of_day_beside_a_day_is_found(text: str, clock: str) -> None:
    found = clock_in(without_days(text, days_in(text)))
    assert found is not None
    assert found[0] == clock


def test_a_ratio_or_a_decimal_is_no_time_of_day() -> None:
    assert clock_in("carry 14.30 yd") is None
    assert clock_in("1:1 lesson") is None
