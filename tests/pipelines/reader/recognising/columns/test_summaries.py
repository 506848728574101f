"""Rows that sum up others, by arithmetic. Expected: the definitions of the statistics."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from rangeledger.pipelines.reader.recognising.columns.row_statistics import (
    by_arithmetic,
    of_labelled_rows,
)

from tests.pipelines.reader.recognising.writing import clubs, launches, prepared

CARRY = [150.0, 140.0, 145.0, 149.0]
SPEED = [50.0, 48.0, 49.6, 50.4]
ANGLE = [17.0, 18.0, 16.0, 17.5]


def table(row: list[float]) -> list[np.ndarray]:
    """Four shots and a row below them."""
    return [np.array([*x, y]) for x, y in zip((CARRY, SPEED, ANGLE), row, strict=True)]


def last_is_a_mean(row: list[float], decimals: int = 1) -> bool:
    nameless = np.array([False] * 4 + [True])
    numbers = table(row)
    found = by_arithmetic(numbers, [decimals] * 3, np.zeros(5, np.int64), nameless)
    assert not found[:4].any()
    return bool(found[4])


def test_the_rounded_mean_of_the_rows_above_is_no_shot() -> None:
    # 584 / 4, 198 / 4 and 68.5 / 4 = 17.125
    assert last_is_a_mean([146.0, 49.5, 17.1])


@pytest.mark.parametrize("row", [[146.0, 49.5, 18.4], [151.0, 52.0, 17.1]])
def test_a_shot_that_is_like_the_mean_in_some_columns_only_is_one(row: list[float]) -> None:
    assert not last_is_a_mean(row)


@pytest.mark.parametrize("statistic", [np.median, np.min, np.max, np.ptp, np.std])
def test_a_labelled_row_may_be_any_statistic_of_those_above(statistic) -> None:
    row = [round(float(statistic(x)), 2) for x in (CARRY, SPEED, ANGLE)]
    labelled = np.array([False] * 4 + [True])
    assert of_labelled_rows(table(row), [2] * 3, labelled).tolist() == labelled.tolist()


def test_a_shot_with_its_name_on_the_mean_of_coarse_numbers_stays_a_shot(tmp_path: Path) -> None:
    """Whole numbers fall on a mean by chance: the last of these is one shot among seven."""
    rows = ["142,17,104", "133,18,92", "137,18,98", "136,18,96", "135,18,95", "138,18,99"]
    lines = ["Club,Ball speed (km/h),Launch (deg),Carry (m)"]
    lines += [f"7 iron,{row}" for row in [*rows, "136,18,97"]]
    lines += ["PW,112,26,71", "PW,112,26,73", "PW,116,25,75", "PW,116,26,76"]
    export = prepared(tmp_path, "\n".join(lines) + "\n")
    assert export.shots.height == 11


def test_a_named_mean_of_fine_numbers_is_no_shot(tmp_path: Path) -> None:
    flights = launches(14)
    names = ("ball_speed_mps", "launch_angle_deg", "spin_rate_rpm", "carry_m")
    rows = [[f"{flights[n][k]:.1f}" for n in names] for k in range(7)]
    mean = [f"{flights[n][:7].round(1).mean():.1f}" for n in names]
    lines = ["Club,Ball speed (m/s),Launch (deg),Spin (rpm),Carry (m)"]
    lines += ["7 iron," + ",".join(row) for row in [*rows, mean]]
    export = prepared(tmp_path, "\n".join(lines) + "\n")
    assert export.shots.height == 7


def test_a_count_in_unknown_words_below_a_mean_is_no_shot(tmp_path: Path) -> None:
    flights = launches(14)
    lines = ["Club,Ball speed (m/s),Launch (deg),Carry (m)"]
    for k in range(14):
        names = ("ball_speed_mps", "launch_angle_deg", "carry_m")
        lines.append(",".join([clubs()[k], *(f"{flights[name][k]:.1f}" for name in names)]))
        if k in (6, 13):
            lines += ["Mean,48.0,17.0,140.0", "Zählung der Dinge,7,,"]
    export = prepared(tmp_path, "\n".join(lines) + "\n")
    assert export.shots.height == 14
    assert export.rejected.height == 0
