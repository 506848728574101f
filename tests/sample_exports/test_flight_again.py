"""The samples' own solver against closed forms, and the project's solver against it."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.constants import GRAVITY_MPS2
from rangeledger.models.flight.trajectory import fly
from rangeledger.sample_exports.flight_again import fly_again
from rangeledger.sample_exports.scenario import EXPORTS
from rangeledger.sample_exports.swings import strike


def shots(count: int) -> dict[str, np.ndarray]:
    rng = np.random.default_rng(20260314)
    return {
        "ball_speed_mps": rng.uniform(15.0, 80.0, count),
        "launch_angle_deg": rng.uniform(5.0, 45.0, count),
        "launch_direction_deg": rng.uniform(-10.0, 10.0, count),
        "spin_rate_rpm": rng.uniform(1000.0, 11000.0, count),
        "spin_axis_deg": rng.uniform(-30.0, 30.0, count),
    }


def test_without_air_it_is_the_parabola():
    launch = shots(50)
    landing = fly_again(launch, air_density_kgm3=0.0, wind_speed_mps=0.0, wind_from_deg=0.0)
    # Closed form of a throw in a vacuum.
    angle = np.radians(launch["launch_angle_deg"])
    speed = launch["ball_speed_mps"]
    distance = speed**2 * np.sin(2.0 * angle) / GRAVITY_MPS2
    assert np.hypot(landing.carry_m, landing.carry_side_m) == pytest.approx(distance, abs=1e-6)
    assert landing.apex_m == pytest.approx(
        (speed * np.sin(angle)) ** 2 / (2.0 * GRAVITY_MPS2), abs=1e-6
    )
    assert landing.descent_angle_deg == pytest.approx(launch["launch_angle_deg"], abs=0.001)


def test_a_tilt_to_the_right_curves_right_and_the_mirror_curves_left():
    launch = {
        name: np.array([value, value])
        for name, value in {
            "ball_speed_mps": 60.0,
            "launch_angle_deg": 14.0,
            "spin_rate_rpm": 3000.0,
        }.items()
    }
    launch["launch_direction_deg"] = np.zeros(2)
    launch["spin_axis_deg"] = np.array([10.0, -10.0])
    landing = fly_again(launch, air_density_kgm3=1.2, wind_speed_mps=0.0, wind_from_deg=0.0)
    assert landing.carry_side_m[0] > 5.0
    assert landing.carry_side_m[1] == pytest.approx(-landing.carry_side_m[0], abs=1e-9)


def test_the_project_s_solver_keeps_its_stated_accuracy_against_it():
    visits = [v for e in EXPORTS for v in e.visits if v.plan[0][0] != "putter"]
    struck = [strike(visit) for visit in visits]
    launch = {name: np.concatenate([s[name] for s in struck]) for name in shots(1)}
    known = np.isfinite(launch["spin_rate_rpm"])
    launch = {name: values[known] for name, values in launch.items()}
    rng = np.random.default_rng(7)
    wind_speed = rng.uniform(0.0, 8.0, known.sum())
    wind_from = rng.uniform(0.0, 360.0, known.sum())
    wind = {"wind_speed_mps": wind_speed, "wind_from_deg": wind_from}
    again = fly_again(launch, air_density_kgm3=1.15, **wind)
    flight = fly(**launch, air_density_kgm3=1.15, **wind)
    # `rangeledger.models.flight.trajectory` states 0.01 m for carry and side.
    assert np.abs(again.carry_m - flight.carry_m).max() < 0.01
    assert np.abs(again.carry_side_m - flight.carry_side_m).max() < 0.01
    assert np.abs(again.apex_m - flight.apex_m).max() < 0.01
    assert np.abs(again.hang_time_s - flight.hang_time_s).max() < 0.005
