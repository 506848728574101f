"""A choice of target in plain sentences and rows."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
import shapely
from rangeledger.models.clubs.shot_pattern import ShotPattern
from rangeledger.models.flight.day_flight import STILL_AIR, Conditions, Launch
from rangeledger.models.strategy.aimed_option import Option
from rangeledger.models.strategy.hole_geometry import Area, Ground, Hole
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut
from rangeledger.models.strategy.target_choice import TargetChoice, choose_target
from rangeledger.models.strategy.tee_shot import StockShape
from rangeledger.pipelines.holes.target_plan import day_conditions, placed
from rangeledger.pipelines.holes.target_rows import (
    both_units,
    hazard_rows,
    offset_at_flag,
    option_rows,
)
from rangeledger.pipelines.holes.target_words import place_words, shape_words, span_words, verdict
from rangeledger.schemas.errors import UsageError

GREEN = Area(Ground.GREEN, "green", shapely.Point(95.0, 0.0).buffer(14.0))
POND = Area(Ground.WATER, "pond", shapely.box(70.0, 13.0, 125.0, 60.0))
HOLE = Hole("Alder", 3, (0.0, 0.0), "fairway", (95.0, 9.0), (GREEN, POND), line=((0.0, 0.0),))


def wedge(name: str, carry_m: float) -> Option:
    pattern = ShotPattern(name, "full", "premium", carry_m, 0.0, 4.5, 4.5, 0.0, 0.8, 0.8, 30.0)
    return Option(pattern, Launch(42.0, 27.0, 0.0, 9200.0, 0.0))


@pytest.fixture(scope="module")
def choice() -> TargetChoice:
    options = [wedge("gap-wedge", 95.0), wedge("52-wedge", 94.6), wedge("lob-wedge", 70.0)]
    return choose_target(HOLE, options, StrokesToHoleOut.published(), STILL_AIR, within=np.inf)


def test_sentences(choice: TargetChoice) -> None:
    lines = verdict(choice, "a table", "yd")
    assert lines[0] == "Alder: 104 yd to the flag, from the fairway."
    assert "strokes to hole out on average" in lines[1]
    assert "comes down at" in lines[1]
    assert lines[2].startswith("Land it")
    assert "yd left of the flag, started on the same line." in lines[2]
    assert lines[3].startswith("Finishes: green")
    assert "water" in lines[3]
    assert lines[5].startswith("Too close to call against the ")
    assert lines[-1] == "Strokes to hole out: a table."


def test_a_clear_choice_says_by_how_much() -> None:
    options = [wedge("gap-wedge", 95.0), wedge("lob-wedge", 60.0)]
    found = choose_target(HOLE, options, StrokesToHoleOut.published(), STILL_AIR)
    assert any(line.startswith("The lob-wedge is 0.") for line in verdict(found, "x", "m"))


@pytest.mark.parametrize(
    ("side_m", "start_deg", "wind", "words"),
    [
        (0.0, 0.0, 6.0, r"start it \d+ m right: the wind brings \d+\."),
        (6.0, 0.0, 0.0, r"start it \d+ m left: the curve brings \d+\."),
        (6.0, 0.0, 6.0, r"the wind brings \d+ left, the curve \d+ right\."),
        (0.0, -3.0, 0.0, r"start it \d+ m left: the curve brings 5\."),  # 95 m tan(3 deg) = 5.0
    ],
)
def test_landing_and_start_are_told_apart(
    side_m: float, start_deg: float, wind: float, words: str
) -> None:
    one = wedge("gap-wedge", 95.0)
    bent = replace(
        one,
        pattern=replace(one.pattern, side_m=side_m),
        launch=replace(one.launch, launch_direction_deg=start_deg),
    )
    open_hole = replace(HOLE, areas=(GREEN,), flag=(95.0, 0.0))
    found = choose_target(open_hole, [bent], StrokesToHoleOut.published(), Conditions(wind, 90.0))
    (line,) = [line for line in verdict(found, "x", "m") if line.startswith("Land it")]
    assert line.startswith("Land it at the flag")
    assert re.search(words, line), line


def test_flag_hunting_costs_nothing_where_the_wind_alone_moves_the_aim() -> None:
    # Common practice, no source: on an open hole a wind from the side is aimed off, no more.
    open_hole = replace(HOLE, areas=(GREEN,), flag=(95.0, 0.0))
    found = choose_target(
        open_hole, [wedge("gap-wedge", 95.0)], StrokesToHoleOut.published(), Conditions(6.0, 90.0)
    )
    assert found.options[0].flag_cost < 0.01


def test_which_shape_is_hit_now_is_said_plainly() -> None:
    assert shape_words("driver", None).endswith("'one shape' is how it is hit now.")
    two = shape_words("driver", StockShape("fade", 3.0, 0.6))
    assert "'both shapes' is how it is hit now, 'one shape' what the fade alone would give" in two


@pytest.mark.parametrize(("lie", "told"), [("fairway", False), ("rough", True), ("sand", True)])
def test_a_lie_that_no_pattern_comes_from_is_told(lie: str, told: bool) -> None:
    hole = replace(HOLE, lie=lie)
    found = choose_target(hole, [wedge("gap-wedge", 95.0)], StrokesToHoleOut.published(), STILL_AIR)
    words = "shots off grass, mats and tees: from"
    assert any(words in line for line in verdict(found, "x", "m")) == told


def test_a_distance_inside_the_shortest_swing_is_told(choice: TargetChoice) -> None:
    found = choose_target(
        HOLE, [wedge("gap-wedge", 130.0)], StrokesToHoleOut.published(), STILL_AIR
    )
    words = "No swing with a model is so short: the shortest carries 130 m today."
    assert any(line.startswith(words) for line in verdict(found, "x", "m"))
    assert not any("so short" in line for line in verdict(choice, "x", "m"))


def test_headings_in_words(choice: TargetChoice) -> None:
    best, flag = choice.options[0], HOLE.flag_aim_rad
    reach = HOLE.distance_m
    assert place_words(HOLE, best, flag, "m") == "at the flag"
    assert place_words(HOLE, best, flag + np.arctan(6.0 / reach), "m") == "6 m right of the flag"
    short = next(o for o in choice.options if o.option.pattern.club == "lob-wedge")
    words = place_words(HOLE, short, flag - np.radians(5.0), "m")
    assert words == "6 m left of the flag's line"  # 70 m sin(5 deg) = 6.1 m


def test_where_a_line_passes_the_flag() -> None:
    # Closed form: distance times the tangent of the turn.
    turn = HOLE.flag_aim_rad + np.radians(3.0)
    assert offset_at_flag(HOLE, turn) == pytest.approx(HOLE.distance_m * np.tan(np.radians(3.0)))


def test_rows_hold_both_units(choice: TargetChoice) -> None:
    rows = option_rows(choice)
    np.testing.assert_allclose(rows["carry_m"] / 0.9144, rows["carry_yd"])
    assert rows["rank"].to_list() == [1, 2, 3]
    assert both_units([{"far_m": 9.144, "name": "x"}]).columns == ["far_m", "far_yd", "name"]


def test_rows_without_hazards_keep_their_columns() -> None:
    bare = Hole("x", 3, (0.0, 0.0), "fairway", (95.0, 0.0), (GREEN,))
    options = [wedge("gap-wedge", 95.0)]
    found = choose_target(bare, options, StrokesToHoleOut.published(), STILL_AIR)
    rows = hazard_rows(found)
    assert rows.is_empty()
    assert "carry_to_clear_yd" in rows.columns


def test_the_ball_takes_the_lie_of_its_new_place() -> None:
    # 20 yd of 104 left on the line of play: on the green.
    there = placed(HOLE, 10.0, None)
    assert there.lie == "green"
    assert there.distance_m == pytest.approx(9.144, abs=0.1)
    assert placed(HOLE, None, "rough").lie == "rough"
    with pytest.raises(UsageError, match="moon"):
        placed(HOLE, None, "moon")


def test_wind_is_told_from_the_line_to_the_flag() -> None:
    # The flag is atan(9 / 95) = 5.41 deg to the right of the axis of the hole.
    found = day_conditions(HOLE, 5.0, 90.0, (None, None, None, None))
    assert found.wind_from_deg == pytest.approx(95.41, abs=0.01)
    assert found.air_density_kgm3 == pytest.approx(STILL_AIR.air_density_kgm3, rel=1e-6)


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        ("37 yd left of the flag", "22 yd left of the flag", "from 37 to 22 yd left of the flag"),
        ("3 m left of the flag", "at the flag", "from 3 m left of the flag to the flag"),
        ("2 yd left of the flag", "2 yd right of the flag",
         "from 2 yd left of the flag to 2 yd right of the flag"),
    ],
)  # fmt: skip
def test_what_two_aims_share_is_said_once(first: str, last: str, words: str) -> None:
    assert span_words(first, last) == words
