"""From a pattern in still air to the same swing in the day's wind and air, through the flight."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from rangeledger.models.air.air_density import REFERENCE_AIR_DENSITY_KGM3
from rangeledger.models.air.wind_profile import UNIFORM, WindProfile
from rangeledger.models.arrays import FloatArray
from rangeledger.models.flight.run_after_landing import run_after_landing
from rangeledger.models.flight.trajectory import Flight, fly

# Ball speeds about the stock one at which the effect of the day is computed, and the tilt of the
# spin axis [deg] that shows how far the day stretches a curve.
_SPEED_FACTORS = np.array([0.45, 0.65, 0.8, 0.9, 1.0, 1.1, 1.2])
_STOCK = 4
_PROBE_AXIS_DEG = 5.0


@dataclass(frozen=True, slots=True)
class Conditions:
    """Wind and air of the day.

    Parameters
    ----------
    wind_speed_mps : float
        Wind speed, where the profile says that it holds [m/s], >= 0.
    wind_from_deg : float
        Where it comes from, clockwise from the target line [deg]: 0 in the face.
    air_density_kgm3 : float
        Density of the air [kg/m3], > 0.
    landing_height_m : float
        Height of the landing above the ball [m].
    wind_profile : WindProfile
        How the wind grows with height; uniform, as the ball meets it, if nothing else is said.
    """

    wind_speed_mps: float = 0.0
    wind_from_deg: float = 0.0
    air_density_kgm3: float = REFERENCE_AIR_DENSITY_KGM3
    landing_height_m: float = 0.0
    wind_profile: WindProfile = UNIFORM


STILL_AIR = Conditions()


@dataclass(frozen=True, slots=True)
class Launch:
    """Stock launch of a club and swing.

    Parameters
    ----------
    ball_speed_mps, launch_angle_deg, launch_direction_deg, spin_rate_rpm, spin_axis_deg : float
        Canonical launch values [m/s, deg, deg, rpm, deg].
    drag_scale, lift_scale : float
        Drag and lift of the player's ball against the flight model's [1].
    """

    ball_speed_mps: float
    launch_angle_deg: float
    launch_direction_deg: float = 0.0
    spin_rate_rpm: float = 5000.0
    spin_axis_deg: float = 0.0
    drag_scale: float = 1.0
    lift_scale: float = 1.0


@dataclass(frozen=True, slots=True)
class DayFlight:
    """How a stock launch answers to the day, for a set of aims.

    Parameters
    ----------
    share : ndarray, shape (nodes,)
        Still-air carry as a share of the stock carry [1], rising.
    carry_ratio : ndarray, shape (aims, nodes)
        Carry of the day over still-air carry [1].
    side_shift : ndarray, shape (aims, nodes)
        Side added by the day over the still-air stock carry [1].
    side_stretch : ndarray, shape (aims,)
        Factor on departures from the stock side [1].
    run_m : ndarray, shape (aims,)
        Run after landing of the stock shot [m].
    descent_angle_deg : ndarray, shape (aims,)
        Angle below level at which the stock shot comes down [deg].
    """

    share: FloatArray
    carry_ratio: FloatArray
    side_shift: FloatArray
    side_stretch: FloatArray
    run_m: FloatArray
    descent_angle_deg: FloatArray

    def landing(self, points: FloatArray, stock: tuple[float, float], aim: int = 0) -> FloatArray:
        """Landing points of the day.

        Parameters
        ----------
        points : ndarray, shape (n, 2)
            Still-air carry and side [m].
        stock : tuple of float
            Still-air carry and side of the stock shot of the pattern [m].
        aim : int
            Which aim [1].

        Returns
        -------
        ndarray, shape (n, 2)
            Carry and side of the day [m] along and across that aim.
        """
        share = points[:, 0] / stock[0]
        carry = points[:, 0] * np.interp(share, self.share, self.carry_ratio[aim])
        shift = stock[0] * np.interp(share, self.share, self.side_shift[aim])
        shift *= np.minimum(share / self.share[0], 1.0)
        side = points[:, 1] + shift + (self.side_stretch[aim] - 1.0) * (points[:, 1] - stock[1])
        return np.column_stack((carry, side))

    def stock_landing(self, stock: tuple[float, float]) -> FloatArray:
        """Where the stock shot comes down at each aim.

        Parameters
        ----------
        stock : tuple of float
            Its still-air carry and side [m].

        Returns
        -------
        ndarray, shape (aims, 2)
            Carry and side of the day [m] along and across that aim.
        """
        carry = stock[0] * self.carry_ratio[:, _STOCK]
        return np.column_stack((carry, stock[1] + stock[0] * self.side_shift[:, _STOCK]))


def day_flight(launch: Launch, conditions: Conditions, aims_rad: npt.ArrayLike = 0.0) -> DayFlight:
    """Effect of the day on a club and swing.

    Parameters
    ----------
    launch : Launch
        Stock launch.
    conditions : Conditions
        Wind and air, the wind told from the target line.
    aims_rad : array_like
        Angles of aim to the right of the target line [rad]; the wind is turned for each.

    Returns
    -------
    DayFlight
        Ratios of carry [1], shifts of side [1] and runs [m], one row an aim.

    Notes
    -----
    The stock launch and slower and faster copies of it (spin in proportion) are flown in still
    air and in the day; a shot of a given still-air carry is taken to answer as the copy of that
    carry does. What is not in the launch (a residual of the player or ball) goes with the shot.
    Beyond the slowest and fastest copy the ratio is held, and a copy too slow to reach a raised
    landing answers as the slowest that does.
    """
    aims = np.atleast_1d(np.asarray(aims_rad, dtype=float))
    still = _flown(launch, STILL_AIR, np.zeros(1))
    day = _flown(launch, conditions, aims)
    nodes = slice(0, len(_SPEED_FACTORS))
    carry, side = still.carry_m[0], still.carry_side_m[0]
    stock = carry[_STOCK]
    stretch = (day.carry_side_m[:, -1] - day.carry_side_m[:, -2]) / (side[-1] - side[-2])
    share = carry[nodes] / stock
    descent = day.descent_angle_deg[:, _STOCK]
    run = run_after_landing(
        day.landing_speed_mps[:, _STOCK], descent, day.landing_spin_rpm[:, _STOCK]
    )
    return DayFlight(
        share=share,
        carry_ratio=_filled(day.carry_m[:, nodes] / carry[nodes], share),
        side_shift=_filled((day.carry_side_m[:, nodes] - side[nodes]) / stock, share),
        side_stretch=np.where(np.isfinite(stretch), stretch, 1.0),
        run_m=np.where(np.isfinite(run), run, 0.0),
        descent_angle_deg=descent,
    )


def _filled(rows: FloatArray, share: FloatArray) -> FloatArray:
    """Rows with the copies that never reach the landing height filled from their neighbours."""
    filled = rows.copy()
    for row in filled:
        known = np.isfinite(row)
        row[:] = np.interp(share, share[known], row[known]) if known.any() else 0.0
    return filled


def _flown(launch: Launch, conditions: Conditions, aims: FloatArray) -> Flight:
    """Fly the copies and two probes of the spin axis, one row an aim."""
    probes = np.array([-_PROBE_AXIS_DEG, _PROBE_AXIS_DEG])
    factors = np.concatenate((_SPEED_FACTORS, [1.0, 1.0]))
    axis = launch.spin_axis_deg + np.concatenate((np.zeros(len(_SPEED_FACTORS)), probes))
    shape = (len(aims), len(factors))
    return fly(
        np.broadcast_to(launch.ball_speed_mps * factors, shape),
        launch.launch_angle_deg,
        launch.launch_direction_deg,
        launch.spin_rate_rpm * factors,
        axis,
        air_density_kgm3=conditions.air_density_kgm3,
        wind_speed_mps=conditions.wind_speed_mps,
        wind_from_deg=conditions.wind_from_deg - np.degrees(aims)[:, None],
        landing_height_m=conditions.landing_height_m,
        wind_profile=conditions.wind_profile,
        drag_scale=launch.drag_scale,
        lift_scale=launch.lift_scale,
    )
