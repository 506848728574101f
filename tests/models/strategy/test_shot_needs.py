"""How often in a round a club is needed."""

from __future__ import annotations

import math

import pytest
from rangeledger.models.strategy.shot_needs import (
    DRIVES,
    NEEDS,
    ClubAndCarry,
    drive_carry,
    strokes_by_club,
)

DRIVER = ClubAndCarry("driver", "full", 200.0)
IRON = ClubAndCarry("7-iron", "full", 140.0)


def uses(*clubs: ClubAndCarry) -> list[float]:
    return strokes_by_club(clubs, drive_carry(clubs))


def test_a_distance_belongs_to_the_nearest_club_within_reach() -> None:
    # Closed form: 130 to 150 m is 0.65 to 0.75 of the drive. Of the par-3 tee shots (0.50 to 0.80)
    # that is a third of 4, of the approaches (0.35 to 0.80) 10 / 4.5; reach of 8 % is 11.2 m, so
    # neighbours 20 m off leave the 7-iron its half gaps of 10 m.
    neighbours = [ClubAndCarry("6-iron", "full", 160.0), ClubAndCarry("8-iron", "full", 120.0)]
    got = uses(DRIVER, neighbours[0], IRON, neighbours[1])
    assert got[0] == DRIVES
    assert got[2] == pytest.approx(4.0 / 3.0 + 10.0 / 4.5, abs=0.03)


def test_a_bag_with_holes_leaves_strokes_to_nobody() -> None:
    # Closed form: alone the 7-iron reaches 8 % of 140 m to either side, 0.112 of the drive.
    alone = uses(DRIVER, IRON)
    assert alone[1] == pytest.approx(0.112 * (4.0 / 0.30 + 10.0 / 0.45), abs=0.03)
    assert alone[1] < 4.5


def test_a_full_bag_has_most_strokes_of_a_round() -> None:
    carries = [75.0, 81.0, 88.0, 95.0, 103.0, 112.0, 121.0, 131.0, 142.0, 153.0, 165.0, 178.0]
    bag = [DRIVER, *(ClubAndCarry("7-iron", "full", carry) for carry in carries)]
    total = sum(strokes for strokes, _, _ in NEEDS)
    assert 0.75 * total < sum(uses(*bag)[1:]) < total


def test_only_a_club_for_the_tee_has_the_drives() -> None:
    wedges = [ClubAndCarry("pitching-wedge", "full", 105.0), ClubAndCarry("56-wedge", "full", 80.0)]
    assert max(uses(*wedges)) < 4.0
    assert max(uses(ClubAndCarry("3-wood", "full", 190.0), IRON)) == DRIVES


def test_the_drive_is_told_by_the_other_clubs() -> None:
    # The nominal 7-iron carries 149 yd where the driver carries 212 yd (clubs.nominal_carry).
    assert drive_carry([IRON]) == pytest.approx(140.0 * 212.0 / 149.0, rel=0.02)
    assert drive_carry([DRIVER, IRON]) == 200.0
    own_word = ClubAndCarry("old faithful", "full", 150.0)
    assert math.isnan(drive_carry([own_word]))
    assert uses(own_word) == [0.0]
    assert uses() == []
