"""A second, slow solver of the same equations, built on scipy, and helpers for the tests."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
from rangeledger.models.air.air_density import REFERENCE_AIR_DENSITY_KGM3
from rangeledger.models.air.wind_profile import UNIFORM, wind_factor
from rangeledger.models.flight.aerodynamics import DEFAULT, Aerodynamics
from scipy.integrate import solve_ivp

GRAVITY, MASS, DIAMETER = 9.80665, 0.04593, 0.04267
VISCOSITY = 1.458e-6 * 297.0388888888889**1.5 / (297.0388888888889 + 110.4)  # 75 degF
UNDEFINED = SimpleNamespace(carry_m=np.nan)


def constant_coefficients(drag: float, lift: float) -> Aerodynamics:
    """A ball whose coefficients never change."""

    def coefficients(S, Re):
        return np.full_like(S, drag), np.full_like(S, lift)

    return Aerodynamics("constant", coefficients, (0.0, 9.0), (0.0, 9e9), False, "test")


def reference_flight(
    speed,
    angle,
    direction=0.0,
    spin=0.0,
    axis=0.0,
    *,
    air_density_kgm3=REFERENCE_AIR_DENSITY_KGM3,
    wind_speed_mps=0.0,
    wind_from_deg=0.0,
    wind_profile=UNIFORM,
    landing_height_m=0.0,
    aerodynamics=DEFAULT,
    tolerance=1e-10,
):
    """Solve one flight with DOP853, in a right-handed frame (x forward, y left, z up)."""
    up, right, tilt, origin = np.radians([angle, direction, axis, wind_from_deg])
    forward = np.array([np.cos(right), -np.sin(right), 0.0])
    ahead = np.cos(up) * forward + np.sin(up) * np.array([0.0, 0.0, 1.0])
    left = np.array([np.sin(right), np.cos(right), 0.0])
    backspin = -np.cos(tilt) * left - np.sin(tilt) * np.cross(ahead, left)
    wind = wind_speed_mps * np.array([-np.cos(origin), np.sin(origin), 0.0])

    def rates(_, state):
        velocity, w = state[3:6], state[6]
        V = velocity - wind * wind_factor(state[2], wind_profile)
        size = np.linalg.norm(V)
        if size < 1e-12:
            return np.array([*velocity, 0.0, 0.0, -GRAVITY, 0.0])
        turn = np.cross(backspin, V)
        strength = np.linalg.norm(turn)
        S = np.array(w * DIAMETER / 2 * strength / size**2)
        Re = np.array(air_density_kgm3 * size * DIAMETER / VISCOSITY)
        drag, lift = aerodynamics.coefficients(S, Re)
        k = air_density_kgm3 * np.pi * DIAMETER**2 / 4 / (2 * MASS)
        force = -k * drag * size * V
        if strength > 0:
            force = force + k * lift * size**2 * turn / strength
        slow = -2.0e-5 * size * w / (DIAMETER / 2)
        return np.array([*velocity, force[0], force[1], force[2] - GRAVITY, slow])

    def landing(_, state):
        return state[2] - landing_height_m

    def summit(_, state):
        return state[5]

    landing.direction = summit.direction = -1
    landing.terminal = True
    start = np.array([0, 0, 0, *(speed * ahead), spin * np.pi / 30], dtype=float)
    answer = solve_ivp(
        rates,
        (0.0, 60.0),
        start,
        method="DOP853",
        rtol=tolerance,
        atol=tolerance,
        events=[landing, summit],
    )
    late = [k for k, t in enumerate(answer.t_events[0]) if t > 1e-9]
    if not late:
        return UNDEFINED
    end, time = answer.y_events[0][late[-1]], answer.t_events[0][late[-1]]
    tops = answer.y_events[1]
    return SimpleNamespace(
        carry_m=end[0],
        carry_side_m=-end[1],
        apex_m=max([0.0, *tops[:, 2]]) if len(tops) else 0.0,
        hang_time_s=time,
        descent_angle_deg=np.degrees(np.arctan2(-end[5], np.hypot(end[3], end[4]))),
        landing_speed_mps=np.linalg.norm(end[3:6]),
        landing_spin_rpm=end[6] * 30 / np.pi,
    )
