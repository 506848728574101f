"""Offsets of devices: predictions of a random effect as published, and as a general library."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.statistics.device_offsets import Readings, device_offsets
from rangeledger.models.statistics.shared_level import Grid

from tests.models.published_data import DYESTUFF
from tests.models.statistics.test_shared_level import plain_grid

ONE = np.ones(1)


def one_visit(values: np.ndarray, variance: float) -> Readings:
    """Readings of one unit on one visit, a row a device and repeat."""
    devices, repeats = values.shape
    none = np.zeros(values.size, dtype=np.int64)
    device = np.repeat(np.arange(devices), repeats)
    return Readings(none, none, device, values.ravel(), np.full(values.size, variance), np.zeros(1))


def test_dyestuff_batches_are_predicted_as_published() -> None:
    """Six batches as devices, at the published REML variances 1764.05 and 2451.25.

    Predictions of the batch effects: the help pages of R's lme4, from memory; they are also n s2 /
    (n s2 + s2_within) times the batch means about 1527.5.
    """
    readings = one_visit(DYESTUFF, 2451.25)
    found = device_offsets(readings, plain_grid(1, 0.0, 0.0), np.array([1764.05**0.5]), ONE)
    told = [-17.6068514, 0.3912634, 28.5622256, -23.0845385, 56.7331877, -44.9952868]
    offsets = found.offset[0, 0, 0, 0]
    assert offsets - offsets.mean() == pytest.approx(told, abs=2e-3)


def test_the_scale_is_most_likely_where_it_is_published() -> None:
    """The REML standard deviation of the batches, 42.00, beats its neighbours."""
    scales = np.array([20.0, 30.0, 36.0, 42.0, 50.0, 60.0, 90.0])
    found = device_offsets(
        one_visit(DYESTUFF, 2451.25), plain_grid(1, 0.0, 0.0), scales, np.full(7, 1.0 / 7.0)
    )
    assert scales[np.argmax(found.weight[0, 0, 0])] == 42.0
    assert found.weight.sum() == pytest.approx(1.0)


@pytest.fixture
def few() -> Readings:
    """Three clubs on five visits by two devices, some of them on one day."""
    rng = np.random.default_rng(3)
    rows = [(u, v, d) for u in range(3) for v in range(5) for d in range(2) if rng.random() < 0.6]
    unit, visit, device = (np.array(column) for column in zip(*rows, strict=True))
    variance = rng.uniform(0.5, 2.0, len(rows)) * 1e-4
    mean = 0.3 * unit + 0.02 * device + 0.015 * rng.standard_normal(len(rows))
    return Readings(unit, visit, device, mean, variance, np.arange(4.0, -1.0, -1.0))


@pytest.mark.parametrize("scale", [0.0, 0.02])
def test_every_assumption_is_generalised_least_squares(few: Readings, scale: float) -> None:
    """The same by the covariance of the readings written out, the clubs' levels free."""
    grid: Grid = plain_grid(5, 2e-5, 1e-4)
    found = device_offsets(few, grid, np.array([scale]), ONE)
    n = len(few.mean)
    units, visits = np.eye(3)[few.unit], np.eye(5)[few.visit]
    devices = np.eye(2)[few.device]
    level = grid.paths[0] + grid.wander[0] * np.minimum.outer(few.age, few.age)
    day = level + grid.drift[0] * np.eye(5)
    noise = np.diag(few.variance) + grid.own_drift[0] * np.eye(n)
    whole = visits @ day @ visits.T + scale**2 * devices @ devices.T + noise
    precision = np.linalg.inv(whole)
    free = units @ np.linalg.solve(units.T @ precision @ units, units.T @ precision)
    left = precision @ (np.eye(n) - free)
    assert found.offset[0, 0, 0, 0] == pytest.approx(scale**2 * devices.T @ left @ few.mean)
    covariance = scale**2 * np.eye(2) - scale**4 * devices.T @ left @ devices
    assert found.covariance[0, 0, 0, 0] == pytest.approx(covariance, abs=1e-12)


def test_the_reference_is_off_by_nothing_and_the_interval_holds_the_mean(few: Readings) -> None:
    scales = np.array([0.0, 0.01, 0.03])
    found = device_offsets(few, plain_grid(5, 2e-5, 1e-4), scales, np.full(3, 1.0 / 3.0))
    mean, error = found.against(0)
    low, high = found.quantile(0, 0.05), found.quantile(0, 0.95)
    assert (mean[0], low[0], high[0]) == (0.0, 0.0, 0.0)
    assert error[0] == pytest.approx(0.0, abs=1e-6)
    assert low[1] < mean[1] < high[1]
    assert found.against(1)[0] == pytest.approx([-mean[1], 0.0])
