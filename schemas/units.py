"""Conversion factors from customary units to the canonical ones.

All factors are exact by definition. Source: NIST Special Publication 811 (2008), appendix B.8:
international foot 0.3048 m, yard 0.9144 m, inch 0.0254 m, mile 1609.344 m, international knot
1852 m/h; inch of mercury (conventional) 3386.389 Pa; degrees Fahrenheit t/C = (t/F - 32)/1.8.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: canonical value = (number + offset) * factor."""

    symbol: str
    dimension: str
    factor: float
    offset: float = 0.0


FOOT_M = 0.3048
YARD_M = 0.9144
INCH_M = 0.0254
MILE_M = 1609.344
KNOT_MPS = 1852.0 / 3600.0
MPH_MPS = MILE_M / 3600.0
KMH_MPS = 1.0 / 3.6
INHG_HPA = 33.86389

UNITS: dict[str, Unit] = {
    unit.symbol: unit
    for unit in (
        Unit("m", "length", 1.0),
        Unit("dm", "length", 0.1),
        Unit("cm", "length", 0.01),
        Unit("mm", "length", 0.001),
        Unit("km", "length", 1000.0),
        Unit("yd", "length", YARD_M),
        Unit("ft", "length", FOOT_M),
        Unit("in", "length", INCH_M),
        Unit("m/s", "speed", 1.0),
        Unit("km/h", "speed", KMH_MPS),
        Unit("mph", "speed", MPH_MPS),
        Unit("ft/s", "speed", FOOT_M),
        Unit("yd/s", "speed", YARD_M),
        Unit("cm/s", "speed", 0.01),
        Unit("mm/s", "speed", 0.001),
        Unit("kn", "speed", KNOT_MPS),
        Unit("deg", "angle", 1.0),
        Unit("mdeg", "angle", 0.001),
        Unit("rad", "angle", 57.29577951308232),
        Unit("mrad", "angle", 0.05729577951308232),
        Unit("cdeg", "angle", 0.01),
        Unit("rpm", "rotation", 1.0),
        Unit("krpm", "rotation", 1000.0),
        Unit("100rpm", "rotation", 100.0),
        Unit("rev/s", "rotation", 60.0),
        Unit("deg/s", "rotation", 1.0 / 6.0),
        Unit("rad/s", "rotation", 9.549296585513721),
        Unit("s", "time", 1.0),
        Unit("ms", "time", 0.001),
        Unit("degC", "temperature", 1.0),
        Unit("degF", "temperature", 1.0 / 1.8, -32.0),
        Unit("K", "temperature", 1.0, -273.15),
        Unit("hPa", "pressure", 1.0),
        Unit("kPa", "pressure", 10.0),
        Unit("Pa", "pressure", 0.01),
        Unit("inHg", "pressure", INHG_HPA),
        Unit("mmHg", "pressure", 1.333224),
        Unit("psi", "pressure", 68.94757),
        Unit("%", "fraction", 1.0),
        Unit("1", "fraction", 100.0),
    )
}
# Tenths and hundredths, as devices write whole numbers: `carry (0.1 yd)`.
UNITS |= {
    f"{part} {unit.symbol}": Unit(f"{part} {unit.symbol}", unit.dimension, part * unit.factor)
    for part in (0.1, 0.01)
    for unit in [UNITS[symbol] for symbol in ("yd", "ft", "m/s", "km/h", "mph", "deg", "s")]
    if not any(math.isclose(part * unit.factor, other.factor) for other in UNITS.values()
               if other.dimension == unit.dimension)
}  # fmt: skip

# Units in which nobody writes numbers without saying so: they explain none that are impossible.
ONLY_STATED = frozenset(
    {"dm", "cm/s", "mm/s", "mrad", "cdeg", "K", *(u for u in UNITS if " " in u)}
)

# The dimension in which a canonical column is stated.
DIMENSION_OF_SUFFIX: dict[str, str] = {
    "_mps": "speed",
    "_m": "length",
    "_deg": "angle",
    "_rpm": "rotation",
    "_s": "time",
    "_c": "temperature",
    "_hpa": "pressure",
    "_pct": "fraction",
}


def dimension_of(column: str) -> str | None:
    """Dimension of a canonical column by its unit suffix, None for text and counts."""
    return next((d for suffix, d in DIMENSION_OF_SUFFIX.items() if column.endswith(suffix)), None)


def counted(count: int, word: str) -> str:
    """A count with its word: `1 shot`, `1,250 shots`."""
    return f"{count:,} {word}" if count == 1 else f"{count:,} {word}s"
