"""Ellipses against eigenvalues and against counted shots."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.statistics.prediction_ellipse import ellipse


def test_against_an_eigenvalue_routine() -> None:
    """numpy.linalg.eigh on the same matrices."""
    rng = np.random.default_rng(1)
    root = rng.standard_normal((50, 2, 2))
    matrix = root @ root.transpose(0, 2, 1)
    shape = ellipse(matrix[:, 0, 0], matrix[:, 1, 1], matrix[:, 0, 1], np.full(50, 2.0))
    values, vectors = np.linalg.eigh(matrix)
    assert shape.half_axis_short_m == pytest.approx(2.0 * np.sqrt(values[:, 0]))
    assert shape.half_axis_long_m == pytest.approx(2.0 * np.sqrt(values[:, 1]))
    direction = np.radians(shape.angle_deg)
    along = np.abs(np.cos(direction) * vectors[:, 0, 1] + np.sin(direction) * vectors[:, 1, 1])
    assert along == pytest.approx(np.ones(50))


@pytest.mark.parametrize(
    ("carry", "side", "covariance", "angle"),
    [(9.0, 4.0, 0.0, 0.0), (4.0, 9.0, 0.0, 90.0), (5.0, 5.0, 2.0, 45.0), (5.0, 5.0, -2.0, -45.0)],
)
def test_angle_is_positive_to_the_right(
    carry: float, side: float, covariance: float, angle: float
) -> None:
    shape = ellipse(*(np.array([x]) for x in (carry, side, covariance, 1.0)))
    assert shape.angle_deg[0] == pytest.approx(angle)


def test_area_is_pi_times_half_axes() -> None:
    shape = ellipse(*(np.array([x]) for x in (9.0, 4.0, 0.0, 1.5)))
    assert shape.area_m2[0] == pytest.approx(np.pi * 4.5 * 3.0)
