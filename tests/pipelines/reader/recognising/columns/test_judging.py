"""Headings in the light of their cells. Expected verdicts: common practice, no source."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from rangeledger.pipelines.reader.recognising.columns.judging import (
    in_range_share,
    judged_candidates,
    looks_like_swings,
)
from rangeledger.pipelines.reader.recognising.columns.profile import Profile, profiles_of
from rangeledger.pipelines.reader.recognising.words.heading import read_heading


def profile(heading: str, cells: list[str]) -> Profile:
    found, _ = profiles_of([read_heading(heading)], [pl.Series(cells)], None)
    return found[0]


@pytest.mark.parametrize(
    ("column", "unit", "share"),
    # 0 counts as possible: it is how many exports write that nothing was measured.
    [("ball_speed_mps", "m/s", 0.75), ("ball_speed_mps", "mph", 1.0), ("apex_m", "m", 0.75)],
)
def test_the_share_of_possible_numbers_depends_on_the_unit(
    column: str, unit: str, share: float
) -> None:
    assert in_range_share(column, np.array([0.0, 30.0, 60.0, 160.0]), unit) == share


@pytest.mark.parametrize(
    ("heading", "cells", "column"),
    [
        ("Ball speed", ["61.2", "60.8", "59.9"], "ball_speed_mps"),
        ("Attack angle", ["-3.1", "-2.8", "1.0"], "angle_of_attack_deg"),
        ("Club", ["7i", "driver", "PW"], "club"),
        ("Swing", ["9:00", "10:30", "full"], "swing"),
        ("Time", ["10:03", "10:04", "10:06"], "time_of_day"),
    ],
)
def test_what_the_cells_bear_out_comes_first(heading: str, cells: list[str], column: str) -> None:
    assert judged_candidates(profile(heading, cells))[0][1] == column


@pytest.mark.parametrize(
    ("heading", "cells"), [("Ball speed", ["fast", "slow"]), ("Surface", ["1.5", "2.5"])]
)
def test_what_the_cells_rule_out_is_no_candidate(heading: str, cells: list[str]) -> None:
    assert judged_candidates(profile(heading, cells)) == []


def test_clock_positions_are_told_from_times_of_day() -> None:
    assert looks_like_swings(profile("Swing", ["9:00", "10:30", "full"]))
    assert not looks_like_swings(profile("Swing", ["10:03", "10:04", "10:06"]))
