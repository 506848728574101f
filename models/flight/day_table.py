"""The day's effect on a club for every aim, worked out once and looked up after that."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt
from rangeledger.models.arrays import FloatArray
from rangeledger.models.flight.day_flight import Conditions, DayFlight, Launch, day_flight

# Aims all round at which the day is flown. Between two of them, 5 deg apart, a straight line
# misses a sine by less than a thousandth of its height: 4 cm of a drive blown 40 m aside.
_AIMS = 72


@dataclass(frozen=True, slots=True)
class DayTable:
    """Effect of the day on a club and swing at evenly spaced aims all round, or at any aim alike.

    Parameters
    ----------
    flown : DayFlight
        One row an aim from 0 on, the last one a full turn on; one row alone without wind.
    """

    flown: DayFlight

    def at(self, aims_rad: npt.ArrayLike) -> DayFlight:
        """Effect of the day at aims.

        Parameters
        ----------
        aims_rad : array_like
            Angles of aim [rad], right of the target line positive.

        Returns
        -------
        DayFlight
            One row an aim, on a straight line between the aims that were flown.
        """
        aims = np.atleast_1d(np.asarray(aims_rad, dtype=float))
        if len(self.flown.run_m) == 1:
            below, above, part = (np.zeros(len(aims), dtype=np.intp),) * 2 + (np.zeros(len(aims)),)
        else:
            place = np.mod(aims / (2.0 * np.pi), 1.0) * _AIMS
            below = np.minimum(place.astype(np.intp), _AIMS - 1)
            above, part = below + 1, place - below

        def between(values: FloatArray) -> FloatArray:
            share = part.reshape((-1,) + (1,) * (values.ndim - 1))
            return np.asarray((1.0 - share) * values[below] + share * values[above])

        flown = self.flown
        return DayFlight(
            share=flown.share,
            carry_ratio=between(flown.carry_ratio),
            side_shift=between(flown.side_shift),
            side_stretch=between(flown.side_stretch),
            run_m=between(flown.run_m),
            descent_angle_deg=between(flown.descent_angle_deg),
        )


@lru_cache(maxsize=512)
def day_table(launch: Launch, conditions: Conditions) -> DayTable:
    """Effect of the day on a club and swing, for any aim.

    Parameters
    ----------
    launch : Launch
        Stock launch.
    conditions : Conditions
        Wind and air, the wind told from the along axis from which aims are counted.

    Returns
    -------
    DayTable
        The same one at each call.
    """
    if conditions.wind_speed_mps == 0.0:
        return DayTable(day_flight(launch, conditions))
    return DayTable(day_flight(launch, conditions, np.linspace(0.0, 2.0 * np.pi, _AIMS + 1)))
