"""Robust centres against a published example, tables of constants and brute force."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.clubs.robust_location import (
    HUBER_K,
    MAD_TO_SD,
    group_mad,
    group_median,
    huber_mean,
)
from scipy import integrate, stats

# 24 determinations of copper in flour, Analytical Methods Committee 1989.
COPPER = np.array([
    2.9, 3.1, 3.4, 3.4, 3.7, 3.7, 2.8, 2.5, 2.4, 2.4, 2.7, 2.2, 5.28, 3.37, 3.03, 3.03, 28.95,
    3.77, 3.4, 2.2, 3.5, 3.6, 3.7, 3.7,
])  # fmt: skip
ONE = np.zeros(24, dtype=np.int64)


def test_copper_in_flour() -> None:
    """Venables & Ripley, Modern Applied Statistics with S: MAD 0.52632, Huber (k = 1.5) 3.20672
    (from memory); the plain mean is 4.2804."""
    scale = group_mad(COPPER, ONE, 1)
    assert scale[0] == pytest.approx(0.52632, abs=1e-5)
    assert huber_mean(COPPER, ONE, 1, scale, k=1.5)[0] == pytest.approx(3.20672, abs=1e-5)


def test_mad_constant() -> None:
    """1 / Phi^-1(3/4) = 1.482602, any textbook."""
    assert MAD_TO_SD == pytest.approx(1.482602218505602, rel=1e-12)


def test_huber_constant_is_95_per_cent_efficient() -> None:
    """Huber 1964: k = 1.345; efficiency = P(|Z| < k)^2 / E psi^2."""
    inside = stats.norm.cdf(HUBER_K) - stats.norm.cdf(-HUBER_K)
    square = integrate.quad(lambda z: z**2 * stats.norm.pdf(z), -HUBER_K, HUBER_K)[0]
    assert inside**2 / (square + HUBER_K**2 * (1.0 - inside)) == pytest.approx(0.95, abs=1e-4)


def test_groups_are_as_if_alone() -> None:
    """numpy.median of each group."""
    rng = np.random.default_rng(1)
    index = rng.integers(0, 7, 60)
    index[index == 3] = 4
    values = rng.standard_normal(60)
    medians = group_median(values, index, 7)
    assert np.isnan(medians[3])
    for group in set(range(7)) - {3}:
        chosen = values[index == group]
        assert medians[group] == np.median(chosen)
        deviations = np.abs(chosen - np.median(chosen))
        assert group_mad(values, index, 7)[group] == pytest.approx(
            1.4826022 * np.median(deviations)
        )


def test_huber_mean_solves_its_equation() -> None:
    values = np.random.default_rng(2).standard_t(2.0, 80)
    centre = huber_mean(values, np.zeros(80, dtype=np.int64), 1, np.ones(1))
    assert np.clip(values - centre[0], -HUBER_K, HUBER_K).sum() == pytest.approx(0.0, abs=1e-6)


def test_without_spread_or_wild_values_it_is_the_plain_answer() -> None:
    index = np.zeros(3, dtype=np.int64)
    same = huber_mean(np.array([2.0, 2.0, 9.0]), index, 1, np.zeros(1))
    plain = huber_mean(np.array([1.0, 2.0, 4.0]), index, 1, np.full(1, 10.0))
    assert same[0] == 2.0
    assert plain[0] == pytest.approx(7.0 / 3.0)
