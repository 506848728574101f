"""The compiled inner loop of the flight solver: one shot after another, no Python in between.

Coordinates: x along the target line, y to the right, z up. That triple is left-handed, so the
lift direction (spin x velocity) is written velocity x spin. Everything that comes from a module
of constants is passed in: a compiled cache does not notice when another file changes.
"""

# mypy: disable-error-code="no-untyped-def"
from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, Final

import numpy as np
from numba import njit

# Columns of a row of shots: speed m/s, launch angle deg, direction deg, spin rad/s, axis deg,
# loading rho A / (2 m) 1/m, wind along x and y m/s, drag and lift scale, landing height m,
# Reynolds number per m/s. Columns of a row of results: carry m, side m, apex m, descent deg,
# time s, landing speed m/s, landing spin rad/s.
SHOT_COLUMNS: Final = 12
RESULT_COLUMNS: Final = 7
NEAR_GROUND_M: Final = 8.0
NEAR_GROUND_STEP: Final = 0.05


def _compiled(function: Callable[..., Any]) -> Any:
    """Compile with a cache on disk, or without one where nowhere is writable."""
    fast = {"contract", "arcp", "nsz"}
    try:
        return njit(cache=True, nogil=True, error_model="numpy", fastmath=fast)(function)
    except RuntimeError:
        return njit(nogil=True, error_model="numpy", fastmath=fast)(function)


@_compiled
def _wind_factor(z, profile):
    """Wind at a height as a multiple of the stated wind; `models.air.wind_profile.wind_factor`."""
    kind, reference, parameter, least = profile
    if kind == 0.0:
        return 1.0
    if z < least:
        z = least
    if kind == 1.0:
        return (z / reference) ** parameter
    return max(math.log(z / parameter) / math.log(reference / parameter), 0.0)


@_compiled
def _coefficients(S, Re, table, spin_steps, reynolds_steps):
    """Drag, and lift over spin ratio, from the table: linear in S and in Re."""
    u = min(S * spin_steps, table.shape[1] - 1.000001)
    i = int(u)
    u -= i
    if table.shape[0] == 1:
        return (
            table[0, i, 0] + u * (table[0, i + 1, 0] - table[0, i, 0]),
            table[0, i, 1] + u * (table[0, i + 1, 1] - table[0, i, 1]),
        )
    w = min(Re * reynolds_steps, table.shape[0] - 1.000001)
    j = int(w)
    w -= j
    drag = (1.0 - w) * (table[j, i, 0] + u * (table[j, i + 1, 0] - table[j, i, 0]))
    drag += w * (table[j + 1, i, 0] + u * (table[j + 1, i + 1, 0] - table[j + 1, i, 0]))
    lift = (1.0 - w) * (table[j, i, 1] + u * (table[j, i + 1, 1] - table[j, i, 1]))
    lift += w * (table[j + 1, i, 1] + u * (table[j + 1, i + 1, 1] - table[j + 1, i, 1]))
    return drag, lift


@_compiled
def _rates(z, vx, vy, vz, spin, air, axis, ball, profile, table, steps):
    """Acceleration of the ball and rate of its spin."""
    loading, wind_x, wind_y, drag_scale, lift_scale, reynolds_per_speed = air
    gravity, radius, decay = ball
    factor = _wind_factor(z, profile)
    rx, ry = vx - wind_x * factor, vy - wind_y * factor
    ux, uy, uz = axis
    cx, cy, cz = ry * uz - vz * uy, vz * ux - rx * uz, rx * uy - ry * ux
    squared = rx * rx + ry * ry + vz * vz
    if squared < 1.0e-18:
        return 0.0, 0.0, -gravity, 0.0
    V = math.sqrt(squared)
    surface = spin * radius
    S = surface * math.sqrt(cx * cx + cy * cy + cz * cz) / squared
    drag, lift_over_S = _coefficients(S, reynolds_per_speed * V, table, steps[0], steps[1])
    # C_L V^2 e^ = (C_L / S) S V^2 c / |c| = (C_L / S) R w c: no division by |c| is needed.
    d = loading * drag_scale * drag * V
    e = loading * lift_scale * lift_over_S * surface
    return e * cx - d * rx, e * cy - d * ry, e * cz - d * vz - gravity, -decay * V * spin


@_compiled
def _step(state, h, air, axis, ball, profile, table, steps):
    """One step of the classical fourth-order Runge-Kutta method."""
    x, y, z, vx, vy, vz, w = state
    g = 0.5 * h
    ax, ay, az, aw = _rates(z, vx, vy, vz, w, air, axis, ball, profile, table, steps)
    bu, bv, bw = vx + g * ax, vy + g * ay, vz + g * az
    bx, by, bz, bs = _rates(
        z + g * vz, bu, bv, bw, w + g * aw, air, axis, ball, profile, table, steps
    )
    cu, cv, cw = vx + g * bx, vy + g * by, vz + g * bz
    cx, cy, cz, cs = _rates(
        z + g * bw, cu, cv, cw, w + g * bs, air, axis, ball, profile, table, steps
    )
    du, dv, dw = vx + h * cx, vy + h * cy, vz + h * cz
    dx, dy, dz, ds = _rates(
        z + h * cw, du, dv, dw, w + h * cs, air, axis, ball, profile, table, steps
    )
    k = h / 6.0
    return (
        x + k * (vx + 2.0 * bu + 2.0 * cu + du),
        y + k * (vy + 2.0 * bv + 2.0 * cv + dv),
        z + k * (vz + 2.0 * bw + 2.0 * cw + dw),
        vx + k * (ax + 2.0 * bx + 2.0 * cx + dx),
        vy + k * (ay + 2.0 * by + 2.0 * cy + dy),
        vz + k * (az + 2.0 * bz + 2.0 * cz + dz),
        w + k * (aw + 2.0 * bs + 2.0 * cs + ds),
    )


@_compiled
def _step_length(z, longest_step, profile):
    """Full steps aloft; shorter ones near the ground, where a wind profile bends."""
    if profile[0] == 0.0:
        return longest_step
    return longest_step * min(1.0, max(NEAR_GROUND_STEP, abs(z) / NEAR_GROUND_M))


@_compiled
def _height_at(s, z0, m0, z1, m1):
    """Cubic Hermite height at the fraction s of a step; m are slopes per step."""
    r = 1.0 - s
    return (
        z0 * (1.0 + 2.0 * s) * r * r
        + m0 * s * r * r
        + z1 * s * s * (3.0 - 2.0 * s)
        - m1 * s * s * r
    )


@_compiled
def _summit(z0, m0, z1, m1):
    """Fraction of the step at which the cubic Hermite height is greatest."""
    a, b = 6.0 * (z0 - z1) + 3.0 * (m0 + m1), -6.0 * (z0 - z1) - 4.0 * m0 - 2.0 * m1
    root = math.sqrt(max(b * b - 4.0 * a * m0, 0.0))
    # The stable form of the root at which the slope turns from up to down.
    return min(max(2.0 * m0 / (root - b), 0.0), 1.0) if root > b else 1.0


@_compiled
def _fall_through(height, low, z0, m0, z1, m1):
    """Fraction of the step, after `low`, at which the height is passed downwards (bisection)."""
    high = 1.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        if _height_at(middle, z0, m0, z1, m1) > height:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


@_compiled
def _launch(shot, radians):
    """State at launch, spin axis and the air of a shot."""
    up, right, tilt = shot[1] * radians, shot[2] * radians, shot[4] * radians
    cu, su, cr, sr = math.cos(up), math.sin(up), math.cos(right), math.sin(right)
    ct, st = math.cos(tilt), math.sin(tilt)
    speed = shot[0]
    state = (0.0, 0.0, 0.0, speed * cu * cr, speed * cu * sr, speed * su, shot[3])
    axis = (-ct * sr + st * su * cr, ct * cr + st * su * sr, -st * cu)
    air = (shot[5], shot[6], shot[7], shot[8], shot[9], shot[11])
    return state, axis, air


@_compiled
def _finish(state, late, height, air, axis, ball, profile, table, steps):
    """State at landing: a part of a step, then a straight correction of what is left."""
    x, y, z, vx, vy, vz, w = _step(state, late, air, axis, ball, profile, table, steps)
    rest = (height - z) / vz if vz < -1.0e-6 else 0.0
    return (x + vx * rest, y + vy * rest, vx, vy, vz, w), late + rest


@_compiled
def _record(result, apex, time, spot, radians):
    """Write one landing."""
    x, y, vx, vy, vz, w = spot
    level = math.sqrt(vx * vx + vy * vy)
    result[0], result[1], result[2], result[4] = x, y, apex, time
    result[3] = math.atan2(-vz, level) / radians
    result[5], result[6] = math.sqrt(level * level + vz * vz), w


@_compiled
def _land_one(shot, result, longest_step, longest, ball, profile, table, steps, radians):
    """Fly one shot step by step until it falls through its landing height."""
    state, axis, air = _launch(shot, radians)
    height, apex, time = shot[10], 0.0, 0.0
    if state[5] <= 0.0 and height == 0.0:
        _record(result, 0.0, 0.0, (0.0, 0.0, state[3], state[4], state[5], state[6]), radians)
        return
    while time < longest:
        h = _step_length(state[2], longest_step, profile)
        after = _step(state, h, air, axis, ball, profile, table, steps)
        z0, m0, z1, m1 = state[2], h * state[5], after[2], h * after[5]
        top = 0.0
        if m0 > 0.0 and m1 <= 0.0:
            top = _summit(z0, m0, z1, m1)
            apex = max(apex, _height_at(top, z0, m0, z1, m1))
        if m1 <= 0.0 and z1 <= height:
            if _height_at(top, z0, m0, z1, m1) >= height:
                late = h * _fall_through(height, top, z0, m0, z1, m1)
                spot, late = _finish(state, late, height, air, axis, ball, profile, table, steps)
                _record(result, apex, time + late, spot, radians)
            return
        state = after
        time += h


@_compiled
def land(shots, results, h, longest, ball, profile, table, steps, radians):
    """Fly each row of shots to its landing height; a row that never lands is NaN."""
    for n in range(shots.shape[0]):
        results[n, :] = np.nan
        if not np.isnan(shots[n].sum()):
            _land_one(shots[n], results[n], h, longest, ball, profile, table, steps, radians)


@_compiled
def trace(shot, path, h, ball, profile, table, steps, radians):
    """Fill the rows of a path, one a step: position, velocity, spin."""
    state, axis, air = _launch(shot, radians)
    for n in range(path.shape[0]):
        for k in range(7):
            path[n, k] = state[k]
        state = _step(state, h, air, axis, ball, profile, table, steps)
