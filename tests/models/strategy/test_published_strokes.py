"""The published nodes that were read in print."""

from __future__ import annotations

import pytest
from rangeledger.models.strategy.published_strokes import PUTTS, STROKES_BY_LIE


@pytest.mark.parametrize(
    ("lie", "distance_yd", "strokes"),
    [
        # Broadie 2012, quoted in a coaching article.
        ("tee", 400, 3.99),
        ("fairway", 160, 2.98),
        ("rough", 80, 2.96),
        ("rough", 180, 3.31),
    ],
)
def test_values_read_in_print(lie: str, distance_yd: float, strokes: float) -> None:
    assert STROKES_BY_LIE[lie][distance_yd] == strokes


@pytest.mark.parametrize(
    # Mean putts from 8, 20 and 40 ft, articles quoting Broadie 2014.
    ("feet", "putts"),
    [(8, 1.50), (20, 1.87), (40, 2.06)],
)
def test_putts_read_in_print(feet: float, putts: float) -> None:
    assert PUTTS[feet] == putts
