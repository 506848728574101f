"""The order of day and month where a line or a heading says it."""

from __future__ import annotations

from pathlib import Path

import pytest
from rangeledger.pipelines.reader.recognising.words.dates_in_text import order_in
from rangeledger.schemas.errors import ExportError

from tests.pipelines.reader.recognising.lines.test_lines_and_refusals import (
    FLIGHTS,
    HEAD,
    local_day,
    read,
)


@pytest.mark.parametrize(
    ("line", "order"),
    [
        ("All dates as day/month/year", "day-month"), ("Dates: month/day/year", "month-day"),
        ("Dates are written day-month-year, distances in yards", "day-month"),
        ("Dates with the month first", "month-day"), ("Date (dd/mm/yyyy)", "day-month"),
        ("mm/dd/yy", "month-day"), ("Datumsangaben: Tag/Monat/Jahr", "day-month"),
        ("Datum: Monat zuerst", "month-day"), ("Dates : jour/mois/année", "day-month"),
        ("Dates (jj/mm/aaaa)", "day-month"), ("Date: giorno/mese/anno", "day-month"),
        ("Fechas: mes/día/año", "month-day"), ("Datas: dia/mês/ano", "day-month"),
        ("Datums: dag/maand/jaar", "day-month"), ("Datum: månad/dag/år", "month-day"),
        ("Datoer: dag/måned/år", "day-month"), ("Dates: year/month/day", None),
        ("Dates are day/month/year, not month/day/year", None),
        ("Day 2 of the month, third year", None), ("Practice day", None),
    ],
)  # fmt: skip
def test_an_order_is_read_where_one_alone_is_said(line: str, order: str | None) -> None:
    assert order_in(line) == order


@pytest.mark.parametrize(
    ("line", "day"),
    [
        ("Dates are day/month/year", "2025-04-03"),
        ("# dates: month/day/year", "2025-03-04"),
        ("Dates have the day first; times local", "2025-04-03"),
    ],
)
def test_dates_that_fit_two_ways_are_read_as_a_line_says(
    tmp_path: Path, line: str, day: str
) -> None:
    shots = [f"03/04/2025,7 iron,{flight}" for flight in FLIGHTS]
    lines = [f"Date,{HEAD}", *shots]
    with pytest.raises(ExportError, match="2 ways"):
        read(tmp_path, lines)
    assert local_day(read(tmp_path, [line, *lines]).shots["struck_at"]) == day
