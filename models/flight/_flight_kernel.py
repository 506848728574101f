"""The compiled inner loop of the flight solver: a block of shots flies side by side.

Coordinates: x along the target line, y to the right, z up. That triple is left-handed, so the
lift direction (spin x velocity) is written velocity x spin. Everything that comes from a module
of constants is passed in: a compiled cache does not notice when another file changes.

Each quantity of the block is a row of `LANES` numbers in one flat array, one lane a shot. Loops
over a row hold no branch and no look-up in a table, so that the compiler turns them into wide
instructions; what is looked up stands in loops of its own. A lane whose ball has landed takes
the next shot, so that all lanes stay busy.
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

LANES: Final = 32  # fills the wide registers eight times over; 64 is a quarter slower
# Rows of a block. State: place, velocity, spin. Trial: the state at which a stage of the method
# asks for rates (x and y have none: nothing depends on them). Change: of the state over the step.
X, Y, Z, VX, VY, VZ, SPIN = (LANES * row for row in range(7))
TRIAL_Z, TRIAL_VX, TRIAL_VY, TRIAL_VZ, TRIAL_SPIN = (LANES * row for row in range(7, 12))
DX, DY, DZ, DVX, DVY, DVZ, DSPIN = (LANES * row for row in range(12, 19))
# Of the shot: drag and lift loading, wind, spin axis, Reynolds number per m/s, landing height.
DRAG, LIFT, WIND_X, WIND_Y = (LANES * row for row in range(19, 23))
AXIS_X, AXIS_Y, AXIS_Z, REYNOLDS, GROUND = (LANES * row for row in range(23, 28))
# Of the step: its length, the time at its start, wind factor, coefficients, greatest height.
STEP, TIME, FACTOR, CD, CL, APEX, EVENT = (LANES * row for row in range(28, 35))
BLOCK_SIZE: Final = 35 * LANES
IDLE, FLYING, LANDING, LANDED, LOST = range(5)


def _compiled(function: Callable[..., Any]) -> Any:
    """Compile with a cache on disk, or without one where nowhere is writable."""
    fast = {"contract", "arcp", "nsz"}
    try:
        return njit(cache=True, nogil=True, error_model="numpy", fastmath=fast)(function)
    except RuntimeError:
        return njit(nogil=True, error_model="numpy", fastmath=fast)(function)


@_compiled
def _set_wind_factor(s, winds):
    """Wind at each trial height as a multiple of the stated wind, from a table over sqrt(z)."""
    table, least, per_root = winds
    if table.shape[0] < 2:
        return
    last = table.shape[0] - 1.000001
    for k in range(LANES):
        u = math.sqrt(max(s[TRIAL_Z + k], least)) * per_root
        s[FACTOR + k] = u if u < last else last
    for k in range(LANES):
        u = s[FACTOR + k]
        i = int(u)
        s[FACTOR + k] = table[i] + (u - i) * (table[i + 1] - table[i])


@_compiled
def _set_coefficients(s, radius, aerodynamics):
    """Drag, and lift over spin ratio, at each trial state: linear in S and in Re."""
    table, spin_steps, reynolds_steps = aerodynamics
    last, bottom = table.shape[1] - 1.000001, table.shape[0] - 1.000001
    for k in range(LANES):
        rx = s[TRIAL_VX + k] - s[WIND_X + k] * s[FACTOR + k]
        ry = s[TRIAL_VY + k] - s[WIND_Y + k] * s[FACTOR + k]
        vz = s[TRIAL_VZ + k]
        cx = ry * s[AXIS_Z + k] - vz * s[AXIS_Y + k]
        cy = vz * s[AXIS_X + k] - rx * s[AXIS_Z + k]
        cz = rx * s[AXIS_Y + k] - ry * s[AXIS_X + k]
        # A ball at rest in the air has no direction; 1e-18 keeps the quotient a number.
        squared = rx * rx + ry * ry + vz * vz + 1.0e-18
        S = s[TRIAL_SPIN + k] * radius * math.sqrt(cx * cx + cy * cy + cz * cz) / squared
        u, w = S * spin_steps, s[REYNOLDS + k] * math.sqrt(squared) * reynolds_steps
        # Written so that no number at all ends at the edge of the table.
        s[CD + k] = u if u < last else last
        s[CL + k] = w if w < bottom else bottom
    if table.shape[0] == 1:
        _look_up_by_spin(s, table)
    else:
        _look_up_by_spin_and_reynolds(s, table)


@_compiled
def _look_up_by_spin(s, table):
    for k in range(LANES):
        u = s[CD + k]
        i = int(u)
        u -= i
        s[CD + k] = table[0, i, 0] + u * (table[0, i + 1, 0] - table[0, i, 0])
        s[CL + k] = table[0, i, 1] + u * (table[0, i + 1, 1] - table[0, i, 1])


@_compiled
def _look_up_by_spin_and_reynolds(s, table):
    for k in range(LANES):
        u, w = s[CD + k], s[CL + k]
        i, j = int(u), int(w)
        u, w = u - i, w - j
        low = table[j, i, 0] + u * (table[j, i + 1, 0] - table[j, i, 0])
        high = table[j + 1, i, 0] + u * (table[j + 1, i + 1, 0] - table[j + 1, i, 0])
        s[CD + k] = low + w * (high - low)
        low = table[j, i, 1] + u * (table[j, i + 1, 1] - table[j, i, 1])
        high = table[j + 1, i, 1] + u * (table[j + 1, i + 1, 1] - table[j + 1, i, 1])
        s[CL + k] = low + w * (high - low)


@_compiled
def _add_stage(s, weight, reach, ball):
    """Add a stage's rates to the change of the step, and set the trial state of the next one.

    C_L V^2 e^ = (C_L / S) S V^2 c / |c| = (C_L / S) R w c: no division by |c| is needed.
    """
    gravity, radius, decay = ball
    for k in range(LANES):
        vx, vy, vz, w = s[TRIAL_VX + k], s[TRIAL_VY + k], s[TRIAL_VZ + k], s[TRIAL_SPIN + k]
        rx, ry = vx - s[WIND_X + k] * s[FACTOR + k], vy - s[WIND_Y + k] * s[FACTOR + k]
        V = math.sqrt(rx * rx + ry * ry + vz * vz + 1.0e-18)
        d = s[DRAG + k] * s[CD + k] * V
        e = s[LIFT + k] * s[CL + k] * w * radius
        ax = e * (ry * s[AXIS_Z + k] - vz * s[AXIS_Y + k]) - d * rx
        ay = e * (vz * s[AXIS_X + k] - rx * s[AXIS_Z + k]) - d * ry
        az = e * (rx * s[AXIS_Y + k] - ry * s[AXIS_X + k]) - d * vz - gravity
        aw = -decay * V * w
        q, f = weight * s[STEP + k], reach * s[STEP + k]
        s[DX + k] += q * vx
        s[DY + k] += q * vy
        s[DZ + k] += q * vz
        s[DVX + k] += q * ax
        s[DVY + k] += q * ay
        s[DVZ + k] += q * az
        s[DSPIN + k] += q * aw
        s[TRIAL_Z + k] = s[Z + k] + f * vz
        s[TRIAL_VX + k] = s[VX + k] + f * ax
        s[TRIAL_VY + k] = s[VY + k] + f * ay
        s[TRIAL_VZ + k] = s[VZ + k] + f * az
        s[TRIAL_SPIN + k] = s[SPIN + k] + f * aw


@_compiled
def _step(s, ball, winds, aerodynamics):
    """Change of the state over one step by the classical fourth-order Runge-Kutta method."""
    for k in range(LANES):
        s[DX + k] = s[DY + k] = s[DZ + k] = 0.0
        s[DVX + k] = s[DVY + k] = s[DVZ + k] = s[DSPIN + k] = 0.0
        s[TRIAL_Z + k], s[TRIAL_SPIN + k] = s[Z + k], s[SPIN + k]
        s[TRIAL_VX + k], s[TRIAL_VY + k], s[TRIAL_VZ + k] = s[VX + k], s[VY + k], s[VZ + k]
    for stage in range(4):
        _set_wind_factor(s, winds)
        _set_coefficients(s, ball[1], aerodynamics)
        weight = 1.0 / 6.0 if stage in (0, 3) else 1.0 / 3.0
        _add_stage(s, weight, 0.5 if stage < 2 else 1.0, ball)


@_compiled
def _mark_events(s, longest):
    """1 where a step passes the summit or ends below the landing height, or time is over."""
    for k in range(LANES):
        after = s[VZ + k] + s[DVZ + k]
        low = 1.0 if s[Z + k] + s[DZ + k] <= s[GROUND + k] else 0.0
        turns = 1.0 if s[VZ + k] > 0.0 else low
        late = 1.0 if s[TIME + k] > longest else 0.0
        s[EVENT + k] = turns + late if after <= 0.0 else late


@_compiled
def _commit(s):
    """Take the change of the step over into the state."""
    for k in range(LANES):
        s[TIME + k] += s[STEP + k]
        s[X + k] += s[DX + k]
        s[Y + k] += s[DY + k]
        s[Z + k] += s[DZ + k]
        s[VX + k] += s[DVX + k]
        s[VY + k] += s[DVY + k]
        s[VZ + k] += s[DVZ + k]
        s[SPIN + k] += s[DSPIN + k]


@_compiled
def _set_steps(s, longest_step, windy):
    """Full steps aloft; shorter ones near the ground, where a wind profile bends."""
    for k in range(LANES):
        near = min(1.0, max(NEAR_GROUND_STEP, abs(s[Z + k]) / NEAR_GROUND_M))
        s[STEP + k] = longest_step * near if windy else longest_step


@_compiled
def _height_at(u, z0, m0, z1, m1):
    """Cubic Hermite height at the fraction u of a step; m are slopes per step."""
    r = 1.0 - u
    return (
        z0 * (1.0 + 2.0 * u) * r * r
        + m0 * u * r * r
        + z1 * u * u * (3.0 - 2.0 * u)
        - m1 * u * u * r
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
    # 2^-14 of a step is 30 microseconds, in which the fall bends by 5 nanometres: the straight
    # correction at the end takes the rest.
    for _ in range(14):
        middle = 0.5 * (low + high)
        if _height_at(middle, z0, m0, z1, m1) > height:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


@_compiled
def _launch(s, k, shot, radians):
    """Put a shot into a lane, at its launch."""
    up, right, tilt = shot[1] * radians, shot[2] * radians, shot[4] * radians
    cu, su, cr, sr = math.cos(up), math.sin(up), math.cos(right), math.sin(right)
    ct, st = math.cos(tilt), math.sin(tilt)
    s[X + k] = s[Y + k] = s[Z + k] = s[TIME + k] = s[APEX + k] = 0.0
    s[VX + k], s[VY + k], s[VZ + k] = shot[0] * cu * cr, shot[0] * cu * sr, shot[0] * su
    s[SPIN + k] = shot[3]
    s[AXIS_X + k], s[AXIS_Y + k] = -ct * sr + st * su * cr, ct * cr + st * su * sr
    s[AXIS_Z + k] = -st * cu
    s[DRAG + k], s[LIFT + k] = shot[5] * shot[8], shot[5] * shot[9]
    s[WIND_X + k], s[WIND_Y + k], s[GROUND + k] = shot[6], shot[7], shot[10]
    s[REYNOLDS + k], s[FACTOR + k] = shot[11], 1.0


@_compiled
def _record(result, s, k, radians):
    """Write the landing at which the last, partial step ended, put right in a straight line."""
    z, vz = s[Z + k], s[VZ + k]
    rest = (s[GROUND + k] - z) / vz if vz < -1.0e-6 else 0.0
    level = math.sqrt(s[VX + k] * s[VX + k] + s[VY + k] * s[VY + k])
    result[0], result[1] = s[X + k] + s[VX + k] * rest, s[Y + k] + s[VY + k] * rest
    result[2], result[4] = s[APEX + k], s[TIME + k] + rest
    result[3] = math.atan2(-vz, level) / radians
    result[5], result[6] = math.sqrt(level * level + vz * vz), s[SPIN + k]


@_compiled
def _meet_ground(s, k):
    """Note the summit of a step; where the ball falls through its landing height, the part of it.

    Returns the part of the step [s] after which the ball lands, 0 where it flies on, -1 where it
    is below its landing height without having fallen through it.
    """
    h, height = s[STEP + k], s[GROUND + k]
    z0, m0 = s[Z + k], h * s[VZ + k]
    z1, m1 = z0 + s[DZ + k], m0 + h * s[DVZ + k]
    top = 0.0
    if m0 > 0.0 and m1 <= 0.0:
        top = _summit(z0, m0, z1, m1)
        s[APEX + k] = max(s[APEX + k], _height_at(top, z0, m0, z1, m1))
    if m1 > 0.0 or z1 > height:
        return 0.0
    if _height_at(top, z0, m0, z1, m1) < height:
        return -1.0
    return h * _fall_through(height, top, z0, m0, z1, m1)


@_compiled
def _next_shot(s, k, shots, results, following, radians):
    """Launch the next shot that flies at all into a lane; returns its number and the one after."""
    while following < shots.shape[0]:
        n = following
        following += 1
        results[n, :] = np.nan
        if np.isnan(shots[n].sum()):
            continue
        _launch(s, k, shots[n], radians)
        if s[VZ + k] > 0.0 or s[GROUND + k] != 0.0:
            return n, following
        _record(results[n], s, k, radians)
    return -1, following


@_compiled
def _judge_step(s, k, state, late, longest):
    """What has become of a lane after a step: flown on, about to land, landed, or lost."""
    if state == LANDING:
        return LANDED
    part = _meet_ground(s, k)
    if part < 0.0 or s[TIME + k] > longest:
        return LOST
    if part == 0.0:
        return FLYING
    # The step is taken back; the next one ends at the ground.
    late[k], s[STEP + k] = part, 0.0
    s[DX + k] = s[DY + k] = s[DZ + k] = 0.0
    s[DVX + k] = s[DVY + k] = s[DVZ + k] = s[DSPIN + k] = 0.0
    return LANDING


@_compiled
def land(shots, results, h, longest, ball, winds, aerodynamics, radians):
    """Fly each row of shots to its landing height; a row that never lands is NaN."""
    s, late = np.zeros(BLOCK_SIZE), np.zeros(LANES)
    state, number = np.full(LANES, LOST), np.full(LANES, -1)
    following, idle = 0, 0
    while idle < LANES:
        for k in range(LANES):
            if state[k] == LANDED:
                _record(results[number[k]], s, k, radians)
            if state[k] == LANDED or state[k] == LOST:
                number[k], following = _next_shot(s, k, shots, results, following, radians)
                state[k] = FLYING if number[k] >= 0 else IDLE
                idle += state[k] == IDLE
        _set_steps(s, h, winds[0].shape[0] > 1)
        for k in range(LANES):
            if state[k] == LANDING:
                s[STEP + k] = late[k]
        _step(s, ball, winds, aerodynamics)
        _mark_events(s, longest)
        for k in range(LANES):
            if state[k] == LANDING or (s[EVENT + k] > 0.0 and state[k] == FLYING):
                state[k] = _judge_step(s, k, state[k], late, longest)
        _commit(s)


@_compiled
def trace(shot, path, h, ball, winds, aerodynamics, radians):
    """Fill the rows of a path, one a step: position, velocity, spin."""
    s = np.zeros(BLOCK_SIZE)
    _launch(s, 0, shot, radians)
    for k in range(LANES):
        s[STEP + k] = h
    for n in range(path.shape[0]):
        for row in range(7):
            path[n, row] = s[row * LANES]
        _step(s, ball, winds, aerodynamics)
        _commit(s)
