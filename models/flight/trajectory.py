"""Flight of a golf ball from launch to landing: gravity, drag, lift, dying spin and wind.

    m dv/dt = m g + rho A V^2 / 2 (-C_D v^ + C_L e^),  e^ = (w x v) / |w x v|,  S = R |w x v| / V^2

with V the velocity through the air. Solved shot by shot with the classical fourth-order
Runge-Kutta method in compiled code; the landing is found on the cubic Hermite curve of the last
step. The density is taken as constant over one flight (ignoring its fall with height costs 0.07
to 0.14 m of carry), and a flight is the same for left- and right-handed players.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from functools import lru_cache
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike
from rangeledger.models.air.air_density import REFERENCE_AIR_DENSITY_KGM3
from rangeledger.models.air.standard_atmosphere import dynamic_viscosity_pas
from rangeledger.models.air.wind_profile import (
    LEAST_HEIGHT_M,
    UNIFORM,
    ProfileKind,
    WindProfile,
    wind_factor,
)
from rangeledger.models.arrays import FloatArray
from rangeledger.models.constants import (
    BALL_AREA_M2,
    BALL_DIAMETER_M,
    BALL_MASS_KG,
    BALL_RADIUS_M,
    GRAVITY_MPS2,
    RAD_PER_DEG,
    RAD_PER_S_PER_RPM,
    REFERENCE_TEMP_C,
)
from rangeledger.models.flight.aerodynamics import DEFAULT, Aerodynamics, coefficient_table
from rangeledger.models.flight.spin_decay import SPIN_DECAY_COEFFICIENT

# Longest steps at which carry and side stay within 0.02 m of the exact solution in winds up to
# 10 m/s (see the tests); under a wind profile the loop shortens them near the ground.
TIME_STEP_S: Final = 0.35
PROFILE_TIME_STEP_S: Final = 0.2
PATH_TIME_STEP_S: Final = 0.02
LONGEST_FLIGHT_S: Final = 60.0  # a ball still up after this is reported as never landing (NaN)
_CHUNK: Final = 4_096  # shots flown by one thread at a time
# Winds are tabulated up to here and held beyond; no struck ball has come half as high (common
# practice, no source). Over the root of the height, so that points lie close near the ground,
# where the laws bend: with so many a factor is off by less than 1e-4.
_HIGHEST_WIND_M: Final = 150.0
_WIND_POINTS: Final = 2_049


class Flight(NamedTuple):
    """Where and how a ball lands; every field has the broadcast shape of the inputs."""

    carry_m: Any
    carry_side_m: Any
    apex_m: Any
    descent_angle_deg: Any
    hang_time_s: Any
    landing_speed_mps: Any
    landing_spin_rpm: Any


class FlightPath(NamedTuple):
    """Points of one flight: time, place from the ball's start, speed and spin."""

    time_s: FloatArray
    downrange_m: FloatArray
    side_m: FloatArray
    height_m: FloatArray
    speed_mps: FloatArray
    spin_rate_rpm: FloatArray


def fly(
    ball_speed_mps: ArrayLike,
    launch_angle_deg: ArrayLike,
    launch_direction_deg: ArrayLike = 0.0,
    spin_rate_rpm: ArrayLike = 0.0,
    spin_axis_deg: ArrayLike = 0.0,
    *,
    air_density_kgm3: ArrayLike = REFERENCE_AIR_DENSITY_KGM3,
    wind_speed_mps: ArrayLike = 0.0,
    wind_from_deg: ArrayLike = 0.0,
    wind_profile: WindProfile = UNIFORM,
    landing_height_m: ArrayLike = 0.0,
    drag_scale: ArrayLike = 1.0,
    lift_scale: ArrayLike = 1.0,
    aerodynamics: Aerodynamics = DEFAULT,
    ball_mass_kg: float = BALL_MASS_KG,
    time_step_s: float | None = None,
) -> Flight:
    """Fly shots to their landing.

    Parameters
    ----------
    ball_speed_mps : array_like
        Ball speed at launch [m/s].
    launch_angle_deg : array_like
        Vertical launch angle, up positive [deg].
    launch_direction_deg : array_like
        Start direction, right positive [deg].
    spin_rate_rpm : array_like
        Total spin [rpm].
    spin_axis_deg : array_like
        Tilt of the spin axis, right positive: the ball curves right [deg].
    air_density_kgm3 : array_like
        Density of the air [kg/m3]; by default the reference air.
    wind_speed_mps : array_like
        Wind speed at the profile's reference height [m/s].
    wind_from_deg : array_like
        Where the wind comes from [deg]: 0 in the face, 90 from the right, 180 helping.
    wind_profile : WindProfile
        Wind with height; by default the same at every height.
    landing_height_m : array_like
        Height of the landing place above the ball's start [m].
    drag_scale, lift_scale : array_like
        Factors on the drag and lift coefficients [1].
    aerodynamics : Aerodynamics
        Set of drag and lift coefficients [1].
    ball_mass_kg : float
        Mass of the ball [kg].
    time_step_s : float or None
        Longest step of the solver [s]; chosen by default.

    Returns
    -------
    Flight
        Carry and side at landing [m], apex above the start [m], descent angle [deg], hang time
        [s], landing speed [m/s] and landing spin [rpm]; NaN where an input is NaN or the ball
        never comes down through the landing height.

    Notes
    -----
    The spin axis keeps its direction; at launch it is perpendicular to the velocity. Reynolds
    numbers use the viscosity of the reference air, whatever the density.

    References
    ----------
    [bearman1976], [smits1994], [penner2001]

    Examples
    --------
    >>> import rangeledger as rl
    >>> calm = rl.fly(53.5, 16.5, spin_rate_rpm=7000)
    >>> against = rl.fly(53.5, 16.5, spin_rate_rpm=7000, wind_speed_mps=5)
    >>> bool(against.carry_m < calm.carry_m)
    True
    """
    columns = np.broadcast_arrays(
        *(
            np.asarray(value, dtype=np.float64)
            for value in (
                ball_speed_mps,
                launch_angle_deg,
                launch_direction_deg,
                spin_rate_rpm,
                spin_axis_deg,
                air_density_kgm3,
                wind_speed_mps,
                wind_from_deg,
                drag_scale,
                lift_scale,
                landing_height_m,
            )
        )
    )
    shape = columns[0].shape
    step = time_step_s or _default_step(wind_profile, aerodynamics)
    solver = _solver(aerodynamics, wind_profile, ball_mass_kg)
    results = np.empty((columns[0].size, len(Flight._fields)))
    _fly_chunks([column.reshape(-1) for column in columns], results, step, solver)
    return Flight(*(results[:, k].reshape(shape)[()] for k in range(results.shape[1])))


def fly_path(
    ball_speed_mps: float,
    launch_angle_deg: float,
    launch_direction_deg: float = 0.0,
    spin_rate_rpm: float = 0.0,
    spin_axis_deg: float = 0.0,
    *,
    points: int = 101,
    wind_profile: WindProfile = UNIFORM,
    aerodynamics: Aerodynamics = DEFAULT,
    **conditions: float,
) -> FlightPath:
    """Trace one flight from launch to landing.

    Parameters
    ----------
    ball_speed_mps : float
        Ball speed at launch [m/s].
    launch_angle_deg : float
        Vertical launch angle, up positive [deg].
    launch_direction_deg : float
        Start direction, right positive [deg].
    spin_rate_rpm : float
        Total spin [rpm].
    spin_axis_deg : float
        Tilt of the spin axis, right positive [deg].
    points : int
        Number of points [1], evenly spaced in time, at least 2.
    wind_profile : WindProfile
        Wind with height.
    aerodynamics : Aerodynamics
        Set of drag and lift coefficients [1].
    **conditions : float
        The other keywords of `fly` [their units].

    Returns
    -------
    FlightPath
        Times [s], places [m], speeds [m/s] and spins [rpm]; no points if the ball never lands.
    """
    launch = (ball_speed_mps, launch_angle_deg, launch_direction_deg, spin_rate_rpm, spin_axis_deg)
    flight = fly(*launch, wind_profile=wind_profile, aerodynamics=aerodynamics, **conditions)
    if not np.isfinite(flight.hang_time_s):
        return FlightPath(*(np.empty(0) for _ in FlightPath._fields))
    rest = [float(conditions.get(name, default)) for name, default in _CONDITIONS.items()]
    columns = [np.array([value], dtype=np.float64) for value in (*launch, *rest)]
    mass = float(conditions.get("ball_mass_kg", BALL_MASS_KG))
    return _traced(columns, float(flight.hang_time_s), points, wind_profile, aerodynamics, mass)


# The conditions of `fly` in the order of `_fill`, with their defaults.
_CONDITIONS: Final = {
    "air_density_kgm3": REFERENCE_AIR_DENSITY_KGM3,
    "wind_speed_mps": 0.0,
    "wind_from_deg": 0.0,
    "drag_scale": 1.0,
    "lift_scale": 1.0,
    "landing_height_m": 0.0,
}


def _traced(
    columns: list[FloatArray],
    hang_time_s: float,
    points: int,
    profile: WindProfile,
    aerodynamics: Aerodynamics,
    mass: float,
) -> FlightPath:
    """Points of one flight, several solver steps apart where points are far apart."""
    from rangeledger.models.flight._flight_kernel import RESULT_COLUMNS, SHOT_COLUMNS, trace

    shots = np.empty((1, SHOT_COLUMNS))
    _fill(shots, columns, mass)
    between = max(1, int(np.ceil(hang_time_s / (points - 1) / PATH_TIME_STEP_S)))
    path = np.empty(((points - 1) * between + 1, RESULT_COLUMNS))
    step = hang_time_s / (len(path) - 1)
    trace(shots[0], path, step, *_solver(aerodynamics, profile, mass)[1:], RAD_PER_DEG)
    path = path[::between]
    speed = np.sqrt((path[:, 3:6] ** 2).sum(axis=1))
    time = np.linspace(0.0, hang_time_s, points)
    spin = path[:, 6] / RAD_PER_S_PER_RPM
    return FlightPath(time, path[:, 0], path[:, 1], path[:, 2], speed, spin)


def _default_step(profile: WindProfile, aerodynamics: Aerodynamics) -> float:
    """Longest time step that keeps the stated accuracy [s].

    Coefficients that depend on the Reynolds number too have kinks in the middle of a flight.
    """
    step = TIME_STEP_S if profile.kind is ProfileKind.UNIFORM else PROFILE_TIME_STEP_S
    return 0.5 * step if aerodynamics.uses_reynolds else step


def _solver(
    aerodynamics: Aerodynamics, profile: WindProfile, ball_mass_kg: float
) -> tuple[Any, ...]:
    """What the compiled loop needs beside the shots: mass, ball, winds, coefficients."""
    ball = (GRAVITY_MPS2, BALL_RADIUS_M, SPIN_DECAY_COEFFICIENT / BALL_RADIUS_M)
    return ball_mass_kg, ball, _wind_table(profile), coefficient_table(aerodynamics)


@lru_cache(maxsize=16)
def _wind_table(profile: WindProfile) -> tuple[FloatArray, float, float]:
    """Wind factors [1] evenly spaced over the root of the height, from 0 to the highest.

    Returns them with the least height [m] and the steps per root metre; one factor alone where
    the wind is the same at every height.
    """
    if profile.kind is ProfileKind.UNIFORM:
        return np.ones(1), LEAST_HEIGHT_M, 0.0
    roots = np.linspace(0.0, np.sqrt(_HIGHEST_WIND_M), _WIND_POINTS)
    return wind_factor(roots**2, profile), LEAST_HEIGHT_M, 1.0 / float(roots[1])


def _fill(shots: FloatArray, columns: list[FloatArray], ball_mass_kg: float) -> None:
    """Write a chunk of shots in the order and units of the compiled loop."""
    speed, angle, direction, spin, axis, density, wind, wind_from, drag, lift, height = columns
    origin = wind_from * RAD_PER_DEG
    shots[:, 0], shots[:, 1], shots[:, 2] = speed, angle, direction
    shots[:, 3], shots[:, 4] = spin * RAD_PER_S_PER_RPM, axis
    shots[:, 5] = density * BALL_AREA_M2 / (2.0 * ball_mass_kg)
    shots[:, 6], shots[:, 7] = -wind * np.cos(origin), -wind * np.sin(origin)
    shots[:, 8], shots[:, 9], shots[:, 10] = drag, lift, height
    shots[:, 11] = density * BALL_DIAMETER_M / dynamic_viscosity_pas(REFERENCE_TEMP_C)


def _chunks(size: int) -> Iterator[slice]:
    """Slices that cover `size` rows."""
    return (slice(start, min(start + _CHUNK, size)) for start in range(0, size, _CHUNK))


def _fly_chunks(
    columns: list[FloatArray], results: FloatArray, step: float, solver: tuple[Any, ...]
) -> None:
    """Fly chunk after chunk, on all processors if there are several chunks."""
    from rangeledger.models.flight._flight_kernel import SHOT_COLUMNS, land

    def fly_chunk(rows: slice) -> None:
        shots = np.empty((rows.stop - rows.start, SHOT_COLUMNS))
        _fill(shots, [column[rows] for column in columns], solver[0])
        out = results[rows]
        land(shots, out, step, LONGEST_FLIGHT_S, *solver[1:], RAD_PER_DEG)
        out[:, 6] /= RAD_PER_S_PER_RPM

    chunks = list(_chunks(len(results)))
    if len(chunks) < 2:
        for rows in chunks:
            fly_chunk(rows)
        return
    for _ in _threads().map(fly_chunk, chunks):
        pass


@lru_cache(maxsize=1)
def _threads() -> ThreadPoolExecutor:
    """One pool of threads for the process, one a processor it may use."""
    workers = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    return ThreadPoolExecutor(max_workers=workers, thread_name_prefix="flight")


if hasattr(os, "register_at_fork"):
    # A forked child has none of the pool's threads and would wait for them for ever.
    os.register_at_fork(after_in_child=_threads.cache_clear)
