"""The day's effect for every aim, looked up."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.flight.day_flight import STILL_AIR, Conditions, Launch, day_flight
from rangeledger.models.flight.day_table import day_table

DRIVE = Launch(70.0, 12.0, -1.0, 2700.0, 3.0)
AIMS = np.radians([-171.3, -37.0, -2.4, 0.0, 3.7, 88.8, 179.9, 365.0])


@pytest.mark.parametrize("wind_from_deg", [0.0, 47.0, 90.0, 233.0])
def test_looked_up_is_as_flown(wind_from_deg: float) -> None:
    windy = Conditions(10.0, wind_from_deg)
    flown, looked_up = day_flight(DRIVE, windy, AIMS), day_table(DRIVE, windy).at(AIMS)
    stock = (235.0, 2.0)
    np.testing.assert_allclose(
        looked_up.stock_landing(stock), flown.stock_landing(stock), atol=0.15
    )
    np.testing.assert_allclose(looked_up.run_m, flown.run_m, atol=0.1)
    np.testing.assert_allclose(looked_up.side_stretch, flown.side_stretch, atol=0.003)
    np.testing.assert_allclose(looked_up.descent_angle_deg, flown.descent_angle_deg, atol=0.1)


def test_without_wind_every_aim_is_alike() -> None:
    flown, looked_up = day_flight(DRIVE, STILL_AIR), day_table(DRIVE, STILL_AIR).at(AIMS)
    assert looked_up.carry_ratio.shape == (len(AIMS), flown.share.size)
    np.testing.assert_array_equal(looked_up.run_m, np.full(len(AIMS), flown.run_m[0]))


def test_the_stock_shot_lands_where_a_point_of_it_does() -> None:
    day, stock = day_flight(DRIVE, Conditions(6.0, 60.0), AIMS), (235.0, 2.0)
    each = [day.landing(np.array([stock]), stock, aim)[0] for aim in range(len(AIMS))]
    np.testing.assert_allclose(day.stock_landing(stock), each, rtol=1e-12)
