"""What is worth practising."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from rangeledger.models.clubs.shot_pattern import ShotPattern
from rangeledger.models.clubs.usual_spread import usual_level
from rangeledger.models.flight.day_flight import Launch
from rangeledger.models.strategy.aimed_option import Option
from rangeledger.models.strategy.practice_gain import (
    GREEN_RADIUS_M,
    LEAST_SHOTS,
    PracticeAdvice,
    PracticeClub,
    lessened,
    practice_advice,
    shrunk_excess,
)
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut

TABLE = StrokesToHoleOut.published()
DRIVE_M = 200.0
LAUNCHES = {
    "driver": Launch(66.0, 12.5, 0.0, 2800.0, 0.0),
    "7-iron": Launch(50.5, 17.0, 0.0, 6700.0, 0.0),
    "9-iron": Launch(45.0, 21.5, 0.0, 8200.0, 0.0),
    "56-wedge": Launch(36.0, 29.0, 0.0, 9300.0, 0.0),
}
CARRIES = {"driver": DRIVE_M, "7-iron": 140.0, "9-iron": 120.0, "56-wedge": 80.0}


def club(
    name: str, shots: int = 60, sessions: int = 6, freedom: float = 60.0, **times: float
) -> PracticeClub:
    """A club with the usual spreads, some of them times a factor."""
    carry = CARRIES[name]
    usual = usual_level(name, "full", carry, DRIVE_M)
    pattern = ShotPattern(
        name, "full", "premium", carry, 0.0,
        times.get("distance", 1.0) * usual["distance"] * carry,
        times.get("direction", 1.0) * usual["direction"] * carry,
        0.0, 1.0, 1.0, freedom, times.get("mishits", 1.0) * usual["mishits"], 0.18 * carry, 0.05,
        0.08 * carry, float(shots),
    )  # fmt: skip
    return PracticeClub(Option(pattern, LAUNCHES[name]), shots, sessions)


def bag(**changed: PracticeClub) -> list[PracticeClub]:
    return [changed.get(name.replace("-", "_"), club(name)) for name in CARRIES]


def first(clubs: list[PracticeClub]) -> tuple[str, str]:
    gain = practice_advice(clubs, TABLE).gains[0]
    return gain.club, gain.aspect


def test_who_does_what_is_usual_gets_no_advice() -> None:
    assert practice_advice(bag(), TABLE) == PracticeAdvice()


@pytest.mark.parametrize(
    ("name", "aspect", "times"),
    # Mishits are few: a rate says less than a spread of as many shots.
    [("driver", "direction", 1.9), ("56-wedge", "distance", 1.9), ("9-iron", "mishits", 6.0)],
)
def test_what_stands_out_comes_first(name: str, aspect: str, times: float) -> None:
    odd = club(name, **{aspect: times})
    assert first([odd if entry.option.pattern.club == name else entry for entry in bag()]) == (
        name,
        aspect,
    )


def test_a_hardly_used_club_weighs_little() -> None:
    # Twelve drives a round against two or three irons (common practice, no source).
    wild = {name: club(name, direction=1.6) for name in ("driver", "7-iron")}
    gains = practice_advice(bag(driver=wild["driver"], **{"7_iron": wild["7-iron"]}), TABLE).gains
    by_club = {gain.club: gain for gain in gains if gain.aspect == "direction"}
    assert by_club["driver"].uses_a_round > 3 * by_club["7-iron"].uses_a_round
    assert by_club["driver"].strokes_a_round > 2 * by_club["7-iron"].strokes_a_round


def test_two_clubs_alone_are_not_a_round() -> None:
    two = [club("7-iron", distance=1.6), club("56-wedge", distance=1.6)]
    assert sum(gain.uses_a_round for gain in practice_advice(two, TABLE).gains) < 8.0
    assert all(gain.strokes_a_round < 0.5 for gain in practice_advice(two, TABLE).gains)


def test_few_shots_are_said_to_be_few() -> None:
    few = club("56-wedge", shots=LEAST_SHOTS - 1, distance=3.0)
    once = club("9-iron", sessions=1, distance=3.0)
    advice = practice_advice(bag(**{"56_wedge": few, "9_iron": once}), TABLE)
    assert set(advice.too_few) == {few, once}
    assert not {"56-wedge", "9-iron"} & {gain.club for gain in advice.gains}


def test_a_club_of_no_known_loft_is_not_judged() -> None:
    iron = club("7-iron", distance=3.0)
    own = replace(
        iron, option=replace(iron.option, pattern=replace(iron.option.pattern, club="unknown"))
    )
    assert practice_advice([club("driver"), own], TABLE).loft_unknown == (own,)
    alone = practice_advice([own], TABLE)
    assert alone == PracticeAdvice(loft_unknown=(own,))


def test_the_tighter_of_own_clubs_and_default_is_usual() -> None:
    # A player twice as tight as usual throughout, but for one club at the default.
    tight = {name: club(name, direction=0.5) for name in CARRIES}
    tight["driver"] = club("driver")
    (gain,) = practice_advice(list(tight.values()), TABLE).gains
    assert (gain.club, gain.aspect) == ("driver", "direction")
    wide = [club(name, distance=1.5) for name in CARRIES]
    assert {gain.aspect for gain in practice_advice(wide, TABLE).gains} == {"distance"}


def test_doubt_shrinks_what_stands_out() -> None:
    # [james1961] by hand: ln 1.5 = 0.4055 with an error of 0.2 keeps 1 - (0.2 / 0.4055)^2 = 0.757.
    assert shrunk_excess(math.log(1.5), 0.2) == pytest.approx(0.4055 * 0.757, rel=1e-3)
    assert shrunk_excess(math.log(1.5), 0.5) == 0.0
    assert shrunk_excess(math.log(0.8), 0.01) == 0.0
    assert shrunk_excess(math.log(1.5), 0.0) == pytest.approx(math.log(1.5))
    sure, unsure = (
        practice_advice(bag(driver=club("driver", shots=shots, direction=1.6)), TABLE)
        for shots in (200, 14)
    )
    assert sure.gains[0].excess > 1.05 * unsure.gains[0].excess


def test_the_gain_is_what_the_lost_spread_costs() -> None:
    # With a spread far smaller than the green every finish is a putt: the gain is a difference
    # of mean putts over at most the distance that the spread shrinks by.
    odd = club("7-iron", distance=1.8)
    tight = replace(odd.option.pattern, carry_sd_m=2.0, side_sd_m=1.0, mishit_rate=1e-9)
    clubs = bag(**{"7_iron": replace(odd, option=replace(odd.option, pattern=tight))})
    assert GREEN_RADIUS_M > 5 * 2.0
    far, near = TABLE.strokes(np.array([2.5, 0.5]), "green")
    for gain in practice_advice(clubs, TABLE).gains:
        assert 0.0 < gain.strokes_a_stroke < float(far - near)


def test_only_the_named_aspect_is_lessened() -> None:
    pattern = club("7-iron").option.pattern
    assert lessened(pattern, "distance", 0.5) == replace(
        pattern, carry_sd_m=0.5 * pattern.carry_sd_m
    )
    assert lessened(pattern, "mishits", 0.5).mishit_rate == 0.5 * pattern.mishit_rate
    assert lessened(pattern, "direction", 0.5).side_sd_m == 0.5 * pattern.side_sd_m


def test_what_was_not_measured_is_not_advised_on() -> None:
    wild = replace(club("driver", direction=3.0), side_measured=False)
    assert practice_advice(bag(driver=wild), TABLE).gains == ()
    assert practice_advice(bag(driver=replace(wild, side_measured=True)), TABLE).gains


def test_the_more_is_asked_the_more_it_takes() -> None:
    """One club 1.3 times as wide stands out of three questions, not of twelve."""
    odd = club("driver", distance=1.3)
    alone, among = practice_advice([odd], TABLE), practice_advice(bag(driver=odd), TABLE)
    assert [gain.aspect for gain in alone.gains] == ["distance"]
    assert alone.gains[0].probability < 0.1 / 3
    assert among.gains == ()


def test_mishits_that_all_clubs_show_are_the_players_own_tails() -> None:
    tails = [club(name, mishits=1.8) for name in CARRIES]
    assert practice_advice(tails, TABLE).gains == ()


def test_no_clubs_no_advice() -> None:
    assert practice_advice([], TABLE) == PracticeAdvice()
