"""The measured columns of a table in canonical units, as far as their units are settled."""

from __future__ import annotations

import numpy as np
from rangeledger.models.arrays import FloatArray
from rangeledger.pipelines.reader.recognising.columns.assignment import Assigned
from rangeledger.pipelines.reader.recognising.columns.unit_readings import (
    UnitsFound,
    in_canonical_unit,
)
from rangeledger.schemas.compositions import BACK_SPIN, SIDE_SPIN


class SettledColumns:
    """Columns beside what has been found of their units so far.

    Parameters
    ----------
    columns : dict[str, Assigned]
        Measured columns by canonical name.
    found : UnitsFound
        Their units; what is added to it later is seen.
    """

    def __init__(self, columns: dict[str, Assigned], found: UnitsFound) -> None:
        self.columns, self.found = columns, found

    def unit(self, name: str) -> str | None:
        """The unit that is settled for a column, None as long as none is."""
        reading = self.found.readings.get(name)
        return reading.unit if reading else None

    def canonical(self, name: str) -> FloatArray | None:
        """A column in its canonical unit, row by row; None as long as its unit is open."""
        unit = self.unit(name)
        if name not in self.columns or unit is None:
            return None
        return np.asarray(in_canonical_unit(self.columns[name], unit).to_numpy(), np.float64)

    def spin(self) -> FloatArray | None:
        """The total spin [rpm], or what its parts make of it."""
        total = self.canonical("spin_rate_rpm")
        back = self.canonical(BACK_SPIN)
        side = self.canonical(SIDE_SPIN)
        if total is None and back is not None:
            return np.hypot(back, 0.0 if side is None else np.nan_to_num(side))
        return total

    def axis(self) -> FloatArray | None:
        """The tilt of the spin [deg], positive to the right, or what its parts make of it."""
        axis, back, across = (self.canonical(n) for n in ("spin_axis_deg", BACK_SPIN, SIDE_SPIN))
        if axis is None and back is not None and across is not None:
            return np.degrees(np.arctan2(across, np.abs(back)))
        return axis
