"""The pattern of the next shot against closed forms."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import polars as pl
import pytest
from rangeledger.models.clubs.shot_distribution import carry_below
from rangeledger.models.clubs.shot_pattern import ShotPattern, pattern_of
from rangeledger.schemas.errors import UsageError
from scipy import stats

ROUND = ShotPattern("8-iron", "full", "premium", 130.0, 2.0, 5.0, 5.0)
LONG = ShotPattern("8-iron", "full", "premium", 130.0, 2.0, 8.0, 3.0, correlation=0.4)
REAL = ShotPattern(
    "7-iron", "full", "premium", 140.0, 1.0, 6.0, 7.0, 0.2, 1.5, 1.0, 12.0, 0.08, 25.0, 0.05, 12.0
)


def share(pattern: ShotPattern, inside) -> float:
    points, weights = pattern.points()
    return float(weights[inside(points)].sum())


@pytest.mark.parametrize("radius", [2.0, 5.0, 9.0])
@pytest.mark.parametrize("miss", [(0.0, 0.0), (3.0, -2.0), (8.0, 4.0)])
def test_share_inside_a_circle(radius: float, miss: tuple[float, float]) -> None:
    # Closed form: the squared distance over the variance is a noncentral chi-squared, 2 degrees.
    def inside(points):
        return np.hypot(points[:, 0] - 130.0 - miss[0], points[:, 1] - 2.0 - miss[1]) <= radius

    exact = stats.ncx2.cdf((radius / 5.0) ** 2, 2, max(np.hypot(*miss) / 5.0, 1e-9) ** 2)
    assert share(ROUND, inside) == pytest.approx(exact, abs=0.004)


@pytest.mark.parametrize(
    # sqrt(-2 ln(1 - p)): radius in standard deviations that holds p of a bivariate normal.
    ("p", "radius"),
    [(0.5, 1.17741), (0.8, 1.79412), (0.9, 2.14597), (0.95, 2.44775)],
)
def test_share_inside_an_ellipse(p: float, radius: float) -> None:
    covariance = np.array([[64.0, 0.4 * 24.0], [0.4 * 24.0, 9.0]])
    inverse = np.linalg.inv(covariance)

    def inside(points):
        off = points - (130.0, 2.0)
        return np.einsum("ij,jk,ik->i", off, inverse, off) <= radius**2

    assert share(LONG, inside) == pytest.approx(p, abs=0.002)


@pytest.mark.parametrize("p", [0.5, 0.9])
def test_few_degrees_of_freedom_widen_the_ellipse(p: float) -> None:
    # Hotelling: the squared distance of a bivariate t over 2 follows F(2, nu).
    pattern = replace(ROUND, degrees_of_freedom=6.0)
    radius = 5.0 * np.sqrt(2.0 * stats.f.ppf(p, 2, 6.0))

    def inside(points):
        return np.hypot(points[:, 0] - 130.0, points[:, 1] - 2.0) <= radius

    assert share(pattern, inside) == pytest.approx(p, abs=0.004)


def test_points_and_draws_agree() -> None:
    points, weights = REAL.points(4000)
    drawn, mishit = REAL.draw(200_000, np.random.default_rng(5))
    assert weights.sum() == pytest.approx(1.0)
    # Three standard errors of a share of 200,000 draws are 0.0034; the lattice adds 0.002.
    assert mishit.mean() == pytest.approx(0.08, abs=0.002)
    for limit in (100.0, 125.0, 140.0, 150.0):
        grid = float(weights[points[:, 0] < limit].sum())
        assert grid == pytest.approx(float((drawn[:, 0] < limit).mean()), abs=0.006)
    for limit in (-15.0, -3.0, 4.0, 20.0):
        grid = float(weights[points[:, 1] < limit].sum())
        assert grid == pytest.approx(float((drawn[:, 1] < limit).mean()), abs=0.006)


def test_plausible_patterns_average_to_the_predictive_one() -> None:
    drawn, weights = REAL.plausible_points(400, 200, np.random.default_rng(2))
    np.testing.assert_allclose(weights.sum(axis=1), 1.0)
    # The rates of mishits come from a beta distribution about the fitted one.
    assert weights[:, 160:].sum(axis=1).mean() == pytest.approx(REAL.mishit_rate, abs=0.01)
    carries = drawn[:, :160, 0].ravel()
    clean = replace(REAL, mishit_rate=0.0).points(4000)[0][:, 0]
    # Quantiles of the mixture over models and of the predictive t must be the same.
    for p in (0.1, 0.5, 0.9):
        assert np.quantile(carries, p) == pytest.approx(np.quantile(clean, p), abs=0.4)


def test_same_points_at_each_call() -> None:
    np.testing.assert_array_equal(REAL.points()[0], REAL.points()[0])


def test_name_leaves_out_a_full_swing() -> None:
    assert REAL.name == "7-iron"
    assert replace(REAL, club="sand-wedge", swing="9:00").name == "sand-wedge 9:00"


@pytest.mark.parametrize(
    "change",
    [
        {"carry_m": 0.0},
        {"side_sd_m": 0.0},
        {"correlation": 1.0},
        {"mishit_rate": 1.0},
        {"degrees_of_freedom": 2.0},
        {"carry_sd_m": float("nan")},
    ],
)
def test_impossible_patterns_are_refused(change: dict[str, float]) -> None:
    with pytest.raises(UsageError, match="incomplete or impossible"):
        replace(REAL, **change)


def fitted_row(**change: object) -> dict[str, object]:
    return {
        "club": "7-iron", "swing": "full", "ball": "premium", "shots": 40,
        "carry_m": 140.0, "side_m": 1.0, "carry_se_m": 1.5, "side_se_m": 1.2,
        "within_carry_sd_m": 5.0, "within_side_sd_m": 7.0, "within_correlation": 0.3,
        "between_carry_sd_m": 2.0, "between_side_sd_m": 1.5, "degrees_of_freedom": 45.0,
        "mishit_rate": 0.08, "mishit_shortfall_m": 25.0, "mishit_long_share": 0.05,
        "mishit_side_scale_m": 10.0, "side_known": True,
    } | change  # fmt: skip


@pytest.mark.parametrize("carry_m", [95.0, 125.0, 140.0, 148.0, 165.0])
def test_a_fitted_row_keeps_its_distribution(carry_m: float) -> None:
    # The distribution function of the fitted model, a separate piece of code, is the expected
    # value; an integral over the same mixture by other means.
    frame = pl.DataFrame([fitted_row()])
    expected = float(carry_below(frame, np.array([carry_m]))[0])
    points, weights = pattern_of(fitted_row()).points(4000)
    assert float(weights[points[:, 0] <= carry_m].sum()) == pytest.approx(expected, abs=0.004)


def test_a_club_that_never_had_a_side_gets_a_usual_spread_and_no_lean() -> None:
    pattern = pattern_of(fitted_row(side_known=False, side_m=float("nan")))
    assert pattern.side_m == 0.0
    assert pattern.side_sd_m == pytest.approx(0.0525 * 140.0)  # regression


def test_spreads_within_and_between_sessions_add_in_squares() -> None:
    pattern = pattern_of(fitted_row())
    assert pattern.carry_sd_m == pytest.approx(np.sqrt(29.0))
    assert pattern.correlation == pytest.approx(0.3 * 35.0 / np.sqrt(29.0 * 51.25))
