"""Which of day and month comes first, by all the evidence of a file."""

from __future__ import annotations

from datetime import date

import pytest
from rangeledger.pipelines.reader.normalising.date_order import date_order
from rangeledger.pipelines.reader.normalising.time_parts import DateText, read_date
from rangeledger.schemas.errors import ExportError


def _order(*cells: str, **options: object) -> str:
    dates: dict[str, DateText] = {}
    for cell in cells:
        found = read_date(cell)
        assert found is not None
        dates[cell] = found
    steps = [(dates[cell], 0) for cell in cells]
    return date_order(list(dates.values()), steps, **options)


def test_a_number_above_twelve_decides_for_the_file() -> None:
    assert _order("03/04/2025", "13/04/2025") == "dmy"
    assert _order("03/04/2025", "04/13/2025") == "mdy"


def test_the_note_the_day_and_the_language_decide() -> None:
    assert _order("03/04/2025", stated="month-day") == "mdy"
    assert _order("03/04/2025", day=date(2025, 4, 3)) == "dmy"
    assert _order("03/04/2025", language="es") == "dmy"
    assert _order("25-04-03", language="sv") == "ymd"


def test_what_is_usual_decides_where_nothing_else_does() -> None:
    assert _order("03/04/2025", usual="month-day") == "mdy"
    assert _order("03/04/2025", usual="month-day", stated="day-month") == "dmy"
    assert _order("03/04/2025", usual="month-day", language="es") == "dmy"
    assert _order("13/04/2025", usual="month-day") == "dmy"


def test_only_one_order_may_run_steadily() -> None:
    assert _order("01/02/2025", "02/02/2025", "01/03/2025") == "dmy"
    assert _order("01/03/2025", "02/02/2025", "01/02/2025") == "dmy"


def test_orders_that_agree_need_no_decision() -> None:
    assert _order("05/05/2025", "06/06/2025") in ("dmy", "mdy")


@pytest.mark.parametrize("cells", [("03/04/2025",), ("03/04/2025", "04/04/2025")])
def test_an_open_order_is_refused_with_both_ways_out(cells: tuple[str, ...]) -> None:
    with pytest.raises(ExportError, match='"day-month" or date_order = "month-day"'):
        _order(*cells)


def test_a_note_can_not_force_what_the_dates_rule_out() -> None:
    assert _order("13/04/2025", stated="month-day") == "dmy"
