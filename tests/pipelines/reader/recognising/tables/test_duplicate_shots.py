"""Tables that sum up others or give their shots again. Shots: computed flights."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from rangeledger.schemas.errors import ExportError

from tests.pipelines.reader.recognising.writing import clubs, launches, prepared, table

HEADINGS = {
    "Ball speed (m/s)": "ball_speed_mps", "Launch angle (deg)": "launch_angle_deg",
    "Spin (rpm)": "spin_rate_rpm", "Carry (m)": "carry_m",
}  # fmt: skip


def numbers(seed: int = 1) -> dict[str, np.ndarray]:
    return {heading: launches(seed=seed)[name] for heading, name in HEADINGS.items()}


def text(values: dict[str, np.ndarray]) -> str:
    return table({"Club": clubs(), **values})


def test_two_visits_are_two_visits(tmp_path: Path) -> None:
    both = f"{text(numbers(1))}\nSecond set\n{text(numbers(2))}"
    assert prepared(tmp_path, both).shots.height == 28


@pytest.mark.parametrize("statistic", [np.mean, np.median, np.max, np.min])
def test_a_table_of_one_row_a_club_that_sums_up_the_other(tmp_path: Path, statistic) -> None:
    values = numbers()
    rows = [
        ",".join([club, *(f"{statistic(v[part]):.2f}" for v in reversed(values.values()))])
        for club, part in (("7 Iron", slice(0, 7)), ("Driver", slice(7, 14)))
    ]
    heading = ",".join(["Club", *reversed(values)])
    export = prepared(tmp_path, "\n".join([text(values), heading, *rows]))
    assert export.shots.height == 14
    assert export.other_lines.filter(taken_for="summary")["source_row"].to_list() == [18, 19]
    assert any("sums up the shots of others" in str(remark) for remark in export.remarks)


def test_a_table_of_one_shot_a_club_that_sums_up_nothing_is_read(tmp_path: Path) -> None:
    rows = ["7 Iron,135.20,6011.00,16.20,47.00", "Driver,205.00,2801.00,9.80,65.40"]
    heading = ",".join(["Club", *reversed(HEADINGS)])
    export = prepared(tmp_path, "\n".join([text(numbers()), heading, *rows]))
    assert export.shots.height == 16


@pytest.mark.parametrize(
    "changed",
    [
        {"Carry (m)": 1.04},  # as measured and as normalised
        {"Carry (m)": 1.04, "Ball speed (m/s)": 1.01},
        dict.fromkeys(HEADINGS, 1.03),
    ],
)
def test_the_same_shots_with_other_values_are_refused(
    tmp_path: Path, changed: dict[str, float]
) -> None:
    values = numbers()
    again = {heading: v * changed.get(heading, 1.0) for heading, v in values.items()}
    with pytest.raises(ExportError, match="stand again from line 18 on"):
        prepared(tmp_path, f"{text(values)}\n{text(again)}")


def test_rows_that_give_each_launch_twice_are_refused(tmp_path: Path) -> None:
    values = numbers()
    doubled = {heading: np.repeat(v, 2) for heading, v in values.items()}
    doubled["Carry (m)"] = doubled["Carry (m)"] * np.tile([1.0, 1.05], 14)
    twice = table({"Club": [club for club in clubs() for _ in range(2)], **doubled})
    with pytest.raises(ExportError, match="28 rows give the launch of another row again"):
        prepared(tmp_path, twice)


def test_the_same_table_in_another_order_of_columns_counts_once(tmp_path: Path) -> None:
    values = numbers()
    export = prepared(tmp_path, f"{text(values)}\n{text(dict(reversed(values.items())))}")
    assert export.shots.height == 14
    assert export.other_lines.filter(taken_for="repeated").height == 14


def _lines(rows: list[str]) -> str:
    return "\n".join(["Club,Ball speed (km/h),Launch (deg),Carry (m),Total (m)", *rows]) + "\n"


COARSE = ["143,20,102,105", "145,18,100,105", "148,19,107,112", "142,20,99,104", "140,21,98,102"]
FINE = ["143.2,20.1,102.4,105.1", "145.6,18.2,100.3,105.2", "148.1,19.4,107.7,112.9",
        "142.7,20.6,99.2,104.4", "140.9,21.3,98.8,102.6"]  # fmt: skip


def test_whole_numbers_may_be_alike_by_chance_and_that_is_told(tmp_path: Path) -> None:
    export = prepared(tmp_path, _lines([f"8 iron,{row}" for row in [*COARSE, COARSE[1]]]))
    assert export.shots.height == 6
    assert any("alike" in str(remark) for remark in export.remarks)


def test_fine_numbers_are_never_alike_by_chance(tmp_path: Path) -> None:
    export = prepared(tmp_path, _lines([f"8 iron,{row}" for row in [*FINE, FINE[1]]]))
    assert export.rejected["reason_code"].to_list() == ["duplicate-row"]


def test_shots_that_all_come_twice_are_no_chance(tmp_path: Path) -> None:
    flights = launches(40)
    rows = [
        f"8 iron,{3.6 * flights['ball_speed_mps'][k]:.1f},{flights['launch_angle_deg'][k]:.1f},"
        f"{flights['carry_m'][k]:.0f},{flights['carry_m'][k] + 4:.0f}"
        for k in range(20)
    ]
    assert prepared(tmp_path, _lines([*rows, *rows])).rejected.height == 20


def test_a_day_that_all_shots_share_tells_no_two_of_them_apart(tmp_path: Path) -> None:
    text = _lines([f"8 iron,{row}" for row in [*COARSE, COARSE[1]]])
    assert prepared(tmp_path, f"Date: 2026-05-02\n{text}").shots.height == 6
