"""Run of a ball after it lands on turf: bounces with backspin, then a roll."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from rangeledger.models.arrays import FloatArray
from rangeledger.models.constants import (
    BALL_RADIUS_M,
    GRAVITY_MPS2,
    RAD_PER_DEG,
    RAD_PER_S_PER_RPM,
)

# Bounce on turf [penner2002], from memory: restitution 0.510 - 0.0375 v + 0.000903 v^2 below
# 20 m/s and 0.120 above, turf tilted by 15.4 deg (v / 18.6 m/s) (phi / 44.4 deg), friction 0.40.
_RESTITUTION = (0.510, -0.0375, 0.000903)
_RESTITUTION_FAST = 0.120
_FAST_MPS = 20.0
_TILT_DEG, _TILT_SPEED_MPS, _TILT_ANGLE_DEG = 15.4, 18.6, 44.4
_FRICTION = 0.40
_MOST_BOUNCES = 25
_LEAST_BOUNCE_M = 0.005

# Slowing of a rolling ball [m/s2]. A ball leaves a stimpmeter at 1.83 m/s (from memory) and rolls
# about 5 ft on fairway turf (common practice, no source).
ROLL_SLOWING_MPS2 = 1.83**2 / (2.0 * 5.0 * 0.3048)


def run_after_landing(
    landing_speed_mps: npt.ArrayLike,
    descent_angle_deg: npt.ArrayLike,
    landing_spin_rpm: npt.ArrayLike,
    roll_slowing_mps2: float = ROLL_SLOWING_MPS2,
) -> FloatArray:
    """Distance from the landing point to the point of rest on level turf.

    Parameters
    ----------
    landing_speed_mps : array_like
        Speed at landing [m/s], any shape.
    descent_angle_deg : array_like
        Angle of the flight below level at landing [deg], 0 to 90.
    landing_spin_rpm : array_like
        Backspin left at landing [rpm], top spin negative.
    roll_slowing_mps2 : float
        Slowing of a rolling ball [m/s2], > 0; less on firm ground.

    Returns
    -------
    ndarray
        Run along the line of flight [m], same shape; negative where the ball spins back.

    Notes
    -----
    The turf gives way, which tilts the surface that the ball meets; in that tilted frame the ball
    either slides, ``vx' = vx - mu (1 + e) vy``, or leaves rolling, ``vx' = 5/7 vx - 2/7 R w``
    [penner2002]. Bounces go on until they rise less than 5 mm, then the ball rolls out. Turf
    differs far more from place to place than the formula does from turf: take it as a guide.

    References
    ----------
    [penner2002]
    """
    speed, descent, spin = np.broadcast_arrays(
        *(
            np.asarray(value, dtype=float)
            for value in (landing_speed_mps, descent_angle_deg, landing_spin_rpm)
        )
    )
    forward = speed * np.cos(descent * RAD_PER_DEG)
    down = speed * np.sin(descent * RAD_PER_DEG)
    turning = spin * RAD_PER_S_PER_RPM
    run = np.zeros(speed.shape)
    bouncing = np.isfinite(forward + down + turning)
    for _ in range(_MOST_BOUNCES):
        forward, up, turning = _bounce(forward, down, turning, bouncing)
        bouncing = bouncing & (up**2 / (2.0 * GRAVITY_MPS2) > _LEAST_BOUNCE_M)
        run = run + np.where(bouncing, 2.0 * forward * up / GRAVITY_MPS2, 0.0)
        down = up
        if not bouncing.any():
            break
    roll = forward * np.abs(forward) / (2.0 * roll_slowing_mps2)
    return np.where(np.isfinite(speed + descent + spin), run + roll, np.nan)


def _bounce(
    forward: FloatArray, down: FloatArray, turning: FloatArray, bouncing: npt.NDArray[np.bool_]
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Forward and upward speed [m/s] and backspin [rad/s] after one bounce."""
    speed = np.hypot(forward, down)
    from_vertical = np.degrees(np.arctan2(np.abs(forward), np.maximum(down, 1e-9)))
    tilt = np.radians(_TILT_DEG * (speed / _TILT_SPEED_MPS) * (from_vertical / _TILT_ANGLE_DEG))
    tilt = np.copysign(tilt, forward)
    along = forward * np.cos(tilt) - down * np.sin(tilt)
    into = forward * np.sin(tilt) + down * np.cos(tilt)
    a, b, c = _RESTITUTION
    e = np.where(into <= _FAST_MPS, a + b * into + c * into**2, _RESTITUTION_FAST)
    slip = along + BALL_RADIUS_M * turning
    grips = np.abs(slip) * 2.0 / 7.0 <= _FRICTION * (1.0 + e) * into
    push = np.where(grips, 2.0 / 7.0 * slip, np.copysign(_FRICTION * (1.0 + e) * into, slip))
    leaving = along - push
    spin = turning - 2.5 * push / BALL_RADIUS_M
    forward_after = leaving * np.cos(tilt) - e * into * np.sin(tilt)
    up_after = leaving * np.sin(tilt) + e * into * np.cos(tilt)
    return (
        np.where(bouncing, forward_after, forward),
        np.where(bouncing, np.maximum(up_after, 0.0), 0.0),
        np.where(bouncing, spin, turning),
    )
