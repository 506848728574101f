"""Putts and short game of players who are not professionals."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from rangeledger.models.clubs.nominal_carry import nominal_loft_deg
from rangeledger.models.population import POPULATION
from rangeledger.models.strategy.aimed_option import Option
from rangeledger.models.strategy.mean_putts import (
    DISTANCE_SD_FRACTION,
    START_LINE_SD_DEG,
    chance_to_hole,
)
from rangeledger.models.strategy.near_green import NearGreen, handicap_like, putting_factor
from rangeledger.models.strategy.own_strokes import own_strokes
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut

from tests.models.strategy.test_own_strokes import bag, tour

PUBLISHED = StrokesToHoleOut.published()
FOOT, YARD = 0.3048, 0.9144


def chance(feet: float, handicap: float) -> float:
    factor = putting_factor(handicap)
    spreads = START_LINE_SD_DEG * factor, DISTANCE_SD_FRACTION * factor
    return float(chance_to_hole(feet * FOOT, *spreads))


def test_a_90_shooter_holes_half_from_five_feet_and_a_good_quarter_from_eight() -> None:
    # Articles quoting Broadie (2014): half from 5 ft, "just over 25 %" at 8 ft.
    assert chance(5.0, 18.0) == pytest.approx(0.5, abs=0.02)
    assert 0.22 < chance(8.0, 18.0) < 0.32


def test_single_figures_hole_half_from_six_feet_and_more_is_less() -> None:
    # Articles quoting Broadie (2014): 0 to 9 handicap, half from 6 ft.
    assert chance(6.0, 4.5) == pytest.approx(0.5, abs=0.02)
    assert putting_factor(-5.0) == pytest.approx(1.0)
    assert chance(5.0, 28.0) < chance(5.0, 18.0)


def usual(handicap: float) -> list[Option]:
    """Clubs whose spreads are the defaults, times e to 0.03 a stroke from 10 on."""
    factor = float(np.exp(0.03 * (handicap - 10.0)))
    options = []
    for option in bag():
        pattern = option.pattern
        if pattern.swing != "full":
            continue
        loft = (nominal_loft_deg(pattern.club) - 36.0) / 16.0
        across = POPULATION.side_spread * np.exp(POPULATION.side_spread_slope * loft)
        carry = np.hypot(POPULATION.carry_spread, POPULATION.carry_drift)
        side = np.hypot(across, POPULATION.side_drift)
        spread = replace(
            pattern,
            carry_sd_m=factor * carry * pattern.carry_m,
            side_sd_m=factor * side * pattern.carry_m,
        )
        options.append(replace(option, pattern=spread))
    return options


@pytest.mark.parametrize("handicap", [0.0, 10.0, 25.0])
def test_the_spread_of_the_clubs_suggests_the_handicap(handicap: float) -> None:
    assert handicap_like(usual(handicap)) == pytest.approx(handicap, abs=0.01)


def test_the_handicap_has_ends_and_a_middle() -> None:
    assert handicap_like(usual(-40.0)) == -5.0
    assert handicap_like(usual(90.0)) == 36.0
    part = [replace(one, pattern=replace(one.pattern, swing="9:00")) for one in usual(20.0)]
    assert handicap_like(part) == 10.0


def test_professionals_keep_the_published_strokes() -> None:
    near, lengths = NearGreen(PUBLISHED), np.array([3.0, 10.0, 30.0]) * FOOT
    np.testing.assert_array_equal(near.putts(lengths), PUBLISHED.strokes(lengths, "green"))
    np.testing.assert_array_equal(near.short_game(15.0), PUBLISHED.strokes(15.0, "rough"))


def test_higher_handicaps_need_more_putts_and_more_pitches() -> None:
    lengths = np.array([4.0, 8.0, 20.0, 40.0]) * FOOT
    some, many = (NearGreen(PUBLISHED, handicap) for handicap in (10.0, 25.0))
    told = PUBLISHED.strokes(lengths, "green")
    assert np.all(some.putts(lengths) > told + 0.05)
    assert np.all(many.putts(lengths) > some.putts(lengths))
    pitches = np.array([10.0, 20.0, 30.0]) * YARD
    assert np.all(np.diff(some.short_game(pitches)) > 0.0)
    assert np.all(many.short_game(pitches) > some.short_game(pitches))
    assert np.all(some.short_game(pitches) > PUBLISHED.strokes(pitches, "rough") + 0.1)


def test_own_strokes_of_an_amateur_hold_putts_and_short_game_too() -> None:
    clubs = bag(2.0)
    near = NearGreen(PUBLISHED, 15.0)
    with_tour, own = own_strokes(clubs, PUBLISHED), own_strokes(clubs, PUBLISHED, near)
    at = np.array([60.0, 120.0, 180.0]) * YARD
    more = own.strokes(at, "fairway") - with_tour.strokes(at, "fairway")
    assert np.all(more > 0.1)
    assert np.all(more < 0.8)
    assert own.source.endswith("simulated for a handicap of about 15")
    assert "of the table" in tour().source
