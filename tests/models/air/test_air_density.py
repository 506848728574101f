"""Density of moist air against published formulas coded a second time, and limits."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.air.air_density import (
    REFERENCE_AIR_DENSITY_KGM3,
    air_density_kgm3,
    saturation_vapour_pressure_pa,
)


def oiml_density(t: float, p_hpa: float, rh_pct: float) -> float:
    """Approximation of OIML R 111-1 (2004), eq. E.3-1: formula from memory."""
    return (0.34848 * p_hpa - 0.009 * rh_pct * np.exp(0.061 * t)) / (273.15 + t)


# degC, hPa, %: the expected values were computed by an independent coding of CIPM-2007 with the
# constants of three open programs of metrology.
CIPM = [
    (15.0, 1013.25, 0.0, 1.225521),
    (20.0, 1013.25, 50.0, 1.199314),
    (20.0, 1000.0, 50.0, 1.183557),
    (0.0, 1013.25, 0.0, 1.293049),
    (30.0, 1013.25, 80.0, 1.150012),
    (35.0, 1013.25, 100.0, 1.121839),
    (25.0, 845.56, 30.0, 0.984057),
]


@pytest.mark.parametrize(("t", "p", "rh", "expected"), CIPM)
def test_cipm_2007(t, p, rh, expected) -> None:
    assert air_density_kgm3(t, p, rh) == pytest.approx(expected, abs=1.5e-6)


@pytest.mark.parametrize("t", [-5.0, 5.0, 15.0, 25.0, 33.0])
@pytest.mark.parametrize("p", [750.0, 900.0, 1013.25])
@pytest.mark.parametrize("rh", [0.0, 50.0, 100.0])
def test_agrees_with_the_approximation_of_legal_metrology(t, p, rh) -> None:
    # OIML R 111-1 claims 2e-4 relative between 900 and 1100 hPa, 10 to 30 degC, below 80 %;
    # 1e-3 covers the wider range of a golf day.
    assert air_density_kgm3(t, p, rh) == pytest.approx(oiml_density(t, p, rh), rel=1e-3)


def test_dry_thin_air_is_an_ideal_gas() -> None:
    # Limit: without vapour and at low pressure Z -> 1, rho = p M / (R T).
    ideal = 1000.0 * 28.96546e-3 / (8.314472 * 293.15)
    assert air_density_kgm3(20.0, 10.0, 0.0) == pytest.approx(ideal, rel=1e-5)


def test_saturation_pressure() -> None:
    # Triple point of water, 611.657 Pa at 273.16 K (IAPWS); 2339.2 Pa at 20 degC and
    # 7384.9 Pa at 40 degC (steam tables, from memory). The formula claims 0.05 %.
    assert saturation_vapour_pressure_pa(0.01) == pytest.approx(611.657, rel=1e-3)
    assert saturation_vapour_pressure_pa(20.0) == pytest.approx(2339.2, rel=1e-3)
    assert saturation_vapour_pressure_pa(40.0) == pytest.approx(7384.9, rel=1e-3)


def test_damp_or_warm_air_is_thinner() -> None:
    assert np.all(np.diff(air_density_kgm3(25.0, 1013.0, np.linspace(0, 100, 11))) < 0)
    assert np.all(np.diff(air_density_kgm3(np.linspace(-5, 40, 10), 1013.0, 50.0)) < 0)


def test_shapes_and_missing_values() -> None:
    assert isinstance(air_density_kgm3(20.0, 1013.0, 50.0), float)
    assert air_density_kgm3(np.zeros((2, 1)), np.full(3, 1000.0), 0.0).shape == (2, 3)
    assert np.isnan(air_density_kgm3([np.nan, 20.0], 1013.0, 50.0)).tolist() == [True, False]


def test_reference_air_regression() -> None:
    assert pytest.approx(1.185312, abs=1e-6) == REFERENCE_AIR_DENSITY_KGM3
