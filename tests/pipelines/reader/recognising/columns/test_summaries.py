"""Rows that sum up others, by arithmetic. Expected: the definitions of the statistics."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.pipelines.reader.recognising.columns.row_statistics import (
    by_arithmetic,
    of_labelled_rows,
)

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
