"""A step of the level: the Nile of 1898, and least squares by other means."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.statistics.level_step import level_step

from tests.models.published_data import NILE
from tests.models.statistics.test_shared_level import one_unit, plain_grid


def test_the_nile_fell_after_1898() -> None:
    """Cobb 1978, Biometrika 65: the flow changed after 1898, from 1097.75 to 849.97 on average.

    The year is published; the two means are those of the 28 years before and the 72 after.
    """
    visits = one_unit(NILE / 1000.0, 0.016)
    grid = plain_grid(100, 0.0, 0.0)
    steps = {years: level_step(visits, np.arange(100) >= years, grid) for years in range(5, 96)}
    first = min(steps, key=lambda years: steps[years].probability)
    assert 1871 + first - 1 == 1898
    assert 1000.0 * steps[first].mean == pytest.approx(849.97 - 1097.75, abs=0.01)
    known = 0.016 * (1.0 / 28.0 + 1.0 / 72.0)
    assert steps[first].standard_error == pytest.approx(known**0.5)


def test_a_step_nobody_was_measured_across_is_unknown() -> None:
    """One unit before, another after."""
    visits = one_unit(np.zeros(4), 0.01)
    apart = visits.__class__(
        np.array([0, 0, 1, 1]), visits.visit, visits.mean, visits.variance, visits.age, visits.days
    )
    assert level_step(apart, np.arange(4) >= 2, plain_grid(4, 0.0, 0.01)) is None
