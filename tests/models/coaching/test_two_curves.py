"""One curve or two: rates on samples of known make."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.coaching.two_curves import two_curves


@pytest.mark.parametrize("law", ["normal", "t", "laplace", "skewed"])
@pytest.mark.parametrize("shots", [12, 60, pytest.param(300, marks=pytest.mark.long)])
def test_one_curve_is_not_taken_for_two(law: str, shots: int) -> None:
    """100 samples; 5 % and three errors of a binomial share."""
    rng = np.random.default_rng(7)
    draw = {
        "normal": lambda: rng.standard_normal(shots), "t": lambda: rng.standard_t(4.0, shots),
        "laplace": lambda: rng.laplace(size=shots), "skewed": lambda: rng.gamma(4.0, 1.0, shots),
    }[law]  # fmt: skip
    assert np.mean([two_curves(draw()) for _ in range(100)]) <= 0.05 + 0.065


@pytest.mark.parametrize(("shots", "power"), [(60, 0.8), (100, 0.95)])
def test_two_curves_apart_are_found(shots: int, power: float) -> None:
    """Half fade by 4 and half draw by 4 deg, each with 2 deg of scatter."""
    rng = np.random.default_rng(8)
    found = [
        two_curves(rng.choice([-4.0, 4.0], shots) + 2.0 * rng.standard_normal(shots))
        for _ in range(60)
    ]
    assert np.mean(found) >= power


def test_few_or_equal_shots_have_one() -> None:
    assert not two_curves(np.array([-5.0, -5.1, 5.0, 5.1]))
    assert not two_curves(np.zeros(50))
