"""Capture by the hole: limits and the closed form beside tables of tolerance."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.coaching.hole_capture import capture_half_width_m, start_line_tolerance_deg


def test_limits() -> None:
    """Rules of Golf: the hole is 4 1/4 in (108 mm) wide. Holmes 1991: 1.63 m/s (from memory)."""
    assert float(capture_half_width_m(0.0)) == pytest.approx(0.054, abs=5e-5)
    assert float(capture_half_width_m(1.63)) == 0.0
    assert float(capture_half_width_m(3.0)) == 0.0


def test_three_quarters_of_the_greatest_speed_halve_the_hole() -> None:
    """Penner 2002 (from memory): d = R sqrt(1 - v / 1.63), so a half at v = 0.75 x 1.63."""
    ratio = capture_half_width_m(0.75 * 1.63) / capture_half_width_m(0.0)
    assert float(ratio) == pytest.approx(0.5)


@pytest.mark.parametrize(("feet", "degrees"), [(3, 3.38), (5, 2.03), (10, 1.01), (20, 0.51)])
def test_tolerance_at_dead_weight(feet: int, degrees: float) -> None:
    """atan(54 mm / L), closed form."""
    found = float(start_line_tolerance_deg(feet * 0.3048, 0.0))
    assert found == pytest.approx(degrees, abs=0.006)


def test_scaling_lengths_and_hole_alike_leaves_the_angle() -> None:
    """At one pace the tolerance of far putts falls as 1 / length."""
    near, far = start_line_tolerance_deg(np.array([10.0, 20.0]), 0.5)
    assert near / far == pytest.approx(2.0, rel=1e-4)
