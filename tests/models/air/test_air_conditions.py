"""Filling in the air of a day."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.air.air_conditions import (
    ASSUMED_HUMIDITY,
    ASSUMED_PRESSURE,
    ASSUMED_TEMP,
    DOUBTFUL_PRESSURE,
    PRESSURE_OF_ALTITUDE,
    air_density_of,
    pressure_at_altitude_hpa,
)
from rangeledger.models.air.air_density import REFERENCE_AIR_DENSITY_KGM3, air_density_kgm3


def test_nothing_recorded_is_the_reference_air() -> None:
    air = air_density_of()
    assert air.air_density_kgm3 == pytest.approx(REFERENCE_AIR_DENSITY_KGM3, rel=1e-12)
    assert air.assumed == "; ".join((ASSUMED_TEMP, ASSUMED_HUMIDITY, ASSUMED_PRESSURE))


def test_sea_level_alone_is_the_reference_air() -> None:
    assert air_density_of(altitude_m=0.0).air_density_kgm3 == pytest.approx(
        REFERENCE_AIR_DENSITY_KGM3, rel=1e-12
    )


def test_everything_recorded_assumes_nothing() -> None:
    air = air_density_of(12.0, 985.0, 70.0, 210.0)
    assert air.assumed == ""
    assert air.air_density_kgm3 == air_density_kgm3(12.0, 985.0, 70.0)


def test_pressure_falls_with_altitude_as_in_the_standard_atmosphere() -> None:
    # ISO 2533: p(1000 m) / p(0) = 898.75 / 1013.25.
    ratio = pressure_at_altitude_hpa(1000.0) / pressure_at_altitude_hpa(0.0)
    assert ratio == pytest.approx(898.75 / 1013.25, rel=1e-5)
    air = air_density_of(20.0, np.nan, 40.0, 1000.0)
    assert air.assumed == PRESSURE_OF_ALTITUDE


def test_a_pressure_reduced_to_sea_level_is_pointed_out() -> None:
    air = air_density_of(20.0, [1015.0, 905.0], 40.0, 1000.0)
    assert air.assumed.tolist() == [DOUBTFUL_PRESSURE, ""]
