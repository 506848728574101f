"""The air of a day from what was recorded of it: what is missing is filled and named."""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike
from rangeledger.models.air.air_density import air_density_kgm3
from rangeledger.models.air.standard_atmosphere import SEA_LEVEL_PRESSURE_HPA, standard_pressure_hpa
from rangeledger.models.constants import (
    REFERENCE_HUMIDITY_PCT,
    REFERENCE_PRESSURE_HPA,
    REFERENCE_TEMP_C,
)

# A stated pressure this far from that of the altitude looks reduced to sea level; weather moves
# the pressure of a place by 2 % on an ordinary day. Common practice, no source.
_DOUBTFUL_PRESSURE_RATIO: Final = 1.05

ASSUMED_TEMP: Final = "temperature assumed 23.9 degC"
ASSUMED_HUMIDITY: Final = "humidity assumed 50 %"
PRESSURE_OF_ALTITUDE: Final = "pressure taken from the altitude"
ASSUMED_PRESSURE: Final = "pressure assumed that of sea level"
DOUBTFUL_PRESSURE: Final = "pressure looks reduced to sea level, taken as stated"


class AirConditions(NamedTuple):
    """Air as used: density, what went into it, and in words what was assumed."""

    air_density_kgm3: Any
    air_temp_c: Any
    air_pressure_hpa: Any
    humidity_pct: Any
    assumed: Any


def pressure_at_altitude_hpa(altitude_m: ArrayLike) -> Any:
    """Station pressure of the reference air carried to an altitude.

    Parameters
    ----------
    altitude_m : array_like
        Height of the place above sea level [m].

    Returns
    -------
    float or ndarray
        Pressure [hPa]; 30.00 inHg at sea level.

    Notes
    -----
    The reference pressure times the ratio p(H) / p(0) of the standard atmosphere, so that a place
    at sea level of which nothing else is known has exactly the reference air.

    References
    ----------
    [iso2533]
    """
    ratio = np.asarray(standard_pressure_hpa(altitude_m)) / SEA_LEVEL_PRESSURE_HPA
    return (REFERENCE_PRESSURE_HPA * ratio)[()]


def air_density_of(
    air_temp_c: ArrayLike = np.nan,
    air_pressure_hpa: ArrayLike = np.nan,
    humidity_pct: ArrayLike = np.nan,
    altitude_m: ArrayLike = np.nan,
) -> AirConditions:
    """Density of the air from what was recorded, with the rest filled in.

    Parameters
    ----------
    air_temp_c : array_like
        Air temperature [degC]; NaN where unknown, then 75 degF.
    air_pressure_hpa : array_like
        Station pressure [hPa]; NaN where unknown, then from the altitude.
    humidity_pct : array_like
        Relative humidity [%]; NaN where unknown, then 50 %.
    altitude_m : array_like
        Height of the place above sea level [m]; NaN where unknown, then sea level.

    Returns
    -------
    AirConditions
        Density [kg/m3], the temperature [degC], pressure [hPa] and humidity [%] used, and the
        assumptions in words (empty where nothing was assumed), all of the broadcast shape.

    Notes
    -----
    Where pressure and altitude are both known the pressure counts. One that is 5 % above what
    the altitude allows is probably reduced to sea level, a mistake of 12 % in density at 1,000 m;
    it is taken as stated, and `assumed` says so.

    References
    ----------
    [picard2008], [iso2533]
    """
    t, p, h, z = np.broadcast_arrays(
        *(
            np.asarray(v, dtype=float)
            for v in (air_temp_c, air_pressure_hpa, humidity_pct, altitude_m)
        )
    )
    expected = np.asarray(pressure_at_altitude_hpa(np.where(np.isnan(z), 0.0, z)))
    temp = np.where(np.isnan(t), REFERENCE_TEMP_C, t)
    pressure = np.where(np.isnan(p), expected, p)
    humidity = np.where(np.isnan(h), REFERENCE_HUMIDITY_PCT, h)
    assumed = _words(
        (
            (np.isnan(t), ASSUMED_TEMP),
            (np.isnan(h), ASSUMED_HUMIDITY),
            (np.isnan(p) & ~np.isnan(z), PRESSURE_OF_ALTITUDE),
            (np.isnan(p) & np.isnan(z), ASSUMED_PRESSURE),
            (~np.isnan(z) & (p > expected * _DOUBTFUL_PRESSURE_RATIO), DOUBTFUL_PRESSURE),
        ),
        t.shape,
    )
    density = air_density_kgm3(temp, pressure, humidity)
    return AirConditions(density, temp[()], pressure[()], humidity[()], assumed[()])


def _words(parts: tuple[tuple[Any, str], ...], shape: tuple[int, ...]) -> Any:
    """Join the words of every condition that holds, element by element."""
    code = np.zeros(shape, dtype=int)
    for bit, (holds, _) in enumerate(parts):
        code += np.asarray(holds, dtype=int) << bit
    texts = [
        "; ".join(word for bit, (_, word) in enumerate(parts) if number >> bit & 1)
        for number in range(1 << len(parts))
    ]
    # References to a few texts: as fixed-width text a million shots would take a gigabyte.
    return np.asarray(np.array(texts, dtype=object)[code], dtype=object)
