"""Dimensions: a physical law does not care which base units its numbers are in.

Lengths, times and masses are scaled by odd factors, together with the dimensional constants a
function takes; the result must scale as its unit says. Functions with fixed dimensional constants
inside (CIPM-2007, the standard atmosphere) are tested through the groups that must stay the same.
"""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.air.air_density import air_density_kgm3
from rangeledger.models.air.wind_profile import (
    head_and_cross,
    log_law,
    power_law,
    speed_and_from,
    wind_factor,
)
from rangeledger.models.flight.aerodynamics import reynolds_number, spin_ratio
from rangeledger.models.flight.flight_sensitivity import FlightInputs, derivatives
from rangeledger.models.flight.spin_decay import spin_decay_rpm_per_s
from rangeledger.models.flight.trajectory import fly

LENGTH, TIME, MASS = 3.7, 1.9, 0.6


def test_spin_decay() -> None:
    # rpm/s from rpm, m/s and m: spin scales by 1/T, speed by L/T, radius by L.
    base = spin_decay_rpm_per_s(3000.0, 50.0, 0.021)
    scaled = spin_decay_rpm_per_s(3000.0 / TIME, 50.0 * LENGTH / TIME, 0.021 * LENGTH)
    assert scaled == pytest.approx(base / TIME**2)


def test_dimensionless_numbers() -> None:
    assert spin_ratio(3000.0 / TIME, 50.0 * LENGTH / TIME, 0.021 * LENGTH) == pytest.approx(
        spin_ratio(3000.0, 50.0, 0.021)
    )
    density, viscosity = MASS / LENGTH**3, MASS / (LENGTH * TIME)
    assert reynolds_number(
        50.0 * LENGTH / TIME, 1.2 * density, 1.8e-5 * viscosity, 0.042 * LENGTH
    ) == pytest.approx(reynolds_number(50.0, 1.2, 1.8e-5, 0.042))


def test_wind_profiles_depend_on_ratios_of_lengths() -> None:
    heights = np.array([1.0, 5.0, 20.0, 45.0])
    for law, scaled in (
        (power_law(10.0, 0.2), power_law(10.0 * LENGTH, 0.2)),
        (log_law(10.0, 0.03), log_law(10.0 * LENGTH, 0.03 * LENGTH)),
    ):
        np.testing.assert_allclose(wind_factor(heights * LENGTH, scaled), wind_factor(heights, law))


def test_wind_components_scale_with_speed() -> None:
    base, scaled = head_and_cross(5.0, 30.0), head_and_cross(5.0 * LENGTH / TIME, 30.0)
    np.testing.assert_allclose(scaled, np.array(base) * LENGTH / TIME)
    speed, origin = speed_and_from(*scaled)
    assert speed == pytest.approx(5.0 * LENGTH / TIME)
    assert origin == pytest.approx(30.0)


def test_density_of_thin_air_is_proportional_to_pressure_over_temperature() -> None:
    # The dimensional content of the gas law: rho T / p stays where Z is one and the air dry.
    p, t = np.array([1.0, 5.0, 20.0]), np.array([-10.0, 15.0, 40.0])
    group = air_density_kgm3(t, p, 0.0) * (t + 273.15) / p
    np.testing.assert_allclose(group, group[0], rtol=2e-5)


def test_flight_scales_with_speed_squared_over_gravity() -> None:
    # Lengths v^2/g, times v/g. With gravity fixed, scaling the speed by s scales lengths by s^2
    # and times by s, if drag per length falls by s^2 and spin by s (the spin ratio stays; the
    # spin's decay per length does not, so it is compared over a flight where it hardly acts).
    s = 1.25
    base = fly(20.0, 25.0, 3.0, 3000.0, 5.0, air_density_kgm3=1.2)
    scaled = fly(20.0 * s, 25.0, 3.0, 3000.0 * s, 5.0, air_density_kgm3=1.2 / s**2)
    assert scaled.carry_m == pytest.approx(base.carry_m * s**2, rel=5e-3)
    assert scaled.apex_m == pytest.approx(base.apex_m * s**2, rel=5e-3)
    assert scaled.hang_time_s == pytest.approx(base.hang_time_s * s, rel=5e-3)
    assert scaled.descent_angle_deg == pytest.approx(base.descent_angle_deg, rel=5e-3)


def test_flight_depends_on_density_over_mass() -> None:
    base = fly(60.0, 14.0, 0.0, 4000.0, air_density_kgm3=1.2, ball_mass_kg=0.0459)
    scaled = fly(60.0, 14.0, 0.0, 4000.0, air_density_kgm3=1.2 * MASS, ball_mass_kg=0.0459 * MASS)
    np.testing.assert_allclose(scaled, base, rtol=1e-12)


def test_derivatives_of_vacuum_flight_have_their_closed_form() -> None:
    # Without air carry = v^2 sin(2a)/g: d/dv = 2 carry / v, d/da = 2 v^2 cos(2a)/g a radian.
    one = np.array([60.0]), np.array([20.0]), *(np.zeros(1) for _ in range(8))
    slopes = derivatives(FlightInputs(*one), ["ball_speed_mps", "launch_angle_deg"])[0, 0]
    carry = 60.0**2 * np.sin(np.radians(40.0)) / 9.80665
    assert slopes[0] == pytest.approx(2.0 * carry / 60.0, rel=1e-4)
    per_degree = 2.0 * 60.0**2 * np.cos(np.radians(40.0)) / 9.80665 * np.pi / 180.0
    assert slopes[1] == pytest.approx(per_degree, rel=1e-4)
