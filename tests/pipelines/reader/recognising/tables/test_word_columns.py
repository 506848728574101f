"""Columns of words, short ones gone through cell by cell and long ones by distinct word."""

from __future__ import annotations

from pathlib import Path

import polars as pl
import pytest
from rangeledger.pipelines.reader.recognising.tables.word_columns import (
    blank_as_null,
    filled_down,
    first_known,
    mapped,
)

from tests.pipelines.reader.recognising.writing import clubs, launches, prepared, table

FEW, MANY = 1, 3_000  # how often the cells are repeated


@pytest.mark.parametrize("times", [FEW, MANY])
def test_each_distinct_cell_is_read_once(times: int) -> None:
    read: list[str] = []

    def of(cell: str) -> str | None:
        read.append(cell)
        return cell.upper() if cell != "x" else None

    cells = pl.Series(["a", None, "x", "a"] * times, dtype=pl.String)
    assert mapped(cells, of).to_list() == ["A", None, None, "A"] * times
    assert sorted(read) == ["a", "x"]


def test_cells_that_mean_nothing_become_null() -> None:
    cells = pl.Series(["driver", "n/a", "-", None], dtype=pl.String)
    assert blank_as_null(cells).to_list() == ["driver", None, None, None]


def test_the_first_that_says_something_counts() -> None:
    first, second = pl.Series(["a", None]), pl.Series(["b", "b"])
    assert first_known(first, second).to_list() == ["a", "b"]
    assert first_known(None, second).to_list() == ["b", "b"]


@pytest.mark.parametrize(
    ("cells", "filled"),
    [
        (["7-iron", "", "", "driver", ""], ["7-iron", "7-iron", "7-iron", "driver", "driver"]),
        (["7-iron", "7-iron", "", "", ""], None),  # repeated: it does not stand for those below
        (["", "7-iron", "", ""], None),  # nothing stands above the first
        (["7-iron", "driver", "wedge", ""], None),  # one blank is a shot without a club
    ],
)
def test_a_word_that_stands_once_above_its_shots_holds_for_them(
    cells: list[str], filled: list[str] | None
) -> None:
    found = filled_down(pl.Series(cells))
    assert (found.to_list() if found is not None else None) == filled


def test_codes_of_clubs_are_read_by_a_table_above_the_shots(tmp_path: Path) -> None:
    flights = launches()
    text = table({
        "club_code": ["17" if club == "7 Iron" else "1" for club in clubs()],
        "ball_speed_mps": flights["ball_speed_mps"],
        "launch_angle_deg": flights["launch_angle_deg"], "carry_m": flights["carry_m"],
    })  # fmt: skip
    export = prepared(tmp_path, f"club_code,club_name\n1,Driver\n17,7 iron\n\n{text}")
    assert set(export.shots["club"]) == {"driver", "7-iron"}
