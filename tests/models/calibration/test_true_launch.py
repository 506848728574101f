"""Regression calibration of a noisy launch."""

from __future__ import annotations

import numpy as np
from rangeledger.models.calibration.true_launch import probable_launch

NOISE = np.array([0.3, 0.3, 0.5, 300.0, 2.0])


def launches(random, n, group):
    centre = np.array([[50.0, 17.0, 0.0, 7000.0, 2.0], [70.0, 12.0, 1.0, 2700.0, -3.0]])[group]
    true = centre + random.normal(size=(n, 5)) * [1.0, 1.2, 2.5, 400.0, 4.0]
    noise = np.broadcast_to(NOISE, (n, 5))
    return true, true + random.normal(size=(n, 5)) * noise, noise


def test_slope_on_the_probable_launch_is_not_too_flat() -> None:
    # Defining property: y = b x + e regressed on E[x | measured] gives b; on the measured x it
    # gives b s^2 / (s^2 + noise^2), here 400^2 / (400^2 + 300^2) = 0.64.
    random = np.random.default_rng(1)
    group = np.zeros(40_000, dtype=np.int64)
    true, measured, noise = launches(random, 40_000, group)
    probable, _ = probable_launch(measured, noise, group)
    flat = np.polyfit(measured[:, 3], true[:, 3], 1)[0]
    slope = np.polyfit(probable[:, 3], true[:, 3], 1)[0]
    assert abs(flat - 0.64) < 0.015
    assert abs(slope - 1.0) < 0.03  # sampling error of the slope 0.01


def test_standard_deviation_covers_the_error() -> None:
    random = np.random.default_rng(2)
    group = np.repeat([0, 1], 1500)
    true, measured, noise = launches(random, 3000, group)
    probable, sd = probable_launch(measured, noise, group)
    inside = np.mean(np.abs(probable - true) < 1.645 * sd, axis=0)
    np.testing.assert_allclose(inside, 0.90, atol=0.03)


def test_exact_measurements_stay() -> None:
    random = np.random.default_rng(3)
    group = np.zeros(30, dtype=np.int64)
    true, _, _ = launches(random, 30, group)
    probable, sd = probable_launch(true, np.full_like(true, 1e-9), group)
    np.testing.assert_allclose(probable, true, rtol=1e-9)
    assert np.all(sd < 1e-8)


def test_a_strange_shot_keeps_its_measurement() -> None:
    random = np.random.default_rng(4)
    group = np.zeros(30, dtype=np.int64)
    _, measured, noise = launches(random, 30, group)
    measured = measured.copy()
    measured[7, 3] = 1500.0
    assert probable_launch(measured, noise, group)[0][7, 3] == 1500.0
