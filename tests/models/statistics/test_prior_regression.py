"""Regression against certified values, and with a prior against conditional normals."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.statistics.prior_regression import regress

from tests.models import published_data as data

X20 = np.arange(21.0)


def powers(x: np.ndarray, degree: int) -> np.ndarray:
    return np.vander(x, degree + 1, increasing=True)


def test_norris() -> None:
    """NIST StRD Norris, certified."""
    fit = regress(powers(data.NORRIS[:, 1], 1), data.NORRIS[:, 0])
    errors = np.sqrt(np.diag(fit.covariance))
    assert fit.slope == pytest.approx([-0.262323073774029, 1.00211681802045], rel=1e-11)
    assert errors == pytest.approx([0.232818234301152, 0.429796848199937e-3], rel=1e-11)
    assert fit.residual_sd == pytest.approx(0.884796396144373, rel=1e-12)


def test_longley() -> None:
    """NIST StRD Longley, certified; nearly collinear columns."""
    columns = np.column_stack([np.ones(16), data.LONGLEY[:, 1:]])
    fit = regress(columns, data.LONGLEY[:, 0])
    certified = [
        -3482258.63459582, 15.0618722713733, -0.358191792925910e-1, -2.02022980381683,
        -1.03322686717359, -0.511041056535807e-1, 1829.15146461355,
    ]  # fmt: skip
    assert fit.slope == pytest.approx(certified, rel=1e-9)
    assert fit.residual_sd == pytest.approx(304.854073561965, rel=1e-10)


def test_filip() -> None:
    """NIST StRD Filip, certified; a polynomial of degree 10. Doubles keep 7 to 8 digits."""
    fit = regress(powers(data.FILIP[:, 1], 10), data.FILIP[:, 0])
    certified = [
        -1467.48961422980, -2772.17959193342, -2316.37108160893, -1127.97394098372,
        -354.478233703349, -75.1242017393757, -10.8753180355343, -1.06221498588947,
        -0.670191154593408e-1, -0.246781078275479e-2, -0.402962525080404e-4,
    ]  # fmt: skip
    assert fit.slope == pytest.approx(certified, rel=1e-7)
    assert fit.residual_sd == pytest.approx(0.334801051324544e-2, rel=5e-8)


@pytest.mark.parametrize("base", [1.0, 0.1])
def test_wampler_1_and_2(base: float) -> None:
    """NIST StRD Wampler1 and Wampler2, certified: exact by construction."""
    coefficients = base ** np.arange(6)
    fit = regress(powers(X20, 5), powers(X20, 5) @ coefficients)
    assert fit.slope == pytest.approx(coefficients, rel=1e-8)


def test_wampler_3() -> None:
    """NIST StRD Wampler3, certified (from memory): all coefficients 1, large noise."""
    fit = regress(powers(X20, 5), powers(X20, 5).sum(axis=1) + data.WAMPLER_DELTA)
    errors = [2152.32624678170, 2363.55173469681, 779.343524331583, 101.475507550350,
              5.64566512170752, 0.112324854679312]  # fmt: skip
    assert fit.slope == pytest.approx(np.ones(6), rel=1e-7)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(errors, rel=1e-9)
    assert fit.residual_sd == pytest.approx(2360.14502379268, rel=1e-12)


def test_prior_is_the_conditional_normal() -> None:
    """Posterior of a normal prior and normal noise, from precision matrices."""
    rng = np.random.default_rng(1)
    x, y = rng.standard_normal((30, 3)), rng.standard_normal(30)
    prior, sd = np.array([1.0, -1.0, 0.0]), np.array([0.5, 1.0, 2.0])
    fit = regress(x, y, prior, sd, noise_sd=0.7)
    precision = x.T @ x / 0.49 + np.diag(1.0 / sd**2)
    assert fit.covariance == pytest.approx(np.linalg.inv(precision))
    assert fit.slope == pytest.approx(np.linalg.solve(precision, x.T @ y / 0.49 + prior / sd**2))


def test_without_rows_the_prior_stays() -> None:
    fit = regress(np.empty((0, 2)), np.empty(0), np.array([1.0, 2.0]), np.array([0.1, 0.2]))
    assert fit.slope == pytest.approx([1.0, 2.0])
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx([0.1, 0.2])
