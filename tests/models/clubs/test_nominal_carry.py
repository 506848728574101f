"""Nominal lofts and carries: words that say their loft, swings on the clock, balls."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from rangeledger.models.clubs.nominal_carry import nominal_carry, nominal_loft_deg, swing_fraction


@pytest.mark.parametrize(
    ("club", "loft"), [("driver", 10.5), ("7-iron", 32.5), ("56-wedge", 56.0), ("46-wedge", 46.0)]
)
def test_lofts(club: str, loft: float) -> None:
    """Common practice, no source; a wedge named by its loft says it itself."""
    assert nominal_loft_deg(club) == loft


def test_a_word_without_loft() -> None:
    assert np.isnan(nominal_loft_deg("old faithful"))


@pytest.mark.parametrize(
    ("swing", "share"), [("full", 1.0), ("9:00", 0.62), ("10:30", 0.81), ("9:45", 0.715)]
)
def test_swings_on_the_clock(swing: str, share: float) -> None:
    """Common practice, no source; between them by time."""
    assert swing_fraction(swing) == pytest.approx(share)


def test_more_loft_and_less_swing_carry_less() -> None:
    clubs = ["driver", "5-wood", "5-iron", "7-iron", "pitching-wedge", "lob-wedge"]
    table = pl.DataFrame({"club": clubs, "swing": "full", "ball": "premium"})
    assert (np.diff(nominal_carry(table).log_carry) < 0.0).all()
    swings = pl.DataFrame({"club": "56-wedge", "swing": ["full", "10:30", "9:00", "7:30"],
                           "ball": "premium"})  # fmt: skip
    assert (np.diff(nominal_carry(swings).log_swing) < 0.0).all()


def test_reference_player_in_yards() -> None:
    """The comment beside the constants: 212, 149 and 87 yd. Regression."""
    clubs = ["driver", "7-iron", "sand-wedge"]
    table = pl.DataFrame({"club": clubs, "swing": "full", "ball": "premium"})
    yards = np.exp(nominal_carry(table).log_carry) / 0.9144
    assert yards == pytest.approx([212.0, 149.0, 87.0], abs=1.0)


def test_unknown_words_have_wide_freedom() -> None:
    table = pl.DataFrame({"club": ["driver"] * 3, "swing": ["full", "9:00", "smooth"],
                          "ball": ["premium", "unknown", "limited-flight"]})  # fmt: skip
    nominal = nominal_carry(table)
    assert (np.diff(nominal.swing_freedom) > 0.0).all()
    assert (np.diff(nominal.ball_freedom) > 0.0).all()
