from __future__ import annotations

import numpy as np
from rangeledger.models.flight.usual_spin import usual_spin


def test_a_driver_and_a_short_iron_spin_as_they_do_on_the_range() -> None:
    # common practice, no source: 2,000 to 3,000 rpm, and 6,000 to 8,000 rpm
    driver, iron = usual_spin(np.array([11.0, 23.0]))
    assert 2000.0 < driver < 3000.0
    assert 6000.0 < iron < 8000.0


def test_spin_rises_with_launch_and_stays_within_what_balls_do() -> None:
    spin = usual_spin(np.linspace(-10.0, 60.0, 50))
    assert (np.diff(spin) >= 0.0).all()
    assert spin.min() == 1800.0
    assert spin.max() == 10000.0
    assert np.isnan(usual_spin(np.array([np.nan])))[0]
