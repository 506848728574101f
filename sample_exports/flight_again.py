"""The flight of the samples, solved a second time and independently of `models.flight.trajectory`.

The coefficients, the ball and the spin decay are the project's; the solver is not. So the samples
check the project's solver instead of repeating it, and their printed digits change only if the
physics changes. All shots of a visit are flown at once with plain array arithmetic.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from rangeledger.models.arrays import FloatArray
from rangeledger.models.constants import (
    BALL_AREA_M2,
    BALL_MASS_KG,
    BALL_RADIUS_M,
    GRAVITY_MPS2,
    RAD_PER_DEG,
    RAD_PER_S_PER_RPM,
)
from rangeledger.models.flight.aerodynamics import spin_ratio_law
from rangeledger.models.flight.spin_decay import SPIN_DECAY_COEFFICIENT

TIME_STEP_S = 0.05  # within 1e-5 m of a step ten times shorter
MOST_STEPS = 400


class Landing(NamedTuple):
    """Where and how balls land."""

    carry_m: FloatArray
    carry_side_m: FloatArray
    apex_m: FloatArray
    descent_angle_deg: FloatArray
    hang_time_s: FloatArray
    landing_speed_mps: FloatArray


def fly_again(
    launch: dict[str, Any], *, air_density_kgm3: float, wind_speed_mps: Any, wind_from_deg: Any
) -> Landing:
    """Fly shots to their landing at launch height in a uniform wind.

    Parameters
    ----------
    launch : dict
        `ball_speed_mps` [m/s], `launch_angle_deg`, `launch_direction_deg`, `spin_axis_deg` [deg]
        and `spin_rate_rpm` [rpm], each of shape (shots,).
    air_density_kgm3 : float
        Density of the air [kg/m3].
    wind_speed_mps, wind_from_deg : float or ndarray
        Wind [m/s] and where it comes from [deg], 0 in the face, 90 from the right.

    Returns
    -------
    Landing
        Carry, side and apex [m], descent angle [deg], hang time [s], landing speed [m/s].
    """
    state, axis = _start(launch)
    origin = np.broadcast_to(np.asarray(wind_from_deg, dtype=float), len(state)) * RAD_PER_DEG
    wind = np.zeros((len(state), 3))
    wind[:, 0], wind[:, 1] = -wind_speed_mps * np.cos(origin), -wind_speed_mps * np.sin(origin)
    loading = air_density_kgm3 * BALL_AREA_M2 / (2.0 * BALL_MASS_KG)
    apex, landed = np.zeros(len(state)), np.full((len(state), 8), np.nan)
    for step in range(MOST_STEPS):
        after = _stepped(state, axis, wind, loading)
        apex = np.fmax(apex, _summit(state, after))
        falling = np.isnan(landed[:, 0]) & (after[:, 2] <= 0.0) & (after[:, 5] < 0.0)
        if falling.any():
            share = _share_at_ground(state[falling], after[falling])
            landed[falling, 0] = (step + share) * TIME_STEP_S
            landed[falling, 1:] = _between(state[falling], after[falling], share)
        state = after
        if not np.isnan(landed[:, 0]).any():
            break
    level = np.hypot(landed[:, 4], landed[:, 5])
    descent = np.arctan2(-landed[:, 6], level) / RAD_PER_DEG
    speed = np.hypot(level, landed[:, 6])
    return Landing(landed[:, 1], landed[:, 2], apex, descent, landed[:, 0], speed)


def _start(launch: dict[str, Any]) -> tuple[FloatArray, FloatArray]:
    """Place, velocity and spin at launch, shape (shots, 7), and the axis of spin."""
    up = np.asarray(launch["launch_angle_deg"]) * RAD_PER_DEG
    right = np.asarray(launch["launch_direction_deg"]) * RAD_PER_DEG
    tilt = np.asarray(launch["spin_axis_deg"]) * RAD_PER_DEG
    ahead = np.stack([np.cos(up) * np.cos(right), np.cos(up) * np.sin(right), np.sin(up)], axis=1)
    level = np.stack([-np.sin(right), np.cos(right), 0.0 * right], axis=1)
    upward = _cross(ahead, level)
    state = np.zeros((len(up), 7))
    state[:, 3:6] = ahead * np.asarray(launch["ball_speed_mps"])[:, None]
    state[:, 6] = np.asarray(launch["spin_rate_rpm"]) * RAD_PER_S_PER_RPM
    # x ahead, y right, z up is a left-handed triple, so lift is along velocity x axis: upward for
    # an axis along `level`, to the right for one along minus `upward`.
    return state, np.cos(tilt)[:, None] * level - np.sin(tilt)[:, None] * upward


def _cross(a: FloatArray, b: FloatArray) -> FloatArray:
    """Cross product row by row."""
    ax, ay, az = a.T
    bx, by, bz = b.T
    return np.stack([ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx], axis=1)


def _rates(state: FloatArray, axis: FloatArray, wind: FloatArray, loading: float) -> FloatArray:
    """Rate of change of place, velocity and spin."""
    through = state[:, 3:6] - wind
    speed = np.sqrt((through**2).sum(axis=1))
    across = _cross(through, axis)
    sine_speed = np.sqrt((across**2).sum(axis=1))
    surface = BALL_RADIUS_M * state[:, 6] * sine_speed / speed
    drag, lift = spin_ratio_law(surface / speed, speed)
    toward = across / sine_speed[:, None]
    rates = np.empty_like(state)
    rates[:, 0:3] = state[:, 3:6]
    rates[:, 3:6] = loading * (
        (lift * speed**2)[:, None] * toward - (drag * speed)[:, None] * through
    )
    rates[:, 5] -= GRAVITY_MPS2
    rates[:, 6] = -SPIN_DECAY_COEFFICIENT * speed * state[:, 6] / BALL_RADIUS_M
    return rates


def _stepped(state: FloatArray, axis: FloatArray, wind: FloatArray, loading: float) -> FloatArray:
    """One step of the classical fourth-order Runge-Kutta method."""
    h = TIME_STEP_S
    first = _rates(state, axis, wind, loading)
    second = _rates(state + 0.5 * h * first, axis, wind, loading)
    third = _rates(state + 0.5 * h * second, axis, wind, loading)
    fourth = _rates(state + h * third, axis, wind, loading)
    return state + h / 6.0 * (first + 2.0 * second + 2.0 * third + fourth)


def _height(share: FloatArray, before: FloatArray, after: FloatArray) -> FloatArray:
    """Height on the cubic that fits height and rise at both ends of a step."""
    s, r = share, 1.0 - share
    rise = TIME_STEP_S * (before[:, 5] * s * r**2 - after[:, 5] * s**2 * r)
    return before[:, 2] * (1.0 + 2.0 * s) * r**2 + after[:, 2] * s**2 * (3.0 - 2.0 * s) + rise


def _summit(before: FloatArray, after: FloatArray) -> FloatArray:
    """Greatest height within a step where the ball turns from up to down, else NaN."""
    turns = (before[:, 5] > 0.0) & (after[:, 5] <= 0.0)
    share = np.where(turns, before[:, 5] / np.where(turns, before[:, 5] - after[:, 5], 1.0), 0.0)
    return np.where(turns, _height(share, before, after), np.nan)


def _share_at_ground(before: FloatArray, after: FloatArray) -> FloatArray:
    """Share of the step at which the ball passes the ground, by halving."""
    low, high = np.zeros(len(before)), np.ones(len(before))
    for _ in range(40):
        middle = 0.5 * (low + high)
        above = _height(middle, before, after) > 0.0
        low, high = np.where(above, middle, low), np.where(above, high, middle)
    return 0.5 * (low + high)


def _between(before: FloatArray, after: FloatArray, share: FloatArray) -> FloatArray:
    """State within a step: places on cubics, velocity and spin on straight lines."""
    s, r = share[:, None], 1.0 - share[:, None]
    inside = r * before + s * after
    slopes = TIME_STEP_S * (s * r**2 * before[:, 3:6] - s**2 * r * after[:, 3:6])
    weights = (1.0 + 2.0 * s) * r**2 * before[:, 0:3] + s**2 * (3.0 - 2.0 * s) * after[:, 0:3]
    inside[:, 0:3] = weights + slopes
    return inside
