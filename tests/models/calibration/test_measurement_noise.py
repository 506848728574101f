"""Covariance of residuals against a simulation of the same noise."""

from __future__ import annotations

import numpy as np
from rangeledger.models.calibration.measurement_noise import (
    DEFAULT_NOISE,
    LAUNCH,
    WIND,
    covariance_of_slopes,
)
from rangeledger.models.flight.flight_sensitivity import FlightInputs, derivatives, observe


def test_covariance_agrees_with_a_simulation() -> None:
    # Monte Carlo of 6000 shots: a standard deviation is good to 1 %; 5 % leaves room for the
    # curvature of the flight.
    random = np.random.default_rng(3)
    n = 6000
    shot = (53.5, 16.5, 0.0, 7000.0, 2.0)
    zero = np.zeros(n)
    nominal = FlightInputs(*(np.full(n, value) for value in shot), zero + 1.19, *[zero] * 4)
    noise = random.normal(size=(n, 5)) * DEFAULT_NOISE.of_launch(nominal)
    gusts = random.normal(0.0, DEFAULT_NOISE.gust_mps, (2, n))
    moved = nominal.moved(
        **dict(zip(LAUNCH, noise.T, strict=True)), head_wind_mps=gusts[0], cross_wind_mps=gusts[1]
    )
    results = observe(moved) + random.normal(size=(n, 5)) * DEFAULT_NOISE.of_results()
    simulated = np.cov(results.T)
    one = nominal.rows(np.array([0]))
    slopes = derivatives(one, (*LAUNCH, *WIND))
    linear = covariance_of_slopes(slopes, DEFAULT_NOISE.of_launch(one))[0]
    np.testing.assert_allclose(np.sqrt(np.diag(linear)), np.sqrt(np.diag(simulated)), rtol=0.05)
    correlation = simulated / np.sqrt(np.outer(np.diag(simulated), np.diag(simulated)))
    ours = linear / np.sqrt(np.outer(np.diag(linear), np.diag(linear)))
    np.testing.assert_allclose(ours, correlation, atol=0.06)
