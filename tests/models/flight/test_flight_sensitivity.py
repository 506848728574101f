"""Derivatives of the flight against known relations and an independent solver's figures."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.air.air_density import air_density_kgm3
from rangeledger.models.flight.flight_sensitivity import FlightInputs, derivatives, observe

SHOTS = np.array([(74.5, 11.0, 0.0, 2700.0, 0.0), (53.5, 16.5, 0.0, 7000.0, 0.0)])


def inputs(**changes) -> FlightInputs:
    n = len(SHOTS)
    zero = np.zeros(n)
    density = np.full(n, air_density_kgm3(15.0, 1013.25, 0.0))
    return FlightInputs(*SHOTS.T, density, zero, zero, zero, zero).moved(**changes)


def test_derivatives_agree_with_a_second_program() -> None:
    # Independent solver (DOP853, 1e-10), 15 degC, dry: change of carry for speed +1 %, launch
    # +1 deg and spin +5 %, of side for azimuth and axis +1 deg. One-sided changes there, so the
    # slope is taken in the middle of each.
    half = {"ball_speed_mps": 0.005 * SHOTS[:, 0], "launch_angle_deg": 0.5}
    half["spin_rate_rpm"] = 0.025 * SHOTS[:, 3]

    def slope(name, result):
        return derivatives(inputs(**{name: half.get(name, 0.5)}), [name])[:, result, 0]

    speed = slope("ball_speed_mps", 0) * 0.01 * SHOTS[:, 0]
    np.testing.assert_allclose(speed, [2.95, 1.67], atol=0.02)
    np.testing.assert_allclose(slope("launch_angle_deg", 0), [1.81, -0.24], atol=0.02)
    spin = slope("spin_rate_rpm", 0) * 0.05 * SHOTS[:, 3]
    np.testing.assert_allclose(spin, [-0.46, -1.05], atol=0.02)
    np.testing.assert_allclose(slope("launch_direction_deg", 1), [4.31, 2.65], atol=0.01)
    np.testing.assert_allclose(slope("spin_axis_deg", 1), [1.99, 1.63], atol=0.01)


def test_drag_and_lift_scale_by_logarithm() -> None:
    # The same program: carry for drag +1 % -1.75 and -0.98 m, for lift +1 % +0.73 and +0.19 m.
    slopes = derivatives(inputs(), ["drag_log", "lift_log"])[:, 0] * 0.01
    np.testing.assert_allclose(slopes[:, 0], [-1.75, -0.98], atol=0.02)
    np.testing.assert_allclose(slopes[:, 1], [0.73, 0.19], atol=0.05)


def test_first_order_prediction() -> None:
    slopes = derivatives(inputs(), ["head_wind_mps", "cross_wind_mps"])
    moved = observe(inputs(head_wind_mps=0.2, cross_wind_mps=-0.3))
    predicted = observe(inputs()) + slopes @ np.array([0.2, -0.3])
    np.testing.assert_allclose(moved, predicted, atol=0.06)


def test_density_acts_as_drag_and_lift_together() -> None:
    thick = observe(inputs()._replace(air_density_kgm3=inputs().air_density_kgm3 * np.exp(0.1)))
    scaled = observe(inputs(drag_log=0.1, lift_log=0.1))
    np.testing.assert_allclose(thick, scaled, atol=1e-9)


def test_rows_and_results() -> None:
    one = inputs().rows(np.array([1]))
    assert one.ball_speed_mps.tolist() == [53.5]
    assert observe(one)[0] == pytest.approx(observe(inputs())[1])
