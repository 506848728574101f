"""Times written as numbers."""

from __future__ import annotations

import polars as pl
import pytest
from rangeledger.pipelines.reader.normalising.epochs import (
    are_serial_days,
    epoch_ms,
    numeric_cells,
    serial_dates_as_text,
    serial_ms,
)


@pytest.mark.parametrize(
    "cell", ["1234567890", "1234567890000", "1234567890000000", "1234567890000000000"]
)
def test_scales_of_an_epoch(cell: str) -> None:
    # datetime.fromtimestamp(1234567890, UTC) of the standard library: 2009-02-13 23:31:30.
    text = pl.Series([cell])
    value = numeric_cells(text)
    assert value is not None
    found = epoch_ms(text, value)
    assert found is not None
    assert found.cast(pl.Datetime("ms")).dt.to_string().to_list() == ["2009-02-13 23:31:30.000"]


def test_nanoseconds_lose_no_digit() -> None:
    text = pl.Series(["1234567890123456789"])
    value = numeric_cells(text)
    assert value is not None
    found = epoch_ms(text, value)
    assert found is not None
    assert found.to_list() == [1234567890123]


def test_other_numbers_are_no_epoch_and_no_serial_day() -> None:
    text = pl.Series(["12.5", "13.0"])
    value = numeric_cells(text)
    assert value is not None
    assert epoch_ms(text, value) is None
    assert not are_serial_days(value)
    assert numeric_cells(pl.Series(["12.5", "driver"])) is None
    assert numeric_cells(pl.Series(["-", "n/a"])) is None


def test_serial_days() -> None:
    # From memory: spreadsheets show day 36526 as 2000-01-01, so 91 days earlier is 1999-10-02.
    assert serial_dates_as_text(pl.Series(["36435", "-"])).to_list() == ["1999-10-02", None]
    assert serial_dates_as_text(pl.Series(["x"])).to_list() == ["x"]
    noon = serial_ms(pl.Series([36435.5])).cast(pl.Datetime("ms")).dt.to_string()
    assert noon.to_list() == ["1999-10-02 12:00:00.000"]
