"""Wind and air of a session in plain words, in the customary units of a page."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rangeledger.schemas.units import FOOT_M, MPH_MPS
from rangeledger.warehouse.pages.units import PageUnit

# How the wind that was reckoned with was known.
_SOURCES = {"recorded": "recorded", "recovered": "worked out from the shots"}
# Less wind than this, rounded, is none.
_CALM = 0.5


def air_words(row: Mapping[str, Any], unit: PageUnit) -> str:
    """Recorded air of a session: `54 °F (12 °C), 1,600 ft up`, else `not recorded`.

    Parameters
    ----------
    row : mapping
        A row of sessions: air_temp_c and altitude_m.
    unit : PageUnit
        Yards go with degrees Fahrenheit and feet.

    Returns
    -------
    str
    """
    words = []
    if row["air_temp_c"] is not None:
        words.append(_temperature(row["air_temp_c"], unit))
    if row["altitude_m"] is not None and abs(row["altitude_m"]) >= 1.0:
        words.append(_height(row["altitude_m"], unit))
    return ", ".join(words) or "not recorded"


def _temperature(celsius: float, unit: PageUnit) -> str:
    if unit.symbol == "m":
        return f"{celsius:.0f} °C"
    return f"{32.0 + 1.8 * celsius:.0f} °F ({celsius:.0f} °C)"


def _height(metres: float, unit: PageUnit) -> str:
    customary = unit.symbol == "yd"
    size = abs(metres) / FOOT_M if customary else abs(metres)
    where = "up" if metres > 0.0 else "below the sea"
    return f"{round(size, -1 if size >= 100.0 else 0):,.0f} {'ft' if customary else 'm'} {where}"


def wind_words(row: Mapping[str, Any], unit: PageUnit) -> str:
    """Wind that a session was reckoned with, and how it was known.

    Parameters
    ----------
    row : mapping
        A row of sessions: wind_source, head_wind_mps (against) and cross_wind_mps (to the right).
    unit : PageUnit
        Yards go with miles an hour.

    Returns
    -------
    str
        Such as `11 mph with, 3 mph from the left (worked out from the shots)`.
    """
    source = _SOURCES.get(row["wind_source"])
    if source is None:
        return "taken as calm, none recorded"
    customary = unit.symbol == "yd"
    speed, name = (MPH_MPS, "mph") if customary else (1.0, "m/s")
    sides = (
        (row["head_wind_mps"], "against", "with"),
        (row["cross_wind_mps"], "from the left", "from the right"),
    )
    words = [
        f"{abs(wind) / speed:.0f} {name} {plus if wind > 0.0 else minus}"
        for wind, plus, minus in sides
        if wind is not None and abs(wind) / speed >= _CALM
    ]
    return f"{', '.join(words) or 'calm'} ({source})"
