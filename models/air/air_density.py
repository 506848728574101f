"""Density of moist air from temperature, pressure and humidity (CIPM-2007)."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from rangeledger.models.constants import (
    PA_PER_HPA,
    PER_CENT,
    REFERENCE_HUMIDITY_PCT,
    REFERENCE_PRESSURE_HPA,
    REFERENCE_TEMP_C,
    ZERO_CELSIUS_K,
)

# Constants of CIPM-2007, [picard2008]: saturation pressure (A to D), enhancement factor (alpha,
# beta, gamma), compressibility (a0 to e), molar mass of air and of water, molar gas constant.
_A, _B, _C, _D = 1.2378847e-5, -1.9121316e-2, 33.93711047, -6343.1645
_ALPHA, _BETA, _GAMMA = 1.00062, 3.14e-8, 5.6e-7
_A0, _A1, _A2 = 1.58123e-6, -2.9331e-8, 1.1043e-10
_B0, _B1 = 5.707e-6, -2.051e-8
_C0, _C1 = 1.9898e-4, -2.376e-6
_D0, _E0 = 1.83e-11, -0.765e-8
_MOLAR_MASS_AIR = 28.96546e-3  # kg/mol at 0.0004 mol/mol of carbon dioxide
_MOLAR_MASS_WATER = 18.01528e-3
_MOLAR_GAS = 8.314472  # J/(mol K)


def saturation_vapour_pressure_pa(air_temp_c: ArrayLike) -> Any:
    """Pressure of water vapour over a flat surface of water at saturation.

    Parameters
    ----------
    air_temp_c : array_like
        Air temperature [degC], any shape.

    Returns
    -------
    float or ndarray
        Saturation pressure [Pa], shape of the input.

    Notes
    -----
    p_sv = exp(A T^2 + B T + C + D / T), T in kelvin ([picard2008], eq. A1.1).

    References
    ----------
    [picard2008]
    """
    T = np.asarray(air_temp_c, dtype=float) + ZERO_CELSIUS_K
    return np.exp(_A * T**2 + _B * T + _C + _D / T)[()]


def _vapour_fraction(t: Any, p: Any, relative_humidity: Any) -> Any:
    """Mole fraction of water vapour [1]."""
    enhancement = _ALPHA + _BETA * p + _GAMMA * t**2
    return relative_humidity * enhancement * saturation_vapour_pressure_pa(t) / p


def _compressibility(t: Any, p: Any, x: Any) -> Any:
    """Compressibility factor of moist air [1]."""
    T = t + ZERO_CELSIUS_K
    first = _A0 + _A1 * t + _A2 * t**2 + (_B0 + _B1 * t) * x + (_C0 + _C1 * t) * x**2
    return 1.0 - p / T * first + (p / T) ** 2 * (_D0 + _E0 * x**2)


def air_density_kgm3(
    air_temp_c: ArrayLike, air_pressure_hpa: ArrayLike, humidity_pct: ArrayLike
) -> Any:
    """Density of moist air.

    Parameters
    ----------
    air_temp_c : array_like
        Air temperature [degC]; the formula is stated for 15 to 27 degC.
    air_pressure_hpa : array_like
        Station pressure [hPa], not reduced to sea level; stated for 600 to 1100 hPa.
    humidity_pct : array_like
        Relative humidity [%], 0 to 100.

    Returns
    -------
    float or ndarray
        Density [kg/m3], broadcast shape of the inputs; NaN where an input is NaN.

    Notes
    -----
    rho = p M_a / (Z R T) (1 - x_v (1 - M_v / M_a)) ([picard2008], eq. 1). Outside the stated
    range the formula is continued: from -5 to 40 degC it stays within 0.1 % of the simpler
    approximation of OIML R 111, far below what matters to a ball (0.1 % is 0.1 m of a drive).

    References
    ----------
    [picard2008]
    """
    t = np.asarray(air_temp_c, dtype=float)
    p = np.asarray(air_pressure_hpa, dtype=float) * PA_PER_HPA
    x = _vapour_fraction(t, p, np.asarray(humidity_pct, dtype=float) / PER_CENT)
    dry = p * _MOLAR_MASS_AIR / (_compressibility(t, p, x) * _MOLAR_GAS * (t + ZERO_CELSIUS_K))
    return (dry * (1.0 - x * (1.0 - _MOLAR_MASS_WATER / _MOLAR_MASS_AIR)))[()]


REFERENCE_AIR_DENSITY_KGM3: float = float(
    air_density_kgm3(REFERENCE_TEMP_C, REFERENCE_PRESSURE_HPA, REFERENCE_HUMIDITY_PCT)
)
