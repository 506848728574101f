"""How rows reach a person or a program."""

from __future__ import annotations

import io
import json
from datetime import datetime
from decimal import Decimal
from pathlib import Path

import polars as pl
import pytest
from rangeledger.pipelines.output.printing import (
    Format,
    cell_text,
    decimals_of,
    number_text,
    print_rows,
    rows_as,
    write_result,
)
from rangeledger.schemas.errors import StorageError, UsageError


@pytest.mark.parametrize(
    ("values", "decimals"),
    [
        ([110.0, 0.004, -3.25], 1),
        ([0.5, 0.0, None], 3),
        ([1.0, 0.25], 3),
        ([0.4, 0.00002], 5),
        ([1e-12], 6),
        ([0.0, None], 1),
    ],
)
def test_a_column_has_one_number_of_decimals(values: list[float | None], decimals: int) -> None:
    assert decimals_of(pl.Series(values, dtype=pl.Float64)) == decimals


def test_numbers_of_a_column_line_up(capsys: pytest.CaptureFixture[str]) -> None:
    print_rows(pl.DataFrame({"club": ["a", "b", "c"], "miss": [10.25, 0.004, -0.01]}), Format.TABLE)
    lines = [line.rstrip() for line in capsys.readouterr().out.splitlines() if line.strip()]
    assert [line.split()[-1] for line in lines[2:]] == ["10.2", "0.0", "0.0"]
    assert len({len(line) for line in lines[2:]}) == 1


def test_nothing_has_no_sign() -> None:
    assert number_text(-0.004, "+.1f") == "0.0"
    assert number_text(0.2, "+.0f") == "0"
    assert number_text(-0.6, "+.0f") == "-1"
    assert cell_text(None) == "-"
    assert cell_text(True) == "yes"


def test_columns_that_do_not_fit_are_counted(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    print_rows(pl.DataFrame({f"column_{n:02}": [1.0] for n in range(20)}), Format.TABLE)
    out = capsys.readouterr().out
    assert "column_06" in out
    assert "column_07" not in out
    assert "and 13 more columns" in out.replace("\n", " ")


def test_formats_for_programs_keep_every_column() -> None:
    rows = pl.DataFrame({"a": [1.5], "b": ["é"]})
    assert rows_as(rows, Format.CSV).decode() == "a,b\n1.5,é\n"
    assert pl.read_parquet(io.BytesIO(rows_as(rows, Format.PARQUET))).equals(rows)


def test_lists_times_and_what_is_no_number_reach_programs_as_they_can_read_them() -> None:
    rows = pl.DataFrame(
        {
            "carries": [[150.5, float("nan")]], "at": [datetime(2026, 5, 2, 9, 0)],
            "none": [float("inf")], "sum": [Decimal(3)], "part": [Decimal("1.5")], "raw": [b"x"],
        }
    )  # fmt: skip
    assert json.loads(rows_as(rows, Format.JSON)) == [
        {"carries": [150.5, None], "at": "2026-05-02T09:00:00", "none": None, "sum": 3,
         "part": 1.5, "raw": "78"}
    ]  # fmt: skip
    assert rows_as(rows.select("carries", "raw"), Format.CSV) == (
        b'carries,raw\n"[150.5, null]",78\n'
    )
    assert cell_text(rows["carries"].to_list()[0]) == "[150.5, nan]"


def test_a_result_that_can_not_be_written_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    assert write_result(tmp_path / "new" / "a.json", b"{}").read_bytes() == b"{}"
    with pytest.raises(StorageError, match="Name another place"):
        write_result(tmp_path / "file" / "a.json", b"{}")


def test_parquet_is_not_poured_onto_a_screen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdout.isatty", lambda: True)
    with pytest.raises(UsageError, match="send it to a file"):
        print_rows(pl.DataFrame({"a": [1]}), Format.PARQUET)
