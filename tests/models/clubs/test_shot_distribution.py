"""The next shot's distribution against closed forms, tables and its own draws."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from rangeledger.models.clubs.shot_distribution import (
    carry_below,
    carry_quantile,
    draw_next_shots,
    region_radius,
    session_quantile,
    squared_distance,
)
from scipy import stats


def one_club(**changes: float | bool) -> pl.DataFrame:
    """Return the parameters of a 150 m club, with some changed."""
    row = {
        "player": "a", "club": "7-iron", "swing": "full", "ball": "premium", "shots": 40,
        "sessions": 4, "carry_m": 150.0, "side_m": 2.0, "carry_se_m": 1.0, "side_se_m": 1.5,
        "within_carry_sd_m": 5.0, "within_side_sd_m": 7.0, "within_correlation": 0.3,
        "between_carry_sd_m": 2.0, "between_side_sd_m": 1.0, "degrees_of_freedom": 40.0,
        "mishit_rate": 0.1, "mishit_shortfall_m": 25.0, "mishit_long_share": 0.05,
        "mishit_side_scale_m": 10.0, "side_known": True, "model_version": "test",
    }  # fmt: skip
    return pl.DataFrame([row | changes])


NORMAL = {"mishit_rate": 0.0, "degrees_of_freedom": 1e9}


@pytest.mark.parametrize(
    ("level", "radius"),
    # sqrt of chi-square with 2 degrees of freedom, any table: 1.386, 2.773, 3.219, 4.605,
    # 5.991, 9.210.
    [(0.5, 1.17741), (0.75, 1.66511), (0.8, 1.79412), (0.9, 2.14597), (0.95, 2.44775),
     (0.99, 3.03485)],
)  # fmt: skip
def test_radius_of_a_normal(level: float, radius: float) -> None:
    assert region_radius(one_club(**NORMAL), level)[0] == pytest.approx(radius, abs=1e-5)


@pytest.mark.parametrize(
    ("freedom", "level", "critical"),
    # F tables with (2, df) degrees of freedom: 5 % points 4.10 (10) and 3.49 (20), 1 % 5.85 (20).
    [(10.0, 0.95, 4.10), (20.0, 0.95, 3.49), (20.0, 0.99, 5.85)],
)
def test_radius_of_a_bivariate_t(freedom: float, level: float, critical: float) -> None:
    parameters = one_club(mishit_rate=0.0, degrees_of_freedom=freedom)
    assert region_radius(parameters, level)[0] ** 2 / 2.0 == pytest.approx(critical, abs=0.006)


def test_carry_quantile_of_a_normal() -> None:
    """10 % point of a normal: -1.28155 standard deviations; the variance is 25 + 4 + 1."""
    low = carry_quantile(one_club(**NORMAL), 0.1)[0]
    assert low == pytest.approx(150.0 - 1.28155 * np.sqrt(30.0), abs=1e-3)


def test_session_quantile_leaves_out_the_spread_within() -> None:
    high = session_quantile(one_club(), 0.9)[0]
    assert high == pytest.approx(150.0 + 1.28155 * np.sqrt(5.0), abs=1e-3)


def test_quantile_inverts_the_distribution() -> None:
    for probability in (0.02, 0.1, 0.5, 0.9, 0.98):
        carry = carry_quantile(one_club(), probability)
        assert carry_below(one_club(), carry)[0] == pytest.approx(probability, abs=1e-9)


def test_draws_follow_the_distribution() -> None:
    shots = draw_next_shots(one_club(), 100_000, random_state=11)
    carry = shots["carry_m"].to_numpy()
    for probability in (0.05, 0.1, 0.5, 0.9):
        below = (carry <= carry_quantile(one_club(), probability)[0]).mean()
        # Three standard errors of a share of 100,000.
        assert below == pytest.approx(probability, abs=0.005)
    assert (shots["strike"] == "mishit").mean() == pytest.approx(0.1, abs=0.003)


def test_region_holds_its_share_of_draws() -> None:
    shots = draw_next_shots(one_club(), 100_000, random_state=12)
    wide = one_club()[np.zeros(shots.height, dtype=int)]
    distance = squared_distance(wide, shots["carry_m"].to_numpy(), shots["side_m"].to_numpy())
    for level in (0.5, 0.8, 0.9):
        inside = (distance <= region_radius(one_club(), level)[0] ** 2).mean()
        # Mishits are treated as uncorrelated with direction: up to half a point.
        assert inside == pytest.approx(level, abs=0.008)


def test_draws_have_the_stated_covariance() -> None:
    shots = draw_next_shots(one_club(**NORMAL), 100_000, random_state=13)
    covariance = np.cov(shots["carry_m"].to_numpy(), shots["side_m"].to_numpy())
    expected = [[30.0, 0.3 * 35.0], [0.3 * 35.0, 49.0 + 1.0 + 2.25]]
    assert covariance == pytest.approx(np.array(expected), abs=0.7)


def test_clean_draws_are_a_bivariate_t() -> None:
    shots = draw_next_shots(
        one_club(mishit_rate=0.0, degrees_of_freedom=8.0), 20_000, random_state=14
    )
    standard = (shots["carry_m"].to_numpy() - 150.0) / np.sqrt(30.0)
    assert stats.kstest(standard, "t", args=(8.0,)).pvalue > 0.001


def test_same_seed_same_shots_and_unknown_side_stays_unknown() -> None:
    blind = one_club(side_known=False)
    first, second = (draw_next_shots(blind, 5, random_state=1) for _ in range(2))
    assert first.equals(second)
    assert first["side_m"].null_count() == 5
    assert first["draw"].to_list() == [1, 2, 3, 4, 5]
