"""The table of flights against the flights themselves, whose own tests are in `test_flight.py`."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.flight.flight_table import LARGEST_ERROR, read_flights
from rangeledger.models.flight.trajectory import fly


@pytest.mark.parametrize("name", ["carry_m", "apex_m", "hang_time_s"])
def test_the_table_is_near_the_computed_flight(name: str) -> None:
    rng = np.random.default_rng(11)
    speed, launch = rng.uniform(12.0, 100.0, 20_000), rng.uniform(4.0, 60.0, 20_000)
    spin = rng.uniform(200.0**0.5, 15_000.0**0.5, 20_000) ** 2
    wanted = getattr(fly(speed, launch, 0.0, spin), name)
    found = getattr(read_flights(speed, launch, spin), name)
    assert np.abs(found / wanted - 1.0).max() < LARGEST_ERROR


@pytest.mark.parametrize(
    "launch",
    [(11.9, 10.0, 3000.0), (100.1, 10.0, 3000.0), (50.0, 3.9, 3000.0), (50.0, 60.1, 3000.0),
     (50.0, 10.0, 199.0), (50.0, 10.0, 15_001.0), (np.nan, 10.0, 3000.0), (50.0, 10.0, -1.0)],
)  # fmt: skip
def test_outside_of_the_table_nothing_is_said(launch: tuple[float, float, float]) -> None:
    flight = read_flights(*(np.array([value]) for value in launch))
    assert all(np.isnan(column).all() for column in flight)
