"""The standard atmosphere: temperature, pressure, density and viscosity with altitude."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike
from rangeledger.models.constants import GRAVITY_MPS2, ZERO_CELSIUS_K

# Defining constants of the standard atmosphere. Source: ISO 2533:1975.
SEA_LEVEL_TEMP_K: Final = 288.15
SEA_LEVEL_PRESSURE_HPA: Final = 1013.25
LAPSE_RATE_K_PER_M: Final = 0.0065
GAS_CONSTANT_JPKGK: Final = 287.05287  # of dry air
TROPOPAUSE_M: Final = 11_000.0

# Sutherland's law for air. Source: ISO 2533:1975, from memory.
_SUTHERLAND_FACTOR: Final = 1.458e-6
_SUTHERLAND_TEMP_K: Final = 110.4


def standard_temp_c(altitude_m: ArrayLike) -> Any:
    """Air temperature of the standard atmosphere.

    Parameters
    ----------
    altitude_m : array_like
        Geopotential altitude [m], up to 11,000.

    Returns
    -------
    float or ndarray
        Temperature [degC], shape of the input.

    Notes
    -----
    T = 288.15 K - 0.0065 K/m H ([iso2533]); held constant above 11,000 m.

    References
    ----------
    [iso2533]
    """
    H = np.minimum(np.asarray(altitude_m, dtype=float), TROPOPAUSE_M)
    return (SEA_LEVEL_TEMP_K - LAPSE_RATE_K_PER_M * H - ZERO_CELSIUS_K)[()]


def standard_pressure_hpa(altitude_m: ArrayLike) -> Any:
    """Station pressure of the standard atmosphere.

    Parameters
    ----------
    altitude_m : array_like
        Geopotential altitude [m], up to 11,000.

    Returns
    -------
    float or ndarray
        Pressure [hPa], shape of the input.

    Notes
    -----
    p = p_0 (T / T_0)^(g / (R L)) ([iso2533]). A place's altitude above sea level is geometric;
    below 3,000 m the difference to the geopotential one is less than 1.5 m.

    References
    ----------
    [iso2533]
    """
    T = np.asarray(standard_temp_c(altitude_m)) + ZERO_CELSIUS_K
    exponent = GRAVITY_MPS2 / (GAS_CONSTANT_JPKGK * LAPSE_RATE_K_PER_M)
    return (SEA_LEVEL_PRESSURE_HPA * (T / SEA_LEVEL_TEMP_K) ** exponent)[()]


def dynamic_viscosity_pas(air_temp_c: ArrayLike = SEA_LEVEL_TEMP_K - ZERO_CELSIUS_K) -> Any:
    """Dynamic viscosity of air.

    Parameters
    ----------
    air_temp_c : array_like
        Air temperature [degC]; by default that of the standard atmosphere at sea level.

    Returns
    -------
    float or ndarray
        Dynamic viscosity [Pa s], shape of the input.

    Notes
    -----
    Sutherland's law mu = 1.458e-6 T^1.5 / (T + 110.4) ([iso2533]).

    References
    ----------
    [iso2533]
    """
    T = np.asarray(air_temp_c, dtype=float) + ZERO_CELSIUS_K
    return (_SUTHERLAND_FACTOR * T**1.5 / (T + _SUTHERLAND_TEMP_K))[()]
