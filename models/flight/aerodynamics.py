"""Drag and lift of a golf ball as functions of spin ratio and Reynolds number.

A set of coefficients is one `Aerodynamics`: a function (spin ratio, Reynolds number) -> (drag,
lift) and the range it was stated for. To add one, write the function and put an entry into
`SETS`; the flight solver tabulates whatever it is given.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike
from rangeledger.models.arrays import FloatArray
from rangeledger.models.constants import BALL_DIAMETER_M, BALL_RADIUS_M, RAD_PER_S_PER_RPM
from rangeledger.models.flight._measured_ball import measured_coefficients
from rangeledger.schemas.errors import UsageError

Coefficients = Callable[[FloatArray, FloatArray], tuple[FloatArray, FloatArray]]

# Grid of the solver's table: so fine that no coefficient is off by 1e-4 (see the tests).
GREATEST_SPIN_RATIO: Final = 4.0
GREATEST_REYNOLDS: Final = 4.0e5
_SPIN_POINTS: Final = 4001  # of a set that depends on the spin ratio alone
_SPIN_POINTS_BY_REYNOLDS: Final = 3201
_REYNOLDS_POINTS: Final = 321  # a point on each kink of the sets that hold or interpolate


@dataclass(frozen=True, slots=True)
class Aerodynamics:
    """A named set of drag and lift coefficients and the range it was stated for."""

    name: str
    coefficients: Coefficients
    spin_ratio_range: tuple[float, float]
    reynolds_range: tuple[float, float]
    uses_reynolds: bool
    source: str

    def outside(self, spin_ratio: ArrayLike, reynolds: ArrayLike) -> Any:
        """True where spin ratio or Reynolds number lie outside the stated range."""
        S, Re = np.asarray(spin_ratio, dtype=float), np.asarray(reynolds, dtype=float)
        low, high = self.spin_ratio_range
        outside_spin = (low > S) | (high < S)
        low, high = self.reynolds_range
        return (outside_spin | (low > Re) | (high < Re))[()]


def spin_ratio_law(S: FloatArray, Re: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Coefficients of the default set, `spin-ratio-law`.

    Parameters
    ----------
    S : ndarray
        Spin ratio R w / V [1].
    Re : ndarray
        Reynolds number [1]; not used.

    Returns
    -------
    tuple of ndarray
        Drag and lift coefficient [1].

    Notes
    -----
    C_D = 0.172 + 0.65 S - 0.37 S^2 with S held at 0.878, where the parabola peaks at 0.457;
    C_L = 0.59 S^0.535. A fit made for this project, not a published formula: the lift follows
    [bearman1976] (rms 0.015), whose data collapse on S alone above 20 m/s; the drag lies 0.02 to
    0.04 below it, as balls have become longer, at a level set by the public distance standard.
    Stated for Re above 6e4 and S below 1; outside, the same formula is continued.

    References
    ----------
    [bearman1976], [quintavalla2002], [ods2004]
    """
    held = np.minimum(S, 0.65 / (2.0 * 0.37))
    drag = 0.172 + 0.65 * held - 0.37 * held**2
    return drag + 0.0 * Re, 0.59 * S**0.535 + 0.0 * Re


def smits_smith(S: FloatArray, Re: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Coefficients of Smits and Smith 1994, `smits-smith-1994`.

    Parameters
    ----------
    S : ndarray
        Spin ratio R w / V [1].
    Re : ndarray
        Reynolds number [1]; held within 7e4 to 2.1e5, the range of the fit.

    Returns
    -------
    tuple of ndarray
        Drag and lift coefficient [1].

    Notes
    -----
    C_D = 0.24 + 0.18 S + 0.06 sin(pi (Re - 90000) / 200000), C_L = 0.54 S^0.4; constants from
    memory. Fitted for 0.08 < S < 0.2; outside, the formula is continued in S. A ball of its
    time: 25 yd short of today's public distance standard.

    References
    ----------
    [smits1994]
    """
    held = np.clip(Re, 7.0e4, 2.1e5)
    drag = 0.24 + 0.18 * S + 0.06 * np.sin(np.pi * (held - 9.0e4) / 2.0e5)
    return drag, 0.54 * S**0.4 + 0.0 * Re


def linear_law(S: FloatArray, Re: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Coefficients linear in the spin ratio, `linear-2002`.

    Parameters
    ----------
    S : ndarray
        Spin ratio R w / V [1].
    Re : ndarray
        Reynolds number [1]; not used.

    Returns
    -------
    tuple of ndarray
        Drag and lift coefficient [1].

    Notes
    -----
    C_D = 0.171 + 0.62 S, C_L = 0.083 + 0.885 S for S > 0 (no lift without spin); constants and
    attribution from memory. Right for drives, S below 0.25; far too short for wedges.

    References
    ----------
    [quintavalla2002]
    """
    lift = np.where(S > 0.0, 0.083 + 0.885 * S, 0.0)
    return 0.171 + 0.62 * S + 0.0 * Re, lift + 0.0 * Re


SETS: dict[str, Aerodynamics] = {
    entry.name: entry
    for entry in (
        Aerodynamics(
            "spin-ratio-law", spin_ratio_law, (0.0, 1.0), (6.0e4, 2.6e5), False, "own fit"
        ),
        Aerodynamics(
            "bearman-harvey-1976",
            measured_coefficients,
            (0.05, 0.94),
            (3.8e4, 2.4e5),
            True,
            "bearman1976",
        ),
        Aerodynamics(
            "smits-smith-1994", smits_smith, (0.08, 0.2), (7.0e4, 2.1e5), True, "smits1994"
        ),
        Aerodynamics(
            "linear-2002", linear_law, (0.0, 0.25), (6.0e4, 2.6e5), False, "quintavalla2002"
        ),
    )
}
DEFAULT: Final = SETS["spin-ratio-law"]


def aerodynamics_by_name(name: str) -> Aerodynamics:
    """Look a set of coefficients up by its name.

    Parameters
    ----------
    name : str
        A key of `SETS`.

    Returns
    -------
    Aerodynamics
        The set [1].

    Raises
    ------
    UsageError
        If no set has that name.
    """
    if name not in SETS:
        raise UsageError(f"No aerodynamics named '{name}'; choose one of {', '.join(SETS)}.")
    return SETS[name]


@lru_cache(maxsize=16)
def coefficient_table(aerodynamics: Aerodynamics) -> tuple[FloatArray, float, float]:
    """Tabulate a set of coefficients for the flight solver.

    Parameters
    ----------
    aerodynamics : Aerodynamics
        The set of coefficients.

    Returns
    -------
    tuple
        Table [1] of shape (Reynolds numbers, spin ratios, 2) of the drag coefficient and of the
        lift coefficient over the spin ratio; its steps per unit of spin ratio and per unit of
        Reynolds number [1].

    Notes
    -----
    Read with linear interpolation. Below the second point the lift is taken as proportional to
    the spin ratio; beyond the grid (S > 4, Re > 4e5) the edge values hold.
    """
    columns = _SPIN_POINTS_BY_REYNOLDS if aerodynamics.uses_reynolds else _SPIN_POINTS
    rows = _REYNOLDS_POINTS if aerodynamics.uses_reynolds else 1
    spin_ratios = np.linspace(0.0, GREATEST_SPIN_RATIO, columns)
    S, Re = np.meshgrid(spin_ratios, np.linspace(0.0, GREATEST_REYNOLDS, rows))
    drag, lift = aerodynamics.coefficients(S, Re)
    slope = np.empty_like(lift)
    slope[:, 1:] = lift[:, 1:] / S[:, 1:]
    slope[:, 0] = slope[:, 1]
    table = np.ascontiguousarray(np.stack([drag, slope], axis=-1))
    return table, 1.0 / spin_ratios[1], max(rows - 1, 0) / GREATEST_REYNOLDS


def spin_ratio(
    spin_rate_rpm: ArrayLike, air_speed_mps: ArrayLike, ball_radius_m: float = BALL_RADIUS_M
) -> Any:
    """Speed of the ball's surface over its speed through the air.

    Parameters
    ----------
    spin_rate_rpm : array_like
        Spin about an axis across the flight [rpm].
    air_speed_mps : array_like
        Speed through the air [m/s], > 0.
    ball_radius_m : float
        Radius of the ball [m].

    Returns
    -------
    float or ndarray
        S = R w / V [1], broadcast shape of the inputs.
    """
    w = np.asarray(spin_rate_rpm, dtype=float) * RAD_PER_S_PER_RPM
    return (ball_radius_m * w / np.asarray(air_speed_mps, dtype=float))[()]


def reynolds_number(
    air_speed_mps: ArrayLike,
    air_density_kgm3: ArrayLike,
    dynamic_viscosity_pas: ArrayLike,
    ball_diameter_m: float = BALL_DIAMETER_M,
) -> Any:
    """Ratio of inertia to viscosity in the air about the ball.

    Parameters
    ----------
    air_speed_mps : array_like
        Speed through the air [m/s].
    air_density_kgm3 : array_like
        Density of the air [kg/m3].
    dynamic_viscosity_pas : array_like
        Dynamic viscosity of the air [Pa s].
    ball_diameter_m : float
        Diameter of the ball [m].

    Returns
    -------
    float or ndarray
        Re = rho V D / mu [1], broadcast shape of the inputs.
    """
    rho, V = np.asarray(air_density_kgm3, dtype=float), np.asarray(air_speed_mps, dtype=float)
    return (rho * V * ball_diameter_m / np.asarray(dynamic_viscosity_pas, dtype=float))[()]
