"""Flight against closed forms, symmetries and an independent integrator."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
from rangeledger.models.air.wind_profile import log_law, power_law
from rangeledger.models.flight.aerodynamics import SETS
from rangeledger.models.flight.trajectory import fly, fly_path

from tests.models.flight_reference import constant_coefficients, reference_flight

# ball speed m/s, launch deg, direction deg, spin rpm, axis deg: driver to a 40 yd pitch
PLAY = [
    (74.5, 11.0, 1.0, 2700.0, 4.0),
    (62.0, 14.0, -2.0, 3200.0, -8.0),
    (53.5, 16.5, 0.0, 7000.0, 3.0),
    (42.5, 26.0, 2.0, 9500.0, -2.0),
    (31.0, 32.0, 0.0, 7500.0, 0.0),
    (21.0, 34.0, -1.0, 5500.0, 2.0),
    (60.0, 3.0, 0.0, 1500.0, 0.0),
]


def test_vacuum_parabola() -> None:
    # Closed form: range v^2 sin(2a)/g, apex v^2 sin^2(a)/(2g), time 2 v sin(a)/g.
    flight = fly(70.0, 12.0, air_density_kgm3=0.0)
    assert flight.carry_m == pytest.approx(203.230415, abs=1e-3)
    assert flight.apex_m == pytest.approx(10.79949, abs=1e-3)
    assert flight.hang_time_s == pytest.approx(2.968153, abs=1e-4)
    assert flight.descent_angle_deg == pytest.approx(12.0, abs=1e-3)


def test_vacuum_parabola_to_a_raised_target() -> None:
    # Closed form: x = v cos(a) t, t = (v sin(a) + sqrt(v^2 sin^2(a) - 2 g h)) / g, h = 10 m.
    flight = fly(70.0, 12.0, air_density_kgm3=0.0, landing_height_m=10.0)
    assert flight.carry_m == pytest.approx(129.263193, abs=1e-3)
    assert flight.hang_time_s == pytest.approx(1.887872, abs=1e-4)


def test_vertical_throw_with_drag() -> None:
    # Closed form for quadratic drag, C_D 0.25, rho 1.225: up with tan, down with tanh.
    flight = fly(40.0, 90.0, air_density_kgm3=1.225, aerodynamics=constant_coefficients(0.25, 0.0))
    assert flight.apex_m == pytest.approx(60.346171, abs=1e-3)
    assert flight.hang_time_s == pytest.approx(7.021153, abs=1e-4)
    assert flight.landing_speed_mps == pytest.approx(29.9996, abs=1e-3)


def test_drop_from_rest() -> None:
    # Closed form: t = (v_t/g) acosh(exp(g h / v_t^2)), terminal speed 45.3542 m/s, h = 100 m.
    flight = fly(
        0.0,
        0.0,
        air_density_kgm3=1.225,
        landing_height_m=-100.0,
        aerodynamics=constant_coefficients(0.25, 0.0),
    )
    assert flight.hang_time_s == pytest.approx(4.881911, abs=1e-4)
    assert flight.landing_speed_mps == pytest.approx(35.5563, abs=1e-3)


def test_uniform_wind_is_a_moving_frame() -> None:
    # Identity: flight in wind W = flight in still air from v0 - W, plus W t (no spin).
    drag_only = constant_coefficients(0.25, 0.0)
    head, cross = 8.0, 3.0
    windy = fly(
        60.0,
        14.0,
        2.0,
        air_density_kgm3=1.225,
        wind_speed_mps=np.hypot(head, cross),
        wind_from_deg=np.degrees(np.arctan2(-cross, head)),
        aerodynamics=drag_only,
    )
    up, right = np.radians([14.0, 2.0])
    vx = 60.0 * np.cos(up) * np.cos(right) + head
    vy = 60.0 * np.cos(up) * np.sin(right) - cross
    vz = 60.0 * np.sin(up)
    still = fly(
        np.sqrt(vx**2 + vy**2 + vz**2),
        np.degrees(np.arctan2(vz, np.hypot(vx, vy))),
        np.degrees(np.arctan2(vy, vx)),
        air_density_kgm3=1.225,
        aerodynamics=drag_only,
    )
    assert windy.hang_time_s == pytest.approx(still.hang_time_s, abs=1e-4)
    assert windy.carry_m == pytest.approx(still.carry_m - head * still.hang_time_s, abs=1e-3)
    assert windy.carry_side_m == pytest.approx(
        still.carry_side_m + cross * still.hang_time_s, abs=1e-3
    )


def test_mirror_symmetry() -> None:
    speed, angle, direction, spin, axis = np.array(PLAY).T
    air = {"wind_speed_mps": 6.0, "wind_profile": power_law()}
    right = fly(speed, angle, direction, spin, axis, wind_from_deg=40.0, **air)
    left = fly(speed, angle, -direction, spin, -axis, wind_from_deg=-40.0, **air)
    np.testing.assert_allclose(left.carry_m, right.carry_m, atol=1e-9)
    np.testing.assert_allclose(left.carry_side_m, -right.carry_side_m, atol=1e-9)
    np.testing.assert_allclose(left.apex_m, right.apex_m, atol=1e-9)


def test_only_density_over_mass_matters() -> None:
    # The coefficients depend on the spin ratio alone, so rho and m enter as rho/m.
    heavy = fly(70.0, 11.0, 0.0, 2600.0, air_density_kgm3=1.2)
    light = fly(70.0, 11.0, 0.0, 2600.0, air_density_kgm3=1.08, ball_mass_kg=0.04593 * 0.9)
    assert light.carry_m == pytest.approx(heavy.carry_m, abs=1e-9)
    assert light.apex_m == pytest.approx(heavy.apex_m, abs=1e-9)


def test_no_wind_has_no_profile() -> None:
    speed, angle, direction, spin, axis = np.array(PLAY).T
    calm = fly(speed, angle, direction, spin, axis)
    for profile in (power_law(), log_law()):
        same = fly(speed, angle, direction, spin, axis, wind_profile=profile)
        # Equal but for the length of the steps.
        np.testing.assert_allclose(same.carry_m, calm.carry_m, atol=2e-3)


@pytest.mark.parametrize("profile", [None, power_law(), log_law()])
@pytest.mark.parametrize("shot", PLAY)
def test_agrees_with_an_independent_integrator(shot, profile) -> None:
    # Independent: scipy.integrate.solve_ivp, DOP853 at rtol = atol = 1e-10, same equations.
    # 0.05 m is the bar; the solver is asked for a tenth of it.
    for wind, origin, height in ((0.0, 0.0, 0.0), (10.0, 20.0, 4.0), (9.0, 250.0, -6.0)):
        air = {"wind_speed_mps": wind, "wind_from_deg": origin, "landing_height_m": height}
        if profile is not None:
            air["wind_profile"] = profile
        flight, exact = fly(*shot, **air), reference_flight(*shot, **air)
        if np.isnan(exact.carry_m):
            assert np.isnan(flight.carry_m)
            continue
        assert flight.carry_m == pytest.approx(exact.carry_m, abs=0.01)
        assert flight.carry_side_m == pytest.approx(exact.carry_side_m, abs=0.01)
        assert flight.apex_m == pytest.approx(exact.apex_m, abs=0.01)
        assert flight.hang_time_s == pytest.approx(exact.hang_time_s, abs=1e-3)
        assert flight.descent_angle_deg == pytest.approx(exact.descent_angle_deg, abs=0.02)
        assert flight.landing_spin_rpm == pytest.approx(exact.landing_spin_rpm, abs=0.5)


def test_halving_the_step_divides_the_error_by_sixteen() -> None:
    # A fourth-order method: halving the step divides the error by about 2^4.
    shot = (53.5, 16.5, 0.0, 7000.0, 3.0)
    exact = fly(*shot, wind_speed_mps=8.0, time_step_s=0.005).carry_m
    coarse = abs(fly(*shot, wind_speed_mps=8.0, time_step_s=0.8).carry_m - exact)
    fine = abs(fly(*shot, wind_speed_mps=8.0, time_step_s=0.4).carry_m - exact)
    assert 8.0 < coarse / fine < 32.0


def test_shapes_scalars_and_missing_values() -> None:
    assert isinstance(fly(60.0, 12.0, 0.0, 3000.0).carry_m, float)
    grid = fly(np.full((3, 1), 60.0), np.array([10.0, 12.0]), spin_rate_rpm=3000.0)
    assert grid.carry_m.shape == (3, 2)
    some = fly(np.array([60.0, np.nan]), 12.0, 0.0, 3000.0)
    assert np.isfinite(some.carry_m[0])
    assert all(np.isnan(field[1]) for field in some)
    assert fly(np.array([]), 12.0).carry_m.shape == (0,)


def test_many_shots_equal_one_by_one() -> None:
    speed = np.linspace(30.0, 75.0, 40_000)
    many = fly(speed, 14.0, 1.0, 4000.0, 3.0)
    for k in (0, 16_383, 16_384, 39_999):
        one = fly(speed[k], 14.0, 1.0, 4000.0, 3.0)
        assert one.carry_m == many.carry_m[k]


def test_balls_that_start_level_or_never_reach_the_height() -> None:
    grounded = fly(50.0, -2.0, 0.0, 2000.0)
    assert (grounded.carry_m, grounded.apex_m, grounded.hang_time_s) == (0.0, 0.0, 0.0)
    assert grounded.descent_angle_deg == pytest.approx(2.0)
    assert np.isnan(fly(50.0, 10.0, 0.0, 4000.0, landing_height_m=80.0).carry_m)


def test_path_starts_at_the_ball_and_ends_at_the_landing() -> None:
    shot = (74.5, 11.0, 1.0, 2700.0, 4.0)
    flight = fly(*shot, wind_speed_mps=5.0, wind_from_deg=60.0)
    path = fly_path(*shot, wind_speed_mps=5.0, wind_from_deg=60.0, points=201)
    assert (path.downrange_m[0], path.side_m[0], path.height_m[0]) == (0.0, 0.0, 0.0)
    assert path.downrange_m[-1] == pytest.approx(flight.carry_m, abs=1e-3)
    assert path.side_m[-1] == pytest.approx(flight.carry_side_m, abs=1e-3)
    assert path.height_m[-1] == pytest.approx(0.0, abs=1e-3)
    assert path.height_m.max() == pytest.approx(flight.apex_m, abs=0.01)
    assert len(fly_path(50.0, 10.0, 0.0, 4000.0, landing_height_m=80.0).time_s) == 0


def _in_a_new_process(code: str) -> str:
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=120
    )
    return done.stdout.strip()


@pytest.mark.slow
def test_flies_where_no_compiled_code_can_be_stored() -> None:
    # A read-only installation without a writable home leaves the compiler no place for a cache.
    code = """
from numba.core import caching
caching.CompileResultCacheImpl._locator_classes = []
from rangeledger.models.flight.trajectory import fly
print(fly(70.0, 12.0, air_density_kgm3=0.0).carry_m)
"""
    assert float(_in_a_new_process(code)) == pytest.approx(203.230415, abs=1e-3)


def test_a_forked_process_flies_many_shots() -> None:
    code = """
import os, numpy as np
from rangeledger.models.flight.trajectory import fly
speeds = np.linspace(30.0, 75.0, 20_000)
here = fly(speeds, 14.0, 0.0, 4000.0).carry_m.sum()
reader, writer = os.pipe()
if os.fork() == 0:
    os.write(writer, repr(float(fly(speeds, 14.0, 0.0, 4000.0).carry_m.sum() - here)).encode())
    os._exit(0)
os.wait()
print(os.read(reader, 100).decode())
"""
    assert float(_in_a_new_process(code)) == 0.0


@pytest.mark.parametrize("name", SETS)
def test_every_set_of_coefficients_against_an_independent_solver(name: str) -> None:
    # scipy's DOP853 at 1e-10 on the coefficients themselves, no table between: drives to pitches
    # in head and tail winds and thin and thick air, across every kink of the sets.
    random, aerodynamics = np.random.default_rng(1), SETS[name]
    shots = random.uniform((20.0, 8.0, 2000.0, 0.0, 0.95), (80.0, 30.0, 8000.0, 8.0, 1.3), (60, 5))
    for speed, angle, spin, wind, density in shots:
        conditions = {
            "wind_speed_mps": wind,
            "wind_from_deg": 0.0 if wind < 4.0 else 180.0,
            "air_density_kgm3": density,
            "aerodynamics": aerodynamics,
        }
        ours = fly(speed, angle, 1.0, spin, 3.0, **conditions)
        exact = reference_flight(speed, angle, 1.0, spin, 3.0, **conditions)
        assert ours.carry_m == pytest.approx(exact.carry_m, abs=0.03)
        assert ours.carry_side_m == pytest.approx(exact.carry_side_m, abs=0.03)
        assert ours.apex_m == pytest.approx(exact.apex_m, abs=0.03)
