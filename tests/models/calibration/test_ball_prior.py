"""What is known of a ball before and after calibration."""

from __future__ import annotations

import numpy as np
import polars as pl
from rangeledger.models.calibration.ball_prior import PRIOR_SD, ball_uncertainty, prior_sd
from rangeledger.models.flight.trajectory import fly


def test_premium_prior_covers_the_published_spread_of_balls() -> None:
    # Lyu et al. 2018, abstract: carry of 13 balls spreads over 18 m. Two standard deviations of
    # the prior either way must hold that, and not twice as much.
    sd = PRIOR_SD["premium"][0]
    drive = (72.0, 12.0, 0.0, 2700.0)
    spread = (
        fly(*drive, drag_scale=np.exp(-2 * sd)).carry_m
        - fly(*drive, drag_scale=np.exp(2 * sd)).carry_m
    )
    assert 18.0 < spread < 40.0


def test_kinds_of_ball() -> None:
    drag, lift = prior_sd(np.array(["premium", "limited-flight", "something"]))
    assert drag.tolist() == [0.05, 0.20, 0.07]
    assert lift.tolist() == [0.08, 0.20, 0.10]


def test_calibrated_groups_use_their_own_error() -> None:
    groups = pl.DataFrame({"player": "p", "club": ["driver", "7-iron"], "ball": "premium"})
    calibration = pl.DataFrame(
        {
            "player": ["p"],
            "club": ["driver"],
            "ball": ["premium"],
            "drag_scale": [2.0],
            "drag_scale_se": [0.02],
            "lift_scale": [0.5],
            "lift_scale_se": [0.02],
        }
    )
    drag, lift = ball_uncertainty(groups, calibration)
    np.testing.assert_allclose(drag, [0.01, 0.05])
    np.testing.assert_allclose(lift, [0.04, 0.08])
