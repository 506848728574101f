"""A level that units share: against published series and against dense normal algebra."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.statistics.shared_level import (
    Grid,
    level_rows,
    player_grid,
    shared_level,
)
from rangeledger.models.statistics.unit_visits import UnitVisits

from tests.models.published_data import DYESTUFF, NILE

TWO_PI = float(np.log(2.0 * np.pi))


def plain_grid(count: int, wander: float, drift: float) -> Grid:
    """Return one assumption: no path, all of the wander and of the day shared."""
    one = np.zeros((1, count))
    return Grid(
        np.zeros((1, count, count)), one, np.zeros(1), np.array([wander]), np.zeros(1),
        np.array([drift]), np.zeros(1), np.zeros((1, 1, 1)),
    )  # fmt: skip


def one_unit(values: np.ndarray, variance: float) -> UnitVisits:
    count = len(values)
    age = np.arange(count - 1, -1, -1, dtype=np.float64)
    return UnitVisits(
        np.zeros(count, dtype=np.int64), np.arange(count), values, np.full(count, variance),
        age, np.ones(count),
    )  # fmt: skip


# In thousands of 10^8 m3, so that the limit of ignorance lies far off.
NILE_VISITS = one_unit(NILE / 1000.0, 15099e-6)


def nile(noise: float = 1.0, growth: float = 1.0) -> float:
    """Diffuse log likelihood of the Nile with factors on the published variances."""
    visits = one_unit(NILE / 1000.0, 15099e-6 * noise)
    score = shared_level(visits, plain_grid(100, 1469.1e-6 * growth, 0.0)).log_likelihood
    return float(score[0, 0, 0]) - 99.0 * (0.5 * TWO_PI + np.log(1000.0))


def test_nile_likelihood() -> None:
    """Durbin & Koopman 2012, section 2.10: variances 15099 and 1469.1; diffuse -632.5456."""
    assert nile() == pytest.approx(-632.5456, abs=1e-4)


@pytest.mark.parametrize("factor", [0.8, 0.9, 1.1, 1.25])
def test_nile_published_variances_are_the_maximum(factor: float) -> None:
    assert nile(noise=factor) < nile()
    assert nile(growth=factor) < nile()


def test_nile_levels() -> None:
    """Durbin & Koopman 2012: level of 1970 798.37, variance 5501.3 - 1469.1; 1871 near 1111."""
    fit = shared_level(NILE_VISITS, plain_grid(100, 1469.1e-6, 0.0))
    assert 1000.0 * fit.level[0] == pytest.approx(798.37, abs=0.005)
    assert 1e6 * fit.covariance[0, 0] == pytest.approx(5501.3 - 1469.1, abs=0.1)
    rows = level_rows(fit)
    assert 1000.0 * rows.level[0] == pytest.approx(1111.0, abs=1.0)
    assert 1000.0 * rows.now[0] == pytest.approx(798.37, abs=0.005)
    assert rows.change[0] == pytest.approx(rows.now[0] - rows.level[0])


def dyestuff(between: float, within: float) -> float:
    """Restricted likelihood criterion of the Dyestuff layout: batches are days of one unit."""
    batches, samples = DYESTUFF.shape
    scatter = ((DYESTUFF - DYESTUFF.mean(axis=1, keepdims=True)) ** 2).sum()
    visits = one_unit(DYESTUFF.mean(axis=1) / 1e4, within / samples / 1e8)
    score = shared_level(visits, plain_grid(batches, 0.0, between / 1e8)).log_likelihood[0, 0, 0]
    means = score - (batches - 1) * (0.5 * TWO_PI + np.log(1e4))
    inside = batches * (samples - 1) * (TWO_PI + np.log(within)) + scatter / within
    return float(inside + batches * np.log(samples) - 2.0 * means)


def test_dyestuff_mixed_model() -> None:
    """lme4's saved output: batch 1764.05, residual 49.5101^2, REML criterion 319.6543."""
    best = dyestuff(1764.05, 49.5101**2)
    assert best == pytest.approx(319.6543, abs=1e-4)
    for factor in (0.9, 1.1):
        assert dyestuff(1764.05 * factor, 49.5101**2) > best
        assert dyestuff(1764.05, 49.5101**2 * factor) > best


@pytest.fixture(scope="module")
def few() -> UnitVisits:
    """Three units on six visits, some missing, of any means."""
    rng = np.random.default_rng(1)
    unit, visit = (index.ravel() for index in np.indices((3, 6)))
    kept = rng.random(18) < 0.8
    unit, visit = unit[kept], visit[kept]
    mean = 5.0 + 0.1 * unit + 0.02 * rng.standard_normal(len(unit))
    variance = rng.uniform(1e-4, 6e-4, len(unit))
    return UnitVisits(unit, visit, mean, variance, np.arange(5.0, -1.0, -1.0), np.ones(6))


class Dense:
    """One assumption by numpy.linalg on the joint covariance of all rows."""

    def __init__(self, data: UnitVisits, grid: Grid, place: tuple[int, int, int]) -> None:
        path, wander, drift = place
        walked = np.minimum.outer(data.age, data.age)
        same = data.unit[:, None] == data.unit
        at = np.ix_(data.visit, data.visit)
        shared = (grid.paths[path] + grid.wander[wander] * walked)[at]
        own = same * grid.own_wander[wander] * walked[at]
        day = grid.drift[drift] * (data.visit[:, None] == data.visit)
        total = shared + own + day + np.diag(grid.own_drift[drift] + data.variance)
        columns = (data.unit[:, None] == np.arange(data.units)).astype(np.float64)
        inverse = np.linalg.inv(total)
        information = columns.T @ inverse @ columns
        to_level = np.linalg.solve(information, columns.T @ inverse)
        rest = inverse - inverse @ columns @ to_level
        y, moved, noise = data.mean, shared + own, total - shared - own
        self.score = -0.5 * (
            np.linalg.slogdet(total)[1] + np.linalg.slogdet(information)[1] + y @ rest @ y
        )
        self.level, self.variance = y - noise @ rest @ y, np.diag(noise - noise @ rest @ noise)
        self.change = -moved @ rest @ y
        onward = grid.onward[path][data.visit]
        self.next = to_level @ y + onward @ rest @ y
        ahead = grid.onward_variance[path] - onward @ rest @ onward - np.add.outer(
            to_level @ onward, to_level @ onward
        )  # fmt: skip
        self.covariance = np.linalg.inv(information) + ahead


def test_every_assumption_is_the_conditional_normal(few: UnitVisits) -> None:
    grid = player_grid(few.age, 0.015, 0.8)
    fit = shared_level(few, grid)
    places = list(np.ndindex(fit.weight.shape))
    dense = [Dense(few, grid, place) for place in places]
    score = np.array([one.score for one in dense])
    assert np.ptp(score - fit.log_likelihood.ravel()) < 1e-8
    weight = np.exp(score + grid.log_prior.ravel())
    weight /= weight.sum()
    assert fit.weight.ravel() == pytest.approx(weight, abs=1e-9)
    mean = sum(w * one.next for w, one in zip(weight, dense, strict=True))
    covariance = sum(
        w * (one.covariance + np.outer(one.next - mean, one.next - mean))
        for w, one in zip(weight, dense, strict=True)
    )
    assert fit.level == pytest.approx(mean, abs=1e-10)
    assert fit.covariance == pytest.approx(covariance, abs=1e-12)
    rows = level_rows(fit)
    level = sum(w * one.level for w, one in zip(weight, dense, strict=True))
    spread = sum(
        w * (one.variance + (one.level - level) ** 2) for w, one in zip(weight, dense, strict=True)
    )
    change = sum(w * one.change for w, one in zip(weight, dense, strict=True))
    assert rows.level == pytest.approx(level, abs=1e-10)
    assert rows.variance == pytest.approx(spread, abs=1e-12)
    assert rows.change == pytest.approx(change, abs=1e-10)


def test_a_surprise_widens_the_interval_to_its_own_side() -> None:
    """Eleven sessions at 0 and one 5 % short: two and a half of its standard errors of 2 %."""
    short = np.zeros(12)
    short[-1] = -0.05
    ends = []
    for values in (np.zeros(12), short):
        visits = one_unit(values, 0.04**2 / 8)
        rows = level_rows(shared_level(visits, player_grid(visits.age, 0.015, 0.8)))
        ends.append((rows.now[-1] - rows.now_low[-1], rows.now_high[-1] - rows.now[-1]))
    (calm_down, calm_up), (down, up) = ends
    assert down + up > 1.5 * (calm_down + calm_up)
    assert calm_down == pytest.approx(calm_up, rel=0.01)
    assert down > 1.2 * up


def test_an_even_rise_is_carried_on() -> None:
    """Twelve sessions that rise by 1 % each and scatter by 0.5 %: the next is expected higher."""
    values = 0.01 * np.arange(12.0)
    visits = one_unit(values, 0.005**2)
    fit = shared_level(visits, player_grid(visits.age, 0.004, 0.8))
    assert fit.level[0] > level_rows(fit).now[0] + 0.005
    assert fit.level[0] == pytest.approx(0.12, abs=0.006)


def test_a_unit_of_which_nothing_is_known_has_a_finite_interval() -> None:
    """1.6449: 95 % point of the standard normal, handbook table; of a spread of 1 at most."""
    visits = one_unit(np.array([5.0, 5.1, 4.9]), 1e8)
    rows = level_rows(shared_level(visits, plain_grid(3, 1e-5, 1e-4)))
    for low, centre, high in (
        (rows.low, rows.level, rows.high),
        (rows.now_low, rows.now, rows.now_high),
    ):
        assert high - centre == pytest.approx(np.full(3, 1.6449), abs=1e-3)
        assert centre - low == pytest.approx(np.full(3, 1.6449), abs=1e-3)
