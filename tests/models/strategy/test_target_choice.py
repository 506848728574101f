"""The choice of a target."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from rangeledger.models.clubs.shot_pattern import ShotPattern
from rangeledger.models.flight.day_flight import STILL_AIR, Conditions, Launch
from rangeledger.models.strategy.aim_search import QUICK
from rangeledger.models.strategy.aimed_option import Option
from rangeledger.models.strategy.hole_geometry import Area, Ground, Hole
from rangeledger.models.strategy.strokes_surface import ground_grid
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut
from rangeledger.models.strategy.target_choice import choose_target
from rangeledger.schemas.errors import NotEnoughShotsError

TABLE = StrokesToHoleOut.published()
WEDGE = Option(
    ShotPattern(
        "gap-wedge",
        "full",
        "premium",
        95.0,
        0.0,
        4.5,
        4.5,
        0.0,
        0.8,
        0.8,
        30.0,
        0.05,
        17.0,
        0.0,
        8.0,
    ),
    Launch(42.0, 27.0, 0.0, 9200.0, 0.0),
)
GREEN = Area(Ground.GREEN, "green", shapely.Point(95.0, 0.0).buffer(14.0))
RIGHT_WATER = Area(Ground.WATER, "pond", shapely.box(70.0, 13.0, 125.0, 60.0))


def hole(flag_across: float, *areas: Area) -> Hole:
    return Hole("x", 3, (0.0, 0.0), "fairway", (95.0, flag_across), (GREEN, *areas))


def iron(name: str, carry_m: float, side_m: float = 0.0) -> Option:
    pattern = ShotPattern(
        name, "full", "premium", carry_m, side_m, 0.045 * carry_m, 0.055 * carry_m,
        0.1, 1.5, 1.5, 20.0, 0.08, 0.18 * carry_m, 0.05, 0.1 * carry_m,
    )  # fmt: skip
    return Option(pattern, Launch(0.35 * carry_m, 17.0, 0.0, 6500.0, 0.0))


def test_water_tight_beside_a_tucked_flag_moves_the_aim_away_even_with_a_wedge() -> None:
    # Common practice, no source.
    tucked = hole(9.0, RIGHT_WATER)
    choice = choose_target(tucked, [WEDGE], TABLE, STILL_AIR)
    best = choice.options[0]
    miss = 95.0 * np.tan(best.aim_rad) - 9.0
    assert miss < -2.0
    assert best.flag_cost > 0.02


def test_without_trouble_the_aim_is_near_the_flag() -> None:
    # Common practice, no source.
    best = choose_target(hole(0.0), [WEDGE], TABLE, STILL_AIR).options[0]
    assert abs(95.0 * best.aim_rad) < 1.5
    assert best.flag_cost < 0.005


def test_a_fade_aims_left_of_the_flag() -> None:
    # Common practice, no source: a stock shot that ends 8 m right is aimed about 8 m left.
    fade = replace(WEDGE, pattern=replace(WEDGE.pattern, side_m=8.0))
    best = choose_target(hole(0.0), [fade], TABLE, STILL_AIR).options[0]
    assert 95.0 * np.tan(best.aim_rad) == pytest.approx(-8.0, abs=1.5)


def test_a_wind_from_the_right_is_aimed_off_to_the_right() -> None:
    # Common practice, no source.
    best = choose_target(hole(0.0), [WEDGE], TABLE, Conditions(5.0, 90.0)).options[0]
    assert best.aim_rad > np.radians(2.0)


def test_a_headwind_asks_for_more_club() -> None:
    # Common practice, no source.
    bag = [iron("6-iron", 152.0), iron("7-iron", 143.0), iron("8-iron", 134.0)]
    far = Hole("x", 3, (0.0, 0.0), "tee", (139.0, 0.0), (
        Area(Ground.GREEN, "green", shapely.Point(139.0, 0.0).buffer(13.0)),
    ))  # fmt: skip
    calm = choose_target(far, bag, TABLE, STILL_AIR).options[0]
    windy = choose_target(far, bag, TABLE, Conditions(6.0, 0.0)).options[0]
    assert calm.option.pattern.carry_m < windy.option.pattern.carry_m


def test_out_of_bounds_right_moves_a_drive_left() -> None:
    # A 400 yd hole with out of bounds all along its right side: the best aim of a middling
    # player is the left edge of the fairway and gains about 0.1 stroke (an article quoting
    # Broadie 2014). Sign and order of size only: that player's pattern is not published.
    length = 400.0 * 0.9144
    drive = Option(
        ShotPattern("driver", "full", "premium", 215.0, 0.0, 11.0, 19.0, 0.0, 3.0, 3.0, 30.0, 0.07,
                    40.0, 0.05, 25.0),
        Launch(66.0, 12.5, 0.0, 2800.0, 0.0),
    )  # fmt: skip
    fairway = Area(Ground.FAIRWAY, "fairway", shapely.box(100.0, -15.0, length - 20.0, 15.0))
    fence = Area(Ground.OUT_OF_BOUNDS, "fence", shapely.box(-50.0, 27.0, 500.0, 300.0))
    tee = Hole("x", 4, (0.0, 0.0), "tee", (length, 0.0), (fairway, fence))
    best = choose_target(tee, [drive], TABLE, STILL_AIR).options[0]
    aim = 215.0 * np.tan(best.aim_rad)
    assert -25.0 < aim < -5.0
    assert 0.03 < best.flag_cost < 0.4
    assert float(best.at_flag.chance[0, Ground.OUT_OF_BOUNDS]) == pytest.approx(0.08, abs=0.05)


def test_options_come_best_first_and_two_alike_are_too_close_to_call() -> None:
    twin = replace(WEDGE, pattern=replace(WEDGE.pattern, club="50-wedge", carry_m=95.3))
    short = replace(WEDGE, pattern=replace(WEDGE.pattern, club="60-wedge", carry_m=70.0))
    bag = [short, twin, WEDGE]
    choice = choose_target(hole(0.0), bag, TABLE, STILL_AIR, within=np.inf)
    scores = [option.score for option in choice.options]
    assert scores == sorted(scores)
    assert choice.options[-1].option.pattern.club == "60-wedge"
    assert choice.advantage(1).too_close_to_call
    clear = choice.advantage(2)
    assert not clear.too_close_to_call
    assert clear.low < clear.strokes < clear.high


def test_a_club_far_behind_is_no_choice_unless_it_is_the_runner_up() -> None:
    short = replace(WEDGE, pattern=replace(WEDGE.pattern, club="60-wedge", carry_m=50.0))
    twin = replace(WEDGE, pattern=replace(WEDGE.pattern, club="50-wedge", carry_m=95.3))
    choice = choose_target(hole(0.0), [short, twin, WEDGE], TABLE, STILL_AIR)
    assert {option.option.pattern.club for option in choice.options} == {"gap-wedge", "50-wedge"}
    assert choice.shortest_m == pytest.approx(50.0)
    two = choose_target(hole(0.0), [short, WEDGE], TABLE, STILL_AIR).options
    assert [option.option.pattern.club for option in two] == ["gap-wedge", "60-wedge"]


def test_a_player_known_less_well_gets_a_wider_interval() -> None:
    rival = replace(WEDGE, pattern=replace(WEDGE.pattern, club="50-wedge", carry_m=88.0))
    unsure = replace(rival, pattern=replace(rival.pattern, carry_se_m=4.0, degrees_of_freedom=5.0))
    sure = choose_target(hole(0.0), [WEDGE, rival], TABLE, STILL_AIR).advantage()
    vague = choose_target(hole(0.0), [WEDGE, unsure], TABLE, STILL_AIR).advantage()
    assert vague.high - vague.low > 1.5 * (sure.high - sure.low)


def test_chance_to_clear_is_the_share_of_the_pattern_beyond() -> None:
    pond = Area(Ground.WATER, "pond", shapely.box(70.0, -40.0, 85.0, 40.0))
    choice = choose_target(hole(0.0, pond), [WEDGE], TABLE, STILL_AIR)
    (hazard,) = choice.hazards
    assert hazard.clear_m == pytest.approx(85.0, abs=0.2)
    points, _ = WEDGE.pattern.draw(200_000, np.random.default_rng(3))
    exact = float((points[:, 0] >= hazard.clear_m).mean())
    assert choice.options[0].chance_to_carry(hazard.clear_m) == pytest.approx(exact, abs=0.006)


def test_flat_optimum_holds_the_best_aim() -> None:
    best = choose_target(hole(9.0, RIGHT_WATER), [WEDGE], TABLE, STILL_AIR).options[0]
    left, right = best.as_good_rad
    assert left <= best.aim_rad <= right
    assert right - left < np.radians(15.0)


def test_same_answer_at_each_call_and_a_quick_one_close_by() -> None:
    tucked = hole(9.0, RIGHT_WATER)
    one = choose_target(tucked, [WEDGE], TABLE, STILL_AIR).options[0]
    two = choose_target(tucked, [WEDGE], TABLE, STILL_AIR).options[0]
    quick = choose_target(tucked, [WEDGE], TABLE, STILL_AIR, effort=QUICK).options[0]
    assert one.score == two.score
    np.testing.assert_array_equal(one.draws, two.draws)
    assert quick.score == pytest.approx(one.score, abs=0.01)


def test_no_models_is_said_plainly() -> None:
    with pytest.raises(NotEnoughShotsError, match="run 'fit' first"):
        choose_target(hole(0.0), [], TABLE, STILL_AIR)


def test_a_wood_on_the_line_is_played_round_or_over() -> None:
    # A wall of trees across half the way, higher than the club flies there, with a gap on the
    # left: the best aim goes through the gap, and aiming at the flag finishes in the trees.
    wall = Area(Ground.TREES, "wall", shapely.box(20.0, -4.0, 30.0, 60.0), height_m=30.0)
    low = replace(wall, height_m=2.0)
    walled, hedged = (
        choose_target(
            Hole("x", 3, (0.0, 0.0), "fairway", (95.0, 0.0), (GREEN, trees)),
            [WEDGE], TABLE, STILL_AIR,
        ).options[0]
        for trees in (wall, low)
    )  # fmt: skip
    assert walled.at_flag.chance[0, Ground.TREES] > 0.4
    assert hedged.at_flag.chance[0, Ground.TREES] < 0.05
    assert walled.aim_rad < hedged.aim_rad - np.radians(3.0)
    assert walled.score > hedged.score + 0.1


def test_a_ball_among_the_trees_of_a_raster_made_elsewhere_finds_a_gap() -> None:
    wood = Area(Ground.TREES, "wood", shapely.box(20.0, -30.0, 40.0, 30.0), height_m=30.0)
    there = Hole("x", 4, (-60.0, 0.0), "fairway", (125.0, 0.0), (wood,))
    among = there.played_from((30.0, 0.0), "recovery")
    grid = ground_grid(there, reach_m=200.0)
    found = choose_target(among, [WEDGE], TABLE, STILL_AIR, grid=grid, effort=QUICK)
    assert found.options[0].chance(Ground.TREES) < 0.02
