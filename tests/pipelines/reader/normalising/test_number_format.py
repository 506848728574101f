"""Decimal and thousands marks of a file, and what leaves them open."""

from __future__ import annotations

import polars as pl
import pytest
from rangeledger.pipelines.reader.normalising.number_format import detect_number_format


@pytest.mark.parametrize(
    ("columns", "decimal", "thousands", "sure"),
    [
        ([["12.5", "7"]], ".", None, True),
        ([["12,5", "7"]], ",", None, True),
        ([["1.234,5"]], ",", ".", True),
        ([["1,234.5"]], ".", ",", True),
        ([["5,902", "6,100"], ["12.5"]], ".", ",", True),
        ([["5.902", "6.100"], ["12,5"]], ",", ".", True),
        ([["5,902", "6,100"]], ".", ",", False),
        ([["952", "1,012"]], ".", ",", True),
        ([["0,512", "0,498"]], ",", None, True),
        ([["7", "12"]], ".", None, True),
        ([["1 234", "12,5"]], ",", " ", True),
        ([["1'234.5"]], ".", "'", True),
        ([["12,5 L", "3,1 R"]], ",", None, True),
        ([["12,5"], ["1,5"], ["10.30"]], ",", None, False),
    ],
)
def test_format_of_a_file(
    columns: list[list[str]], decimal: str, thousands: str | None, sure: bool
) -> None:
    found = detect_number_format([pl.Series(column) for column in columns])
    assert (found.decimal, found.thousands, found.sure) == (decimal, thousands, sure)
    assert found.sure == (found.other is None)


def test_both_readings_of_an_open_format_are_given() -> None:
    found = detect_number_format([pl.Series(["5,902", "6,100"])])
    assert (found.decimal, found.thousands) == (".", ",")
    assert found.other is not None
    assert (found.other.decimal, found.other.thousands) == (",", None)
    assert "5,902" in found.evidence


def test_evidence_anywhere_in_a_long_column_counts() -> None:
    cells = ["1,234"] * 50_000
    cells[30_001] = "12,5"
    cells = [f"{cell[:-1]}{k % 10}" for k, cell in enumerate(cells)]
    assert detect_number_format([pl.Series(cells)]).decimal == ","
