"""Whether directions, spin axis and side agree in sign: start line plus curve against side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from rangeledger.models.arrays import FloatArray
from rangeledger.models.flight.trajectory import fly

_FEWEST_ROWS = 5
_SURE = 6.0  # log odds above which a sign counts as proven
_MOST_LEFT = 0.5  # share of the sides' variance that the best fit may leave
_ROUNDING_M2 = 0.05


@dataclass(frozen=True, slots=True)
class Curving:
    """Relative signs of what moves the ball sideways.

    Parameters
    ----------
    direction, axis : int
        1 where the column agrees with the side in sign, -1 where it opposes it, 0 where the
        numbers don't tell or the column is missing.
    unsigned : bool
        Whether the side holds sizes alone: it follows where the ball goes but never the way.
    """

    direction: int
    axis: int
    unsigned: bool = False


def relative_signs(
    ball_speed_mps: FloatArray,
    launch_angle_deg: FloatArray,
    spin_rate_rpm: FloatArray,
    launch_direction_deg: FloatArray | None,
    spin_axis_deg: FloatArray | None,
    carry_side_m: FloatArray,
) -> Curving:
    """Compare the side with the start line and the computed curve under each choice of signs.

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
    computed flight time; c and d take up a steady crosswind. Each choice of a and b as 1 or -1
    is fitted; the best counts only if it is far likelier than every choice that gives a column
    the other sign, and explains most of what the sides differ by.
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
    time = np.asarray(flight.hang_time_s)
    if _is_unsigned(terms, time, carry_side_m):
        return Curving(0, 0, unsigned=True)
    found = dict(zip(names, _signs(terms, time, carry_side_m), strict=True))
    return Curving(found.get("direction", 0), found.get("axis", 0))


def side_scale(
    ball_speed_mps: FloatArray,
    launch_angle_deg: FloatArray,
    spin_rate_rpm: FloatArray,
    launch_direction_deg: FloatArray,
    spin_axis_deg: FloatArray | None,
    carry_side_m: FloatArray,
    scales: Sequence[float],
) -> tuple[float, float] | None:
    """By which factor sides must be taken so that they follow start line and curve.

    Parameters
    ----------
    ball_speed_mps, launch_angle_deg, spin_rate_rpm : numpy array
        Launch of the sampled rows [m/s, deg, rpm].
    launch_direction_deg : numpy array
        Start direction [deg].
    spin_axis_deg : numpy array or None
        Spin axis [deg].
    carry_side_m : numpy array
        Side under the unit in doubt [m].
    scales : sequence of float
        Factors on the side to choose from [1].

    Returns
    -------
    tuple[float, float] or None
        The likeliest factor and its log odds over the next one; None where nothing is explained.
    """
    zero = np.zeros_like(carry_side_m)
    axis = zero if spin_axis_deg is None else spin_axis_deg
    flight = fly(ball_speed_mps, launch_angle_deg, 0.0, spin_rate_rpm, axis)
    start = flight.carry_m * np.tan(np.radians(launch_direction_deg))
    curve, time = np.asarray(flight.carry_side_m), np.asarray(flight.hang_time_s)
    usable = np.isfinite(carry_side_m) & np.isfinite(start) & np.isfinite(curve)
    count = int(usable.sum())
    if count < _FEWEST_ROWS + 1:
        return None
    drift = np.column_stack([time[usable], np.ones(count)])
    side = carry_side_m[usable]
    ways = [a * start[usable] + b * curve[usable] for a, b in product((1, -1), repeat=2)]
    # Of the side as written: the noise of the ball grows with the unit, that of rounding does not.
    left = {k: min(_left_over(drift, side - way / k) for way in ways) for k in scales}
    best = min(left, key=lambda k: left[k])
    if left[best] > _MOST_LEFT * _left_over(drift, side):
        return None
    others = min(value for k, value in left.items() if k != best)
    return best, 0.5 * count * float(np.log(others / left[best]))


def _is_unsigned(terms: list[FloatArray], time: FloatArray, side: FloatArray) -> bool:
    """Whether sides that are never negative fit the size of the computed ones far better."""
    usable = np.isfinite(side) & np.all([np.isfinite(term) for term in [*terms, time]], axis=0)
    count = int(usable.sum())
    if not terms or count < _FEWEST_ROWS or float(side[usable].min()) < 0.0:
        return False
    target, drift = side[usable], np.column_stack([time[usable], np.ones(count)])
    sizes, signed = [], []
    for signs in product((1, -1), repeat=len(terms)):
        way = sum(s * term[usable] for s, term in zip(signs, terms, strict=True))
        sizes.append(float(np.mean((np.abs(way) - target) ** 2)) + _ROUNDING_M2)
        signed.append(_left_over(drift, target - way))
    return bool(0.5 * count * np.log(min(signed) / min(sizes)) >= _SURE)


def _signs(terms: list[FloatArray], time: FloatArray, side: FloatArray) -> list[int]:
    usable = np.isfinite(side) & np.all([np.isfinite(term) for term in [*terms, time]], axis=0)
    count = int(usable.sum())
    if not terms or count < max(_FEWEST_ROWS, len(terms) + 4):
        return [0] * len(terms)
    drift = np.column_stack([time[usable], np.ones(count)])
    target = side[usable]
    alone = _left_over(drift, target)
    fits = {
        signs: _left_over(
            drift, target - sum(s * t[usable] for s, t in zip(signs, terms, strict=True))
        )
        for signs in product((1, -1), repeat=len(terms))
    }
    best = min(fits, key=lambda signs: fits[signs])
    if fits[best] > _MOST_LEFT * alone:
        return [0] * len(terms)
    return [sign * _is_sure(fits, best, k, count) for k, sign in enumerate(best)]


def _left_over(drift: FloatArray, target: FloatArray) -> float:
    """Mean square that a steady drift leaves, with a floor for rounding [m2]."""
    fitted = drift @ np.linalg.lstsq(drift, target, rcond=None)[0]
    return float(np.mean((target - fitted) ** 2)) + _ROUNDING_M2


def _is_sure(
    fits: dict[tuple[int, ...], float], best: tuple[int, ...], place: int, count: int
) -> int:
    """1 if every fit with the other sign at a place is far less likely than the best, else 0."""
    others = min(left for signs, left in fits.items() if signs[place] != best[place])
    return int(0.5 * count * np.log(others / fits[best]) >= _SURE)
