"""Score interval against published figures and its own definition."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.statistics.share_interval import share_interval
from scipy import stats


def one(hits: float, tries: float, z: float = 1.959964) -> tuple[float, float]:
    low, high = share_interval(np.array([hits]), np.array([tries]), z)
    return float(low[0]), float(high[0])


@pytest.mark.parametrize(
    ("hits", "tries", "low", "high"),
    # Newcombe 1998, Statistics in Medicine 17, 857-872, table I, method 3 (from memory).
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611),
     (1, 29, 0.0061, 0.1718)],
)  # fmt: skip
def test_published_95_per_cent_intervals(hits: int, tries: int, low: float, high: float) -> None:
    assert one(hits, tries) == pytest.approx((low, high), abs=5e-5)


def test_against_scipy() -> None:
    """scipy.stats.binomtest(7, 40).proportion_ci(0.9, method="wilson")."""
    expected = stats.binomtest(7, 40).proportion_ci(0.9, method="wilson")
    assert one(7, 40, 1.6448536) == pytest.approx((expected.low, expected.high), abs=1e-7)


def test_nothing_is_known_without_tries() -> None:
    assert one(0, 0) == (0.0, 1.0)
