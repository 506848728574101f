"""A noted wind has a height; the same wind is the same to the ball whatever height it has."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from rangeledger.models.air.wind_profile import (
    ball_wind_factor,
    noted_profile,
    wind_factor,
)
from rangeledger.models.calibration.noted_winds import height_factor, noted_wind
from rangeledger.models.flight.trajectory import fly

# Ball speed, launch, spin: driver, 7-iron, wedge and a short pitch.
LAUNCHES = [(74.5, 11.0, 2700.0), (53.5, 16.5, 7000.0), (42.5, 26.0, 9500.0), (28.0, 30.0, 7000.0)]


@pytest.mark.parametrize("launch", LAUNCHES)
@pytest.mark.parametrize("height", ["weather", "player"])
@pytest.mark.parametrize("origin", [0.0, 90.0])
def test_the_factor_is_the_uniform_wind_of_the_same_effect(
    launch: tuple[float, float, float], height: str, origin: float
) -> None:
    """Flights solved through the profile and in a uniform wind: equal within 5 % of the effect."""
    speed, angle, spin = launch
    profile = noted_profile(height)
    still = fly(speed, angle, 0.0, spin, 0.0)
    factor = float(ball_wind_factor(still.apex_m, profile))
    blown = fly(
        speed, angle, 0.0, spin, 0.0, wind_speed_mps=4.0, wind_from_deg=origin, wind_profile=profile
    )
    uniform = fly(speed, angle, 0.0, spin, 0.0, wind_speed_mps=4.0 * factor, wind_from_deg=origin)
    along = origin == 0.0
    true, found = (
        float(f.carry_m - still.carry_m if along else f.carry_side_m) for f in (blown, uniform)
    )
    assert found == pytest.approx(true, rel=0.05)


def test_one_wind_noted_at_three_heights_is_one_wind_to_the_ball() -> None:
    """A full shot of 27 m apex meets the wind of 13.5 m; the laws' own ratios to 10 m and 2 m."""
    met = 6.0
    factors = [float(wind_factor(13.5, noted_profile(height))) for height in ("weather", "player")]
    shots = pl.DataFrame(
        {
            "wind_speed_mps": [met / factors[0], met / factors[1], met, met],
            "wind_from_deg": [0.0] * 4,
            "wind_height": ["weather", "player", "ball", None],
            "apex_m": [27.0] * 4,
            "carry_m": [150.0] * 4,
        }
    )
    wind = noted_wind(shots)
    np.testing.assert_allclose(wind.head_wind_mps, [met] * 4)
    np.testing.assert_allclose(wind.sd_mps, [0.5 + 0.3 * met] * 4)


def test_a_short_shot_meets_less_of_a_reported_wind_and_needs_no_apex() -> None:
    shots = pl.DataFrame({"wind_height": ["weather"] * 3, "carry_m": [30.0, 60.0, 240.0]})
    low, middle, full = height_factor(shots)
    assert low < middle < 1.0 < full < 1.1
