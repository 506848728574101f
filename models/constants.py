"""Physical constants: symbol, value, unit and source, each in one place.

Derived values are computed from these, here or where they are used; no formula elsewhere holds a
bare physical number. Coefficients of a published formula live beside that formula.
"""

from __future__ import annotations

import math
from typing import Final

from rangeledger.schemas.units import INHG_HPA

# g, m/s2: standard acceleration of gravity, exact. Source: CGPM 1901; ISO 80000-3.
GRAVITY_MPS2: Final = 9.80665

# m, kg: greatest mass of a conforming ball, 1.620 oz. Source: Rules of Golf, Equipment Rules.
BALL_MASS_KG: Final = 0.04593

# D, m: least diameter of a conforming ball, 1.680 in. Source: Rules of Golf, Equipment Rules.
BALL_DIAMETER_M: Final = 0.04267

# R, m and A, m2: radius and cross-section, derived from D.
BALL_RADIUS_M: Final = BALL_DIAMETER_M / 2.0
BALL_AREA_M2: Final = math.pi * BALL_RADIUS_M**2

# 0 degC in K, exact. Source: ITS-90.
ZERO_CELSIUS_K: Final = 273.15

# The reference air of every "still air" figure. Source: common test conditions of the trade
# (75 degF, 30.00 inHg, 50 % relative humidity), from memory; sea level, no wind.
REFERENCE_TEMP_C: Final = (75.0 - 32.0) / 1.8
REFERENCE_PRESSURE_HPA: Final = 30.0 * INHG_HPA
REFERENCE_HUMIDITY_PCT: Final = 50.0

# Unit conversions that are exact by definition.
RAD_PER_DEG: Final = math.pi / 180.0
RAD_PER_S_PER_RPM: Final = math.pi / 30.0
PA_PER_HPA: Final = 100.0
PER_CENT: Final = 100.0
