"""The standard atmosphere against the printed tables."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.air.standard_atmosphere import (
    dynamic_viscosity_pas,
    standard_pressure_hpa,
    standard_temp_c,
)

# Geopotential m, K, hPa, kg/m3, 1e-5 m2/s: ISO 2533:1975 / ICAO Doc 7488, recomputed and in
# agreement with an independent open package to 2e-4.
TABLE = [
    (0.0, 288.15, 1013.25, 1.22500, 1.4607),
    (500.0, 284.90, 954.61, 1.16727, 1.5195),
    (1000.0, 281.65, 898.75, 1.11164, 1.5813),
    (1500.0, 278.40, 845.56, 1.05807, 1.6463),
    (2000.0, 275.15, 794.95, 1.00649, 1.7148),
    (2500.0, 271.90, 746.83, 0.95686, 1.7870),
    (3000.0, 268.65, 701.09, 0.90912, 1.8630),
]


def standard_density_kgm3(altitude):
    """Density of a dry ideal gas at the standard's pressure and temperature: p / (R T)."""
    kelvin = standard_temp_c(altitude) + 273.15
    return standard_pressure_hpa(altitude) * 100.0 / (287.05287 * kelvin)


@pytest.mark.parametrize(("altitude", "kelvin", "hpa", "density", "viscosity"), TABLE)
def test_table(altitude, kelvin, hpa, density, viscosity) -> None:
    temp = standard_temp_c(altitude)
    assert temp + 273.15 == pytest.approx(kelvin, abs=0.005)
    assert standard_pressure_hpa(altitude) == pytest.approx(hpa, abs=0.01)
    assert standard_density_kgm3(altitude) == pytest.approx(density, abs=1e-5)
    kinematic = dynamic_viscosity_pas(temp) / standard_density_kgm3(altitude)
    assert kinematic * 1e5 == pytest.approx(viscosity, abs=1e-4)


def test_hydrostatic_balance() -> None:
    # Defining property: dp/dH = -rho g, by a central difference over 2 m.
    H = np.array([100.0, 1200.0, 2400.0])
    slope = (standard_pressure_hpa(H + 1) - standard_pressure_hpa(H - 1)) * 100.0 / 2.0
    np.testing.assert_allclose(slope, -standard_density_kgm3(H) * 9.80665, rtol=1e-7)


def test_missing_values() -> None:
    assert np.isnan(standard_pressure_hpa(np.nan))
    assert standard_temp_c(np.array([0.0, 1.0])).shape == (2,)
