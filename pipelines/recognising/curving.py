"""Whether directions, spin axis and side agree in sign: start line plus curve against side."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from models.flight import fly

FloatArray = npt.NDArray[np.float64]
_FEWEST_ROWS = 5
_LEAST, _MOST = 0.55, 1.7  # coefficients between these are near enough to one
_SURE_T = 4.0  # coefficient over its standard error above which a sign counts as proven


@dataclass(frozen=True, slots=True)
class Curving:
    """Relative signs of what moves the ball sideways.

    Parameters
    ----------
    direction, axis : int
        1 where the column agrees with the side in sign, -1 where it opposes it, 0 where the
        numbers don't tell or the column is missing.
    """

    direction: int
    axis: int


def relative_signs(
    ball_speed_mps: FloatArray,
    launch_angle_deg: FloatArray,
    spin_rate_rpm: FloatArray,
    launch_direction_deg: FloatArray | None,
    spin_axis_deg: FloatArray | None,
    carry_side_m: FloatArray,
) -> Curving:
    """Regress the side on the start line and on the computed curve.

    Parameters
    ----------
    ball_speed_mps, launch_angle_deg, spin_rate_rpm : numpy array
        Launch of the sampled rows [m/s, deg, rpm].
    launch_direction_deg, spin_axis_deg : numpy array or None
        As written, in degrees; None where the export has none.
    carry_side_m : numpy array
        Side as written, in metres [m].

    Returns
    -------
    Curving
        Signs relative to the side.

    Notes
    -----
    side = a R tan(direction) + b curve(axis) + c T + d, with R the computed carry and T the
    computed flight time; c and d take up a steady crosswind. With signs alike a and b are near
    1, and near -1 where they oppose.
    """
    zero = np.zeros_like(carry_side_m)
    axis = zero if spin_axis_deg is None else spin_axis_deg
    flight = fly(ball_speed_mps, launch_angle_deg, 0.0, spin_rate_rpm, axis)
    terms, names = [], []
    if launch_direction_deg is not None:
        terms.append(flight.carry_m * np.tan(np.radians(launch_direction_deg)))
        names.append("direction")
    if spin_axis_deg is not None:
        terms.append(np.asarray(flight.carry_side_m))
        names.append("axis")
    signs = _signs(terms, np.asarray(flight.hang_time_s), carry_side_m)
    found = dict(zip(names, signs, strict=True))
    return Curving(found.get("direction", 0), found.get("axis", 0))


def _signs(terms: list[FloatArray], time: FloatArray, side: FloatArray) -> list[int]:
    usable = np.isfinite(side) & np.all([np.isfinite(term) for term in [*terms, time]], axis=0)
    if not terms or usable.sum() < max(_FEWEST_ROWS, len(terms) + 4):
        return [0] * len(terms)
    drift = [time[usable], np.ones(usable.sum())]
    matrix = np.column_stack([*(term[usable] for term in terms), *drift])
    target = side[usable]
    inverse = np.linalg.pinv(matrix.T @ matrix)
    coefficients = inverse @ matrix.T @ target
    residual = target - matrix @ coefficients
    freedom = len(target) - matrix.shape[1]
    # The half metre stands for rounding: a perfect fit must not count as endlessly sure.
    variance = max(float(residual @ residual) / freedom, 0.05)
    errors = np.sqrt(np.maximum(np.diag(inverse) * variance, 1e-12))
    strength = coefficients / errors
    return [
        int(np.sign(c)) if abs(t) >= _SURE_T and _LEAST < abs(c) < _MOST else 0
        for c, t in zip(coefficients[: len(terms)], strength[: len(terms)], strict=True)
    ]
