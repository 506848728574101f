"""Interpolation of strokes to hole out."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.strategy.practice_gain import _approach
from rangeledger.models.strategy.published_strokes import PUTTS, STROKES_BY_LIE
from rangeledger.models.strategy.strokes_to_hole_out import LIES, StrokesToHoleOut
from rangeledger.schemas.errors import UsageError

PUBLISHED = StrokesToHoleOut.published()
OWN = {
    "fairway": {0.0: 2.5, 100.0: 3.5},
    "rough": {0.0: 2.7, 100.0: 3.9},
    "sand": {0.0: 3.0, 100.0: 4.2},
    "green": {0.0: 1.0, 10.0: 2.0},
}


@pytest.mark.parametrize("lie", sorted(STROKES_BY_LIE))
def test_nodes_are_reproduced(lie: str) -> None:
    row = STROKES_BY_LIE[lie]
    found = PUBLISHED.strokes(np.array(list(row)) * 0.9144, lie)
    np.testing.assert_allclose(found, list(row.values()), atol=1e-12)


def test_putts_are_reproduced() -> None:
    found = PUBLISHED.strokes(np.array(list(PUTTS)) * 0.3048, "green")
    np.testing.assert_allclose(found, list(PUTTS.values()), atol=1e-12)


@pytest.mark.parametrize("lie", sorted(LIES))
def test_between_nodes_the_curve_goes_one_way(lie: str) -> None:
    curve = PUBLISHED.curves[lie]
    nodes, values = curve.distance_m, curve.strokes
    for low, high, first, last in zip(nodes, nodes[1:], values, values[1:], strict=False):
        inside = curve(np.linspace(low, high, 60))
        steps = np.diff(inside) * np.sign(last - first)
        assert np.all(steps >= -1e-12)
        assert min(first, last) - 1e-12 <= inside.min() <= inside.max() <= max(first, last) + 1e-12


def test_ends_are_carried_on_by_the_end_chords() -> None:
    own = StrokesToHoleOut.from_nodes(OWN, "invented")
    # Closed form: chord of 0.01 stroke a metre.
    assert float(own.strokes(150.0, "fairway")) == pytest.approx(4.0)
    assert float(own.strokes(0.0, "green")) == 1.0


def test_missing_tee_and_recovery_stand_in() -> None:
    own = StrokesToHoleOut.from_nodes(OWN, "invented")
    assert float(own.strokes(50.0, "tee")) == float(own.strokes(50.0, "fairway"))
    assert float(own.strokes(50.0, "recovery")) == float(own.strokes(50.0, "rough")) + 0.5


def test_shape_is_kept() -> None:
    assert PUBLISHED.strokes(np.ones((3, 2)), "sand").shape == (3, 2)


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"semi": {0.0: 2.0, 1.0: 2.0}}, "semi"),
        ({"sand": {50.0: 3.0}}, "at least two"),
        ({"sand": {50.0: 3.0, 60.0: float("nan")}}, "number"),
        ({"sand": {-5.0: 3.0, 60.0: 3.2}}, "start at 0"),
        ({"sand": {5.0: 0.3, 60.0: 3.2}}, "between 1 and 20"),
    ],
)
def test_bad_tables_are_refused(change: dict[str, dict[float, float]], word: str) -> None:
    with pytest.raises(UsageError, match=word):
        StrokesToHoleOut.from_nodes(OWN | change, "invented")


def test_a_missing_lie_is_named() -> None:
    with pytest.raises(UsageError, match="'green' is missing"):
        StrokesToHoleOut.from_nodes({k: v for k, v in OWN.items() if k != "green"}, "invented")


def test_an_unknown_lie_is_refused() -> None:
    with pytest.raises(UsageError, match="'hole'"):
        PUBLISHED.strokes(1.0, "hole")


def test_closer_leaves_fewer_strokes() -> None:
    # Common practice, no source: a pitch from 40 yd beats one from 120 yd from every lie here.
    for lie in ("fairway", "rough", "sand"):
        near, far = PUBLISHED.strokes(np.array([40.0, 120.0]) * 0.9144, lie)
        assert near < far


def test_what_is_worked_out_for_the_published_table_is_found_again() -> None:
    """Places of practice are kept by table: another one each time would make them anew."""
    _approach.cache_clear()
    for _ in range(2):
        _approach(StrokesToHoleOut.published())
    assert _approach.cache_info().hits == 1
