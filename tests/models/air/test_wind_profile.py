"""Wind with height against published tables, and the bookkeeping of directions."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.air.wind_profile import (
    UNIFORM,
    at_player_height,
    head_and_cross,
    log_law,
    power_law,
    speed_and_from,
    wind_factor,
)

HEIGHTS = np.array([1.0, 2.0, 3.0, 5.0, 10.0, 20.0, 30.0, 40.0])


@pytest.mark.parametrize(
    ("profile", "expected"),
    [
        # The laws' own values at 10 m reference, computed independently to three decimals.
        (power_law(), [0.720, 0.795, 0.842, 0.906, 1.0, 1.104, 1.170, 1.219]),
        (power_law(exponent=0.2), [0.631, 0.725, 0.786, 0.871, 1.0, 1.149, 1.246, 1.320]),
        (log_law(), [0.604, 0.723, 0.793, 0.881, 1.0, 1.119, 1.189, 1.239]),
        (log_law(roughness_m=0.0024), [0.724, 0.807, 0.856, 0.917, 1.0, 1.083, 1.132, 1.166]),
    ],
)
def test_factors(profile, expected) -> None:
    np.testing.assert_allclose(wind_factor(HEIGHTS, profile), expected, atol=6e-4)


def test_uniform_and_reference_heights() -> None:
    np.testing.assert_array_equal(wind_factor(HEIGHTS, UNIFORM), 1.0)
    assert wind_factor(2.0, at_player_height()) == pytest.approx(1.0)
    # From the table above: 1.132 / 0.807 between 30 m and 2 m over mown grass.
    assert wind_factor(30.0, at_player_height()) == pytest.approx(1.132 / 0.807, abs=2e-3)


def test_near_the_ground_the_factor_is_held() -> None:
    for profile in (power_law(), log_law(), at_player_height()):
        assert wind_factor(-3.0, profile) == wind_factor(0.1, profile) >= 0.0


def test_directions() -> None:
    # 0 in the face, 90 from the right (pushes left), 180 helping, 270 from the left.
    head, cross = head_and_cross(5.0, np.array([0.0, 90.0, 180.0, 270.0]))
    np.testing.assert_allclose(head, [5.0, 0.0, -5.0, 0.0], atol=1e-12)
    np.testing.assert_allclose(cross, [0.0, -5.0, 0.0, 5.0], atol=1e-12)


def test_components_and_back() -> None:
    speed = np.array([3.0, 7.5, 1.0, 0.0])
    origin = np.array([10.0, 200.0, 359.0, 0.0])
    again = speed_and_from(*head_and_cross(speed, origin))
    np.testing.assert_allclose(again[0], speed, atol=1e-12)
    np.testing.assert_allclose(again[1], origin, atol=1e-9)
