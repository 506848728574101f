"""Narrow tables for people."""

from __future__ import annotations

import polars as pl
import pytest
from rangeledger.pipelines.output.neat_table import Shown, print_neat

ROWS = pl.DataFrame(
    {"club": ["[red]7-iron", "driver"], "share": [0.126, None], "gone_m": [9.144, 0.0]}
)
COLUMNS = [
    Shown("club", "club"),
    Shown("share", "in %", ".0f", 100.0),
    Shown("gone_m", "yd", "+.1f", 1.0 / 0.9144),
]


def test_numbers_get_their_decimals_and_texts_stay_as_they_are(
    capsys: pytest.CaptureFixture[str],
) -> None:
    print_neat(ROWS, COLUMNS, "Title")
    out = capsys.readouterr().out
    assert out.startswith("Title")
    assert "[red]7-iron" in out
    assert "13" in out
    assert "+10.0" in out
    assert " - " in out


def test_long_tables_are_cut_and_counted(capsys: pytest.CaptureFixture[str]) -> None:
    print_neat(ROWS, COLUMNS, "Title", most=1)
    out = capsys.readouterr().out
    assert "driver" not in out
    assert "and 1 more" in out
