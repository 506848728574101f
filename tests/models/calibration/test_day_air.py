"""Which wind, air and ball a shot is reckoned with."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from rangeledger.models.air.air_density import REFERENCE_AIR_DENSITY_KGM3
from rangeledger.models.calibration.day_air import (
    UNKNOWN_WIND_SD_MPS,
    ball_scales,
    day_air,
)
from rangeledger.models.calibration.noted_winds import wind_is_stated

SHOTS = pl.DataFrame(
    {
        "session_id": ["a", "a", "b", "c"],
        "player": "p",
        "club": "driver",
        "ball": "premium",
        "wind_speed_mps": [5.0, 0.0, 4.0, None],
        "wind_from_deg": [180.0, None, None, 90.0],
        "air_temp_c": [None, 20.0, 20.0, 20.0],
    }
)
WINDS = pl.DataFrame(
    {
        "session_id": ["b", "a"],
        "head_wind_mps": [2.0, -3.0],
        "cross_wind_mps": [-1.0, 0.5],
        "head_wind_se_mps": [0.4, 0.6],
        "cross_wind_se_mps": [0.3, 0.7],
    }
)


def test_a_wind_without_direction_is_no_wind_unless_it_is_calm() -> None:
    assert wind_is_stated(SHOTS).tolist() == [True, True, False, False]


def test_stated_before_recovered_before_calm() -> None:
    """Session a noted -2.5 m/s on average; its flights say -3, so each of its winds moves."""
    air = day_air(SHOTS, WINDS)
    np.testing.assert_allclose(air.head_wind_mps, [-5.5, -0.5, 2.0, 0.0], atol=1e-12)
    np.testing.assert_allclose(air.cross_wind_mps, [0.5, 0.5, -1.0, 0.0], atol=1e-12)
    np.testing.assert_allclose(air.head_sd_mps, [0.6, 0.6, 0.4, UNKNOWN_WIND_SD_MPS])
    alone = day_air(SHOTS)
    np.testing.assert_allclose(alone.head_wind_mps, [-5.0, 0.0, 0.0, 0.0], atol=1e-12)
    np.testing.assert_allclose(alone.head_sd_mps[:2], [2.0, 0.5])
    assert air.wind_recovered.tolist() == [False, False, True, False]


def test_air_that_nobody_stated_is_the_reference_air_and_less_sure() -> None:
    air = day_air(SHOTS)
    assert air.air_density_kgm3[0] == pytest.approx(REFERENCE_AIR_DENSITY_KGM3)
    assert air.air_stated.tolist() == [False, True, True, True]
    assert air.density_sd[0] > air.density_sd[1]


def test_scales_join_by_player_club_and_ball() -> None:
    calibration = pl.DataFrame(
        {
            "player": ["p", "q"],
            "club": "driver",
            "ball": "premium",
            "drag_scale": [1.1, 2.0],
            "lift_scale": [0.9, 2.0],
        }
    )
    drag, lift = ball_scales(SHOTS, calibration)
    np.testing.assert_allclose(np.exp(drag), 1.1)
    np.testing.assert_allclose(np.exp(lift), 0.9)
    drag, lift = ball_scales(SHOTS, None)
    assert not drag.any()
    assert not lift.any()
