"""Monitors that read apart: found, taken off, told, and not seen where there is nothing."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from rangeledger.models.clubs.carry_model import CarryModel
from rangeledger.models.sessions.monitor_offsets import (
    measured_by,
    monitor_offsets,
    without_offsets,
)
from rangeledger.models.sessions.session_flags import session_flags

from tests.models.other_players import JUDGED_ON, Season, make_season
from tests.models.synthetic_sessions import RECIPE, make_sessions

SEASON = Season(sessions=10)
MAKE = JUDGED_ON["contaminated"]


def test_a_day_that_both_measured_tells_what_they_read_apart() -> None:
    made = make_season(12, MAKE, SEASON.changed(monitors=0.03, both=1.0), seed=1)
    other = monitor_offsets(made.shots).filter(monitor="bay B")
    assert (other["sessions"] == 10).all()
    assert (other["sessions_in_common"] == 10).all()
    assert other["carry_offset"].mean() == pytest.approx(3.0, abs=0.5)
    assert other["apart"].mean() > 0.9
    within = (other["carry_offset_low"] < 3.05) & (other["carry_offset_high"] > 3.05)
    assert within.mean() > 0.7


def test_where_monitors_agree_none_is_called_off() -> None:
    """A 90 % interval, half the weight on none: observed 1 to 4 % in the makes."""
    made = make_season(30, MAKE, SEASON, seed=2)
    offsets = monitor_offsets(made.shots)
    assert offsets.filter("apart").height <= 3
    assert offsets.filter(~pl.col("reference"))["carry_offset"].abs().mean() < 0.6


def centre_error(season: Season, seed: int, *, taken_off: bool) -> float:
    """Root mean square error of the centre [%], against what the usual monitor would read."""
    made = make_season(25, MAKE, season, seed=seed)
    offsets = monitor_offsets(made.shots)
    shots = without_offsets(made.shots, offsets) if taken_off else made.shots
    usual = offsets.filter("reference").select("player", half=pl.col("monitor") == "bay B")
    table = CarryModel().fit(shots).parameters_.join(made.truth, on=["player", "club"])
    table = table.join(usual, on="player")
    shift = season.monitors * (table["half"].cast(pl.Float64) - 0.5)
    error = (table["carry_m"] / table["now_m"]).log() - shift
    return 100.0 * float(np.sqrt((error**2).mean()))


def test_the_centre_is_nearer_with_offsets_and_loses_nothing_without() -> None:
    season = SEASON.changed(monitors=0.025)
    with_them = centre_error(season, 3, taken_off=True)
    assert with_them < 0.85 * centre_error(season, 3, taken_off=False)
    nothing = centre_error(SEASON, 3, taken_off=True) / centre_error(SEASON, 3, taken_off=False)
    assert nothing < 1.03


def named(shots: pl.DataFrame, names: list[str]) -> pl.DataFrame:
    """Shots whose sessions were measured by these monitors in turn."""
    order = pl.col("session_id").rank("dense").cast(pl.Int64) - 1
    return shots.with_columns(monitor=order.replace_strict(range(len(names)), names))


def test_ball_speed_has_an_offset_of_its_own() -> None:
    """Bay B reads 2 % more ball speed and the same carry; some of it is left to days."""
    recipe = RECIPE.changed(sessions=20)
    shots = named(make_sessions(6, seed=4, recipe=recipe), ["A", "B"] * 10)
    off = pl.when(pl.col("monitor") == "B").then(1.02).otherwise(1.0)
    offsets = monitor_offsets(shots.with_columns(ball_speed_mps=pl.col("ball_speed_mps") * off))
    other = offsets.filter(monitor="B")
    assert other["ball_speed_offset"].mean() == pytest.approx(1.8, abs=0.4)
    assert abs(other["carry_offset"].mean()) < 0.7


def test_a_session_of_a_longer_monitor_is_no_flag_once_both_were_used_on_one_day() -> None:
    """The last of nine sessions by a monitor that reads 5 % longer, the one before by both."""
    session, number = pl.col("session_id"), pl.col("shot_number")
    longer = (session == "s08") | ((session == "s07") & (number % 2 == 0))
    shots = make_sessions(20, seed=5, recipe=RECIPE).with_columns(
        monitor=pl.when(longer).then(pl.lit("B")).otherwise(pl.lit("A"))
    )
    far = pl.when(longer).then(1.05).otherwise(1.0)
    shots = shots.with_columns(
        (pl.col(c) * far).alias(c) for c in ("still_carry_m", "still_side_m")
    )
    level = without_offsets(shots, monitor_offsets(shots))
    carried = pl.col("feature").is_in(["carry", "carry given launch"])
    before, after = (
        session_flags(frame).filter(session == "s08", carried)["player"].n_unique()
        for frame in (shots, level)
    )
    assert before >= 10
    assert after <= 3


def test_a_layout_stands_in_where_nothing_is_named_and_is_called_that() -> None:
    shots = named(make_sessions(1, seed=6), ["unknown"] * 6 + ["bay B"] * 3)
    shots = shots.with_columns(layout=pl.lit("layout-1f0c9a2b"))
    assert set(measured_by(shots)) == {"layout-1f0c9a2b", "bay B"}
    offsets = monitor_offsets(shots)
    assert offsets["monitor"].to_list() == ["layout-1f0c9a2b", "bay B"]
    assert offsets["named"].to_list() == [False, True]
    assert offsets["told"][0] == (
        "The monitor behind layout-1f0c9a2b measured most sessions; the others are held against it."
    )
    assert offsets["told"][1].startswith("bay B reads ")
    assert "than The monitor" not in offsets["told"][1]


def test_one_monitor_is_off_by_nothing_and_shots_stay() -> None:
    shots = make_sessions(2, seed=7)
    offsets = monitor_offsets(shots)
    assert offsets["monitor"].to_list() == ["unknown"] * 2
    assert offsets["carry_offset"].to_list() == [0.0, 0.0]
    assert not offsets["apart"].any()
    assert without_offsets(shots, offsets).equals(shots)


def test_no_shots_give_no_rows() -> None:
    empty = make_sessions(1, seed=8).clear()
    offsets = monitor_offsets(empty)
    assert offsets.height == 0
    assert without_offsets(empty, offsets).height == 0
