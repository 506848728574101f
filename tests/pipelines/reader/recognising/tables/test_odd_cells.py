"""Words and other decimal marks among the numbers of a column."""

from __future__ import annotations

from pathlib import Path

import pytest
from rangeledger.pipelines.reader.recognising.tables.odd_cells import is_vague

from tests.pipelines.reader.recognising.writing import clubs, launches, prepared, table


def _text(column: str, cells: dict[int, str], *, comma: bool = False) -> str:
    flights = launches(14)
    columns: dict[str, list[str]] = {
        "Club": clubs(14),
        "Ball speed (m/s)": [f"{x:.1f}" for x in flights["ball_speed_mps"]],
        "Launch (deg)": [f"{x:.1f}" for x in flights["launch_angle_deg"]],
        "Spin (rpm)": [f"{x:.0f}" for x in flights["spin_rate_rpm"]],
        "Carry (m)": [f"{x:.1f}" for x in flights["carry_m"]],
    }
    if comma:
        columns = {name: [cell.replace(".", ",") for cell in cells_] for name, cells_ in
                   columns.items()}  # fmt: skip
    for row, cell in cells.items():
        columns[column][row] = cell
    return table(dict(columns), delimiter=";" if comma else ",")


def test_a_word_leaves_a_lesser_value_empty_and_is_told(tmp_path: Path) -> None:
    export = prepared(tmp_path, _text("Spin (rpm)", {3: "not seen by it"}))
    assert export.shots.height == 14
    assert export.shots["spin_rate_rpm"].null_count() == 1
    assert any("'not seen by it'" in str(remark) for remark in export.remarks)


@pytest.mark.parametrize("cell", ["12.3.4", "=1+1"])
def test_what_is_no_number_rejects_a_row_of_the_speed(tmp_path: Path, cell: str) -> None:
    export = prepared(tmp_path, _text("Ball speed (m/s)", {3: cell}))
    assert export.rejected["source_row"].to_list() == [5]
    assert export.rejected["reason_code"].to_list() == ["not-a-number"]


def test_a_word_for_the_speed_leaves_a_shot_with_its_carry(tmp_path: Path) -> None:
    export = prepared(tmp_path, _text("Ball speed (m/s)", {3: "forgotten"}))
    assert export.shots.height == 14
    assert export.shots["ball_speed_mps"].null_count() == 1
    assert any("'forgotten'" in str(remark) for remark in export.remarks)


def test_a_word_in_place_of_all_that_a_shot_needs_rejects_it(tmp_path: Path) -> None:
    text = _text("Ball speed (m/s)", {3: "forgotten"}).splitlines()
    text[4] = text[4].rsplit(",", 1)[0] + ","
    export = prepared(tmp_path, "\n".join(text))
    assert export.rejected["source_row"].to_list() == [5]


def test_the_same_word_twice_is_the_files_own_for_no_value(tmp_path: Path) -> None:
    export = prepared(tmp_path, _text("Ball speed (m/s)", {3: "zapf", 9: "zapf"}))
    assert export.shots.height == 14
    assert export.shots["ball_speed_mps"].null_count() == 2


def test_a_number_that_only_the_other_decimal_mark_reads_is_read_and_told(tmp_path: Path) -> None:
    speed = launches(14)["ball_speed_mps"]
    cells = {k: f"{speed[k]:.1f}" for k in (2, 6)}  # points among commas
    export = prepared(tmp_path, _text("Ball speed (m/s)", cells, comma=True))
    assert export.shots["ball_speed_mps"].to_list() == pytest.approx(speed.round(1).tolist())
    assert any("'.' for a decimal mark" in str(remark) for remark in export.remarks)


def test_a_number_whose_thousands_may_be_parted_is_not_guessed(tmp_path: Path) -> None:
    export = prepared(tmp_path, _text("Spin (rpm)", {3: "6.213"}, comma=True))
    assert 6.213 not in export.shots["spin_rate_rpm"].to_list()


@pytest.mark.parametrize("cell", ["about 140", "ca. 140 m", "env. 140", "125-130", "129 à 135"])
def test_a_rough_number_or_a_range_is_no_measurement(tmp_path: Path, cell: str) -> None:
    export = prepared(tmp_path, _text("Carry (m)", {3: cell}))
    assert export.shots.height == 14
    assert export.shots["carry_m"].null_count() == 1
    assert any(repr(cell) in str(remark) for remark in export.remarks)


@pytest.mark.parametrize("cell", ["about the flag", "140 140", "12.3.4"])
def test_what_is_neither_is_not_taken_for_a_rough_number(cell: str) -> None:
    assert not is_vague(cell)
