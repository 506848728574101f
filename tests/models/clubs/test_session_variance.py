"""Moments of sessions against certified and published one-way layouts."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.clubs.session_variance import (
    CellMoments,
    between_variance,
    cell_moments,
    degrees_of_freedom,
    long_run_mean,
    spread_freedom,
    within_variance,
)
from scipy import special

from tests.models import published_data as data


def layout(table: np.ndarray) -> tuple[CellMoments, np.ndarray]:
    """Return the moments of the rows of a table, one row a cell, all in one group."""
    rows, columns = table.shape
    cell = np.repeat(np.arange(rows), columns)
    moments = cell_moments(table.ravel(), np.ones(table.size), cell, table[:, 0].copy())
    return moments, np.zeros(rows, dtype=np.int64)


def variances(table: np.ndarray, floor: float = 0.0) -> tuple[float, float]:
    """Return the variance within and between rows, no default counting."""
    moments, group = layout(table)
    freedom = degrees_of_freedom(moments.weight).sum(keepdims=True)
    within = within_variance(moments.scatter.sum(keepdims=True), freedom, 0.0, 0.0)
    between = between_variance(
        moments.mean, moments.weight, group, within, np.zeros(1, dtype=np.int64),
        np.zeros(1), 0.0, floor,
    )  # fmt: skip
    return float(within[0]), float(between[0])


# NIST StRD, univariate summary statistics: certified mean and standard deviation (n - 1).
CERTIFIED = [
    (data.LEW, -177.435, 277.332168044316, 1e-12),
    (data.LOTTERY, 518.958715596330, 291.699727470969, 1e-12),
    (data.MAVRO, 2.001856, 4.29123454003053e-4, 1e-10),
    (data.MICHELSO, 299.8524, 0.0790105478190518, 1e-11),
    (np.array([10000001.0, 10000003.0, 10000002.0]), 10000002.0, 1.0, 1e-12),
    (np.array([1.2, *([1.1, 1.3] * 500)]), 1.2, 0.1, 1e-12),
    # The last two lose digits in the data themselves: 0.1 is not exact beside 1e6 and 1e7.
    (np.array([1000000.2, *([1000000.1, 1000000.3] * 500)]), 1000000.2, 0.1, 1e-9),
    (np.array([10000000.2, *([10000000.1, 10000000.3] * 500)]), 10000000.2, 0.1, 1e-8),
]


@pytest.mark.parametrize(("values", "mean", "deviation", "tolerance"), CERTIFIED)
def test_certified_mean_and_standard_deviation(
    values: np.ndarray, mean: float, deviation: float, tolerance: float
) -> None:
    moments, _ = layout(values[None, :])
    variance = within_variance(moments.scatter, degrees_of_freedom(moments.weight), 0.0, 0.0)
    assert moments.mean[0] == pytest.approx(mean, rel=1e-12)
    assert np.sqrt(variance[0]) == pytest.approx(deviation, rel=tolerance)


# NIST StRD, analysis of variance: certified mean squares between and within.
@pytest.mark.parametrize(
    ("table", "between_square", "within_square", "tolerance"),
    [
        (data.SI_RSTV, 1.27865654e-2, 1.08318280e-2, 1e-9),
        # Seven leading digits are constant, so about nine remain.
        (data.ATM_WT_AG, 3.63834187500000e-09, 2.28155932971014e-10, 1e-7),
    ],
)
def test_certified_analysis_of_variance(
    table: np.ndarray, between_square: float, within_square: float, tolerance: float
) -> None:
    within, between = variances(table)
    expected = (between_square - within_square) / table.shape[1]
    assert within == pytest.approx(within_square, rel=tolerance)
    assert between == pytest.approx(expected, rel=10 * tolerance)


def test_dyestuff_batches() -> None:
    """Davies & Goldsmith; restricted likelihood in the documentation of lme4: 1764.05, 49.51."""
    within, between = variances(data.DYESTUFF)
    assert between == pytest.approx(1764.05, rel=1e-12)
    assert np.sqrt(within) == pytest.approx(49.5100999797, rel=1e-11)


def test_dyestuff_long_run_mean() -> None:
    """Grand mean 1527.5; standard error 19.383 in the documentation of lme4 (from memory)."""
    moments, group = layout(data.DYESTUFF)
    within, between = variances(data.DYESTUFF)
    mean, variance, share = long_run_mean(
        moments.mean / 1e4, moments.weight, group,
        np.array([within / 1e8]), np.array([between / 1e8]),
    )  # fmt: skip
    assert mean[0] * 1e4 == pytest.approx(1527.5, rel=1e-12)
    assert np.sqrt(variance[0]) * 1e4 == pytest.approx(19.383, abs=5e-4)
    assert share == pytest.approx(np.full(6, 1 / 6))


def test_negative_moment_estimate_stops_at_the_floor() -> None:
    """Box & Tiao 1973: the restricted likelihood estimate between batches is 0."""
    assert variances(data.DYESTUFF_2)[1] == 0.0


def test_weights_count_as_repeated_shots() -> None:
    values, cell = np.array([1.0, 2.0, 4.0]), np.zeros(3, dtype=np.int64)
    weighted = cell_moments(values, np.array([1.0, 2.0, 1.0]), cell, np.zeros(1))
    repeated = cell_moments(
        np.array([1.0, 2.0, 2.0, 4.0]), np.ones(4), np.zeros(4, dtype=np.int64), np.zeros(1)
    )
    assert weighted.mean == pytest.approx(repeated.mean)
    assert weighted.scatter == pytest.approx(repeated.scatter)


def test_default_counts_as_so_many_shots() -> None:
    assert within_variance(np.array([10.0]), np.array([5.0]), 4.0, 5.0)[0] == 3.0


def test_a_spread_is_in_doubt_as_what_it_leans_on_is() -> None:
    """ln of a club's variance, drawn from its posterior given the pool's, and that from its own.

    Inverse chi-squared draws (numpy): four degrees of freedom of one club, the pool worth 14 to it,
    the default worth 7 to the pool, which rests on the same four.
    """
    rng = np.random.default_rng(6)
    pool = 11.0 / rng.chisquare(11.0, 400_000)
    club = (14.0 * pool + 4.0) / rng.chisquare(18.0, 400_000)
    alike = spread_freedom(np.array(4.0), np.array(4.0), 14.0, 7.0)
    # ln of a scaled inverse chi-squared of n degrees has variance trigamma(n / 2).
    assert special.polygamma(1, alike / 2.0) == pytest.approx(np.log(club).var(), rel=0.06)
    # A pool beyond doubt, and a club that leans on none.
    assert spread_freedom(np.array(4.0), np.array(1e9), 14.0, 7.0) == pytest.approx(18.0)
    assert spread_freedom(np.array(4.0), np.array(4.0), 0.0, 7.0) == pytest.approx(4.0)


def test_cell_without_weight_keeps_its_origin() -> None:
    moments = cell_moments(np.array([5.0]), np.zeros(1), np.zeros(1, np.int64), np.array([3.0]))
    assert (moments.mean[0], moments.scatter[0]) == (3.0, 0.0)


def test_unbalanced_between_variance_is_unbiased() -> None:
    """Truth 0.5 within 1.0, sessions of 1 to 8 shots, 4000 groups: se of the mean about 0.01."""
    rng = np.random.default_rng(5)
    sizes = np.tile([1, 2, 5, 8], 4000)
    group = np.repeat(np.arange(4000), 4)
    cell = np.repeat(np.arange(len(sizes)), sizes)
    values = (np.sqrt(0.5) * rng.standard_normal(len(sizes)))[cell] + rng.standard_normal(len(cell))
    moments = cell_moments(values, np.ones(len(cell)), cell, np.zeros(len(sizes)))
    between = between_variance(
        moments.mean, moments.weight, group, np.ones(4000), np.zeros(4000, np.int64),
        np.array([0.5]), 0.0,
    )  # fmt: skip
    assert between[0] == pytest.approx(0.5, abs=0.03)
