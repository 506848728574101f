"""What practice would gain."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from models.day_flight import Launch
from models.practice_gain import GREEN_RADIUS_M, improved, practice_gains
from models.shot_pattern import ShotPattern
from models.strokes_to_hole_out import StrokesToHoleOut
from models.target_choice import Option

TABLE = StrokesToHoleOut.published()
DRIVER = Option(
    ShotPattern("driver", "full", "premium", 215.0, 4.0, 10.0, 18.0, 0.0, 1.0, 1.0, 60.0, 0.1,
                40.0, 0.05, 25.0),
    Launch(66.0, 12.5, 0.0, 2800.0, 0.0),
)  # fmt: skip
IRON = Option(
    ShotPattern("7-iron", "full", "premium", 140.0, -1.0, 6.0, 6.0, 0.0, 1.0, 1.0, 60.0, 0.05,
                25.0, 0.05, 9.0),
    Launch(50.5, 17.0, 0.0, 6700.0, 0.0),
)  # fmt: skip
PITCH = Option(
    replace(IRON.pattern, club="58-wedge", swing="9:00", carry_m=50.0, carry_sd_m=5.0,
            side_sd_m=1.5, mishit_shortfall_m=9.0, mishit_side_scale_m=2.0),
    Launch(26.5, 32.0, 0.0, 6900.0, 0.0),
)  # fmt: skip


def by_aspect(options: list[Option], club: str) -> dict[str, float]:
    return {
        gain.aspect: gain.strokes_a_stroke
        for gain in practice_gains(options, TABLE)
        if gain.club == club
    }


def test_greatest_gain_comes_first_and_none_is_a_loss() -> None:
    gains = practice_gains([DRIVER, IRON, PITCH], TABLE)
    rounds = [gain.strokes_a_round for gain in gains]
    assert rounds == sorted(rounds, reverse=True)
    assert len(gains) == 9
    assert min(rounds) > -0.01


def test_a_wild_driver_is_to_be_straightened_and_a_loose_pitch_to_be_judged() -> None:
    # Common practice, no source.
    options = [DRIVER, IRON, PITCH]
    drive, pitch = by_aspect(options, "driver"), by_aspect(options, "58-wedge")
    assert drive["direction"] > drive["distance"]
    assert pitch["distance"] > pitch["direction"]


def test_many_mishits_make_them_the_thing_to_practise() -> None:
    bad = replace(IRON, pattern=replace(IRON.pattern, mishit_rate=0.3))
    few, many = by_aspect([DRIVER, IRON], "7-iron"), by_aspect([DRIVER, bad], "7-iron")
    assert many["mishits"] > 3.0 * few["mishits"]


def test_gain_of_half_the_mishits_is_half_their_cost() -> None:
    # Closed form: the expected score is linear in the mishit rate.
    none = replace(IRON, pattern=replace(IRON.pattern, mishit_rate=1e-9))
    half = replace(IRON, pattern=replace(IRON.pattern, mishit_rate=0.025))
    cost = by_aspect([DRIVER, IRON], "7-iron")["mishits"]
    assert by_aspect([DRIVER, half], "7-iron")["mishits"] == pytest.approx(cost / 2, rel=0.02)
    assert by_aspect([DRIVER, none], "7-iron")["mishits"] == pytest.approx(0.0, abs=1e-6)


def test_a_pattern_inside_the_green_gains_putts_only() -> None:
    # With a spread far smaller than the green every finish is a putt: the gain of a quarter less
    # spread is a difference of mean putts, from about 1.25 spreads away.
    tight = replace(
        IRON,
        pattern=replace(IRON.pattern, carry_sd_m=2.0, side_sd_m=2.0, mishit_rate=0.0,
                        carry_se_m=0.0, side_se_m=0.0, degrees_of_freedom=np.inf),
    )  # fmt: skip
    gain = by_aspect([DRIVER, tight], "7-iron")["distance"]
    far, near = TABLE.strokes(np.array([2.5, 2.2]), "green")
    assert GREEN_RADIUS_M > 5 * 2.0
    assert 0.0 < gain < 2.0 * float(far - near)


def test_improvements_change_only_their_aspect() -> None:
    pattern = IRON.pattern
    assert improved(pattern, "distance") == replace(pattern, carry_sd_m=4.5)
    assert improved(pattern, "mishits") == replace(pattern, mishit_rate=0.025)
    assert improved(pattern, "direction").side_sd_m == 4.5


def test_no_clubs_no_advice() -> None:
    assert practice_gains([], TABLE) == []
