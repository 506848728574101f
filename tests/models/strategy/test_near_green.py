"""Putts and short game of players who are not professionals."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from rangeledger.models.strategy.mean_putts import (
    DISTANCE_SD_FRACTION,
    START_LINE_SD_DEG,
    chance_to_hole,
)
from rangeledger.models.strategy.near_green import NearGreen, putting_factor, wildness
from rangeledger.models.strategy.own_strokes import own_strokes
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut

from tests.models.strategy.test_own_strokes import TOUR, bag

PUBLISHED = StrokesToHoleOut.published()
FOOT, YARD = 0.3048, 0.9144


def test_a_90_shooter_holes_half_from_five_feet_and_a_good_quarter_from_eight() -> None:
    # Articles quoting Broadie (2014): half from 5 ft, "just over 25 %" at 8 ft.
    factor = putting_factor(2.5)
    spreads = START_LINE_SD_DEG * factor, DISTANCE_SD_FRACTION * factor
    assert float(chance_to_hole(5 * FOOT, *spreads)) == pytest.approx(0.5, abs=0.02)
    assert 0.22 < float(chance_to_hole(8 * FOOT, *spreads)) < 0.32


def test_a_player_of_single_figures_holes_half_from_about_six_feet() -> None:
    # Articles quoting Broadie (2014): 0 to 9 handicap, half from 6 ft; midway between the two.
    factor = putting_factor(2.0)
    spreads = START_LINE_SD_DEG * factor, DISTANCE_SD_FRACTION * factor
    assert float(chance_to_hole(6 * FOOT, *spreads)) == pytest.approx(0.5, abs=0.03)


def test_the_pattern_of_professionals_is_known_as_theirs() -> None:
    # Misses of 4.6 to 5.3 % of the distance (James and Rees 2008, abstract).
    assert wildness(bag()) == pytest.approx(1.0, abs=0.08)
    assert wildness(bag(2.5)) == pytest.approx(2.5, abs=0.2)
    wide = [replace(option, pattern=replace(option.pattern, carry_m=300.0)) for option in bag()]
    assert wildness(wide[:1]) >= 1.0


def test_professionals_keep_the_published_strokes() -> None:
    near, lengths = NearGreen(PUBLISHED), np.array([3.0, 10.0, 30.0]) * FOOT
    np.testing.assert_array_equal(near.putts(lengths), PUBLISHED.strokes(lengths, "green"))
    np.testing.assert_array_equal(near.short_game(15.0), PUBLISHED.strokes(15.0, "rough"))


def test_wilder_players_need_more_putts_and_more_pitches() -> None:
    lengths = np.array([4.0, 8.0, 20.0, 40.0]) * FOOT
    some, many = (NearGreen(PUBLISHED, wild) for wild in (2.0, 3.0))
    told = PUBLISHED.strokes(lengths, "green")
    assert np.all(some.putts(lengths) > told + 0.05)
    assert np.all(many.putts(lengths) > some.putts(lengths))
    pitches = np.array([10.0, 20.0, 30.0]) * YARD
    assert np.all(np.diff(some.short_game(pitches)) > 0.0)
    assert np.all(many.short_game(pitches) > some.short_game(pitches))
    assert np.all(some.short_game(pitches) > PUBLISHED.strokes(pitches, "rough") + 0.1)


def test_own_strokes_of_an_amateur_hold_putts_and_short_game_too() -> None:
    clubs = bag(2.0)
    near = NearGreen(PUBLISHED, wildness(clubs))
    with_tour, own = own_strokes(clubs, PUBLISHED), own_strokes(clubs, PUBLISHED, near)
    at = np.array([60.0, 120.0, 180.0]) * YARD
    more = own.strokes(at, "fairway") - with_tour.strokes(at, "fairway")
    assert np.all(more > 0.1)
    assert np.all(more < 0.8)
    assert "simulated for shots 2." in own.source
    assert "of the table" in TOUR.source
