"""The pattern of a player's next shot: where it may come down, and how surely we know.

One group of the fitted shot distribution (`shot_distribution`) made ready for planning:
clean strikes are a bivariate t about a centre; mishits fall short of it (rarely long) by a loss of
their own law (`mishit_loss`) and scatter more widely across. The same pattern is given as weighted
points, the same at each call, and as random draws.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt
from rangeledger.models.arrays import FloatArray
from rangeledger.models.clubs.mishit_loss import draw_losses, loss_quantile
from rangeledger.models.population import POPULATION
from rangeledger.schemas.errors import UsageError
from scipy import special

GOLDEN = (np.sqrt(5.0) - 1.0) / 2.0
MISHIT_SIDE_DF = 3.0
# Share of a pattern's points that stand for mishits, and of those for long ones, whatever their
# weights.
_MISHIT_POINTS = 0.2
_LONG_POINTS = 0.25


@dataclass(frozen=True, slots=True)
class ShotPattern:
    """Pattern of the next shot with one club and swing.

    Parameters
    ----------
    club, swing, ball : str
        Canonical words.
    carry_m, side_m : float
        Centre of clean strikes, along and across the target line [m].
    carry_sd_m, side_sd_m : float
        Scale of clean strikes about the centre, session to session and shot to shot [m], > 0.
    correlation : float
        Correlation of carry and side of clean strikes [1], between -1 and 1.
    carry_se_m, side_se_m : float
        Standard error of the centre [m], >= 0.
    degrees_of_freedom : float
        What the spread is worth in degrees of freedom [1], > 2; infinite where it is known.
    mishit_rate : float
        Share of mishits [1], from 0 to below 1.
    mishit_shortfall_m : float
        Mean loss of carry of a mishit [m], > 0.
    mishit_long_share : float
        Share of mishits that fly too far instead [1], from 0 to 1.
    mishit_side_scale_m : float
        Scale of a mishit's side about the centre, a t of three degrees [m], > 0.
    worth_shots : float
        Number of shots that the mishit rate is worth [1], > 0.
    """

    club: str
    swing: str
    ball: str
    carry_m: float
    side_m: float
    carry_sd_m: float
    side_sd_m: float
    correlation: float = 0.0
    carry_se_m: float = 0.0
    side_se_m: float = 0.0
    degrees_of_freedom: float = np.inf
    mishit_rate: float = 0.0
    mishit_shortfall_m: float = 1.0
    mishit_long_share: float = 0.0
    mishit_side_scale_m: float = 1.0
    worth_shots: float = 25.0

    def __post_init__(self) -> None:
        _check(self)

    @property
    def name(self) -> str:
        """Club and swing in words, the swing only where it is not a full one."""
        return self.club if self.swing == "full" else f"{self.club} {self.swing}"

    def points(self, count: int = 3000) -> tuple[FloatArray, FloatArray]:
        """Weighted points that stand for the whole predictive pattern.

        Parameters
        ----------
        count : int
            About how many points [1], >= 50.

        Returns
        -------
        points : ndarray, shape (n, 2)
            Carry and side [m].
        weights : ndarray, shape (n,)
            Weights that add to one [1].

        Notes
        -----
        A Fibonacci lattice of quantiles is sent through the inverse distribution functions, so
        the points are spread evenly in probability and the same at each call. The uncertainty
        of the centre and of the spread is inside the points.
        """
        mishits = int(count * _MISHIT_POINTS) if self.mishit_rate > 0.0 else 0
        clean = _clean_points(self, count - mishits)
        parts = [(clean, 1.0 - self.mishit_rate)]
        if mishits:
            far = int(mishits * _LONG_POINTS) if self.mishit_long_share > 0.0 else 0
            short = _mishit_points(self, mishits - far, -1.0)
            parts.append((short, self.mishit_rate * (1.0 - self.mishit_long_share)))
            if far:
                long = _mishit_points(self, far, 1.0)
                parts.append((long, self.mishit_rate * self.mishit_long_share))
        weights = [np.full(len(points), weight / len(points)) for points, weight in parts]
        return np.concatenate([points for points, _ in parts]), np.concatenate(weights)

    def without_doubt(self) -> ShotPattern:
        """The fitted pattern taken as the truth: no doubt about its centre and its spread."""
        return replace(self, carry_se_m=0.0, side_se_m=0.0, degrees_of_freedom=np.inf)

    def draw(
        self, count: int, random: np.random.Generator
    ) -> tuple[FloatArray, npt.NDArray[np.bool_]]:
        """Random next shots.

        Parameters
        ----------
        count : int
            How many shots [1].
        random : numpy.random.Generator
            Source of randomness.

        Returns
        -------
        points : ndarray, shape (count, 2)
            Carry and side [m].
        mishit : ndarray of bool, shape (count,)
            Which of them are mishits.
        """
        mishit = random.random(count) < self.mishit_rate
        cov = _predictive_covariance(self)
        core = random.standard_normal((count, 2)) @ np.linalg.cholesky(cov).T
        if np.isfinite(self.degrees_of_freedom):
            chi2 = random.chisquare(self.degrees_of_freedom, count)
            core /= np.sqrt(chi2 / self.degrees_of_freedom)[:, None]
        points = core + _centre(self)
        number = int(mishit.sum())
        off = self.mishit_shortfall_m * draw_losses(number, random)
        long = random.random(number) < self.mishit_long_share
        points[mishit, 0] = self.carry_m + np.where(long, off, -off)
        points[mishit, 1] = self.side_m + self.mishit_side_scale_m * random.standard_t(
            MISHIT_SIDE_DF, number
        )
        points[:, 0] = np.maximum(points[:, 0], 0.0)
        return points, mishit

    def plausible_points(
        self, models: int, count: int, random: np.random.Generator
    ) -> tuple[FloatArray, FloatArray]:
        """Weighted points of patterns that the player may truly have, given what was shown.

        Parameters
        ----------
        models : int
            How many patterns [1].
        count : int
            About how many points a pattern [1], >= 50.
        random : numpy.random.Generator
            Source of randomness.

        Returns
        -------
        points : ndarray, shape (models, n, 2)
            Carry and side [m].
        weights : ndarray, shape (models, n)
            Weights that add to one for each pattern [1].

        Notes
        -----
        Each pattern is without doubt of its own: its centre is drawn from the standard error, its
        spread from the inverse chi-squared, its mishit rate from the beta distribution.
        """
        nu, rate, worth = self.degrees_of_freedom, self.mishit_rate, self.worth_shots
        centre = random.standard_normal((models, 2)) * (self.carry_se_m, self.side_se_m)
        stretch = np.ones(models)
        if np.isfinite(nu):
            stretch = np.sqrt(nu / random.chisquare(nu, models))
        rates = np.zeros(models)
        if rate > 0.0:
            rates = np.minimum(random.beta(rate * worth, (1.0 - rate) * worth, models), 0.95)
        points, weights = self.without_doubt().points(count)
        clean = len(points) - (int(count * _MISHIT_POINTS) if rate > 0.0 else 0)
        middle = _centre(self)
        drawn = np.repeat((points - middle)[None], models, axis=0)
        drawn[:, :clean] *= stretch[:, None, None]
        drawn += middle + centre[:, None, :]
        drawn[..., 0] = np.maximum(drawn[..., 0], 0.0)
        share = np.ones((models, len(points)))
        share[:, :clean] = ((1.0 - rates) / (1.0 - rate))[:, None]
        if rate > 0.0:
            share[:, clean:] = (rates / rate)[:, None]
        return drawn, share * weights


def pattern_of(row: Mapping[str, Any]) -> ShotPattern:
    """Pattern of one group of the fitted shot distribution.

    Parameters
    ----------
    row : mapping
        One row of the parameter frame of `rangeledger.models.clubs.shot_distribution`.

    Returns
    -------
    ShotPattern
        With the spreads within and between sessions put together. A club whose shots never had
        a side gets the population's spread across the line and no lean.

    Raises
    ------
    UsageError
        If the row holds numbers that can't be a pattern.
    """
    carry_sd = math.hypot(row["within_carry_sd_m"], row["between_carry_sd_m"])
    side_sd = math.hypot(row["within_side_sd_m"], row["between_side_sd_m"])
    shared = row["within_correlation"] * row["within_carry_sd_m"] * row["within_side_sd_m"]
    known = bool(row["side_known"])
    usual = POPULATION.side_spread * row["carry_m"]
    wide = row["mishit_side_scale_m"] if known else POPULATION.mishit_side_scale * usual
    return ShotPattern(
        club=row["club"],
        swing=row["swing"],
        ball=row["ball"],
        carry_m=row["carry_m"],
        side_m=row["side_m"] if known else 0.0,
        carry_sd_m=carry_sd,
        side_sd_m=side_sd if known else usual,
        correlation=shared / (carry_sd * side_sd) if known else 0.0,
        carry_se_m=row["carry_se_m"],
        side_se_m=row["side_se_m"] if known else 0.0,
        degrees_of_freedom=max(row["degrees_of_freedom"], 2.1),
        mishit_rate=row["mishit_rate"],
        mishit_shortfall_m=row["mishit_shortfall_m"],
        mishit_long_share=row["mishit_long_share"],
        mishit_side_scale_m=wide,
        worth_shots=POPULATION.club_mishit_weight + row["shots"],
    )


def _check(pattern: ShotPattern) -> None:
    """Refuse a pattern that can't be one."""
    sizes = (
        pattern.carry_sd_m,
        pattern.side_sd_m,
        pattern.mishit_shortfall_m,
        pattern.mishit_side_scale_m,
    )
    numbers = (pattern.carry_m, pattern.side_m, pattern.carry_se_m, pattern.side_se_m, *sizes)
    good = all(np.isfinite(number) for number in numbers) and min(sizes) > 0.0
    good = good and pattern.carry_m > 0.0 and abs(pattern.correlation) < 1.0
    good = good and 0.0 <= pattern.mishit_rate < 1.0 and pattern.degrees_of_freedom > 2.0
    if not good:
        raise UsageError(
            f"The model of {pattern.name} is incomplete or impossible; run 'fit' again, "
            "or leave this club out."
        )


@lru_cache(maxsize=16)
def _lattice(count: int) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Fibonacci lattice in the unit square: log tails, losses, unit circle points, t quantiles."""
    index = np.arange(count) + 0.5
    first, second = index / count, np.mod(index * GOLDEN, 1.0)
    angle = 2.0 * np.pi * second
    circle = np.column_stack((np.cos(angle), np.sin(angle)))
    across = special.stdtrit(MISHIT_SIDE_DF, np.clip(second, 1e-6, 1.0 - 1e-6))
    return -np.log1p(-first), loss_quantile(first), circle, across


def _predictive_covariance(pattern: ShotPattern) -> FloatArray:
    """Scale matrix of clean strikes with the uncertainty of the centre added [m2]."""
    shared = pattern.correlation * pattern.carry_sd_m * pattern.side_sd_m
    return np.array(
        [
            [pattern.carry_sd_m**2 + pattern.carry_se_m**2, shared],
            [shared, pattern.side_sd_m**2 + pattern.side_se_m**2],
        ]
    )


def _clean_points(pattern: ShotPattern, count: int) -> FloatArray:
    """Quantiles to clean strikes: the squared radius of a bivariate t has a closed quantile."""
    log_tail, _, circle, _ = _lattice(count)
    nu = pattern.degrees_of_freedom
    square = 2.0 * log_tail if np.isinf(nu) else nu * np.expm1(2.0 * log_tail / nu)
    root = np.linalg.cholesky(_predictive_covariance(pattern))
    return np.asarray(np.sqrt(square)[:, None] * circle @ root.T) + _centre(pattern)


def _mishit_points(pattern: ShotPattern, count: int, sign: float) -> FloatArray:
    """Quantiles to mishits: the law of losses off the centre, t of three degrees across."""
    _, losses, _, across = _lattice(count)
    carry = pattern.carry_m + sign * pattern.mishit_shortfall_m * losses
    return np.column_stack(
        (np.maximum(carry, 0.0), pattern.side_m + pattern.mishit_side_scale_m * across)
    )


def _centre(pattern: ShotPattern) -> FloatArray:
    """Centre of clean strikes [m]."""
    return np.array([pattern.carry_m, pattern.side_m])
