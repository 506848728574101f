"""What is usual of a club for a player's length."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.clubs.usual_spread import usual_level


def test_a_longer_player_repeats_better() -> None:
    # [smoliga2006] as the population has it: 67 strokes of handicap for 1 in ln length, spread
    # times e to 0.03 and mishits to 0.045 a stroke, so powers of 2.01 and 3.015 of length.
    short, long = (usual_level("7-iron", "full", 130.0, drive) for drive in (180.0, 220.0))
    assert short["distance"] / long["distance"] == pytest.approx((220.0 / 180.0) ** 2.01)
    assert short["mishits"] / long["mishits"] == pytest.approx((220.0 / 180.0) ** 3.015)


def test_a_player_of_reference_length() -> None:
    # The reference player drives 193.7 m; 3.5 % and 1.5 % of carry in quadrature (population).
    usual = usual_level("7-iron", "full", 136.0, 193.7)
    assert usual["distance"] == pytest.approx(np.hypot(0.035, 0.015), rel=0.01)


def test_the_side_narrows_with_loft_and_a_short_swing_is_judged_wider() -> None:
    driver, wedge = (usual_level(club, "full", 100.0, 200.0) for club in ("driver", "56-wedge"))
    assert driver["direction"] > 1.5 * wedge["direction"]
    full, half = (
        usual_level("56-wedge", swing, carry, 200.0)
        for swing, carry in (("full", 80.0), ("9:00", 40.0))
    )
    assert half["distance"] > 1.5 * full["distance"]
