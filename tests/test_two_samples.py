"""The energy test."""

from __future__ import annotations

import numpy as np
import pytest

from tests.two_samples import energy_test


def test_statistic_of_two_points() -> None:
    # Closed form: X always 0, Y always 3: 2 * 3 - 0 - 0.
    found = energy_test(np.zeros((4, 1)), np.full((5, 1), 3.0), divisions=9)
    assert found.statistic == pytest.approx(6.0)


def test_statistic_of_a_shifted_normal() -> None:
    # Closed form for N(0, 1) and N(m, 1): 2 E|N(m, 2)| - 2 E|N(0, 2)|, with the folded normal
    # mean s sqrt(2/pi) exp(-m^2/2s^2) + m (1 - 2 Phi(-m/s)); m = 1: 2 (1.3992 - 1.1284) = 0.5417.
    random = np.random.default_rng(4)
    one, two = random.standard_normal((2, 3000, 1))
    found = energy_test(one, two + 1.0, divisions=1, most_points=3000)
    assert found.statistic == pytest.approx(0.5417, abs=0.05)


def test_equal_samples_are_let_pass_at_the_stated_rate() -> None:
    random = np.random.default_rng(8)
    draws = [random.standard_normal((2, 60, 2)) for _ in range(60)]
    low = [energy_test(one, two, divisions=39).p_value <= 0.05 for one, two in draws]
    # 60 tests at 5 %: more than 9 false alarms have a chance of about 0.1 % (binomial).
    assert sum(low) <= 9


@pytest.mark.parametrize("change", [(1.0, 0.0, 1.0), (0.0, 0.0, 2.0)])
def test_other_centre_or_spread_is_found(change: tuple[float, float, float]) -> None:
    random = np.random.default_rng(2)
    one, two = random.standard_normal((2, 200, 2))
    assert energy_test(one, two * change[2] + change[:2]).p_value <= 0.01
