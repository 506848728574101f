"""The pattern of a player's next shot: where it may come down, and how surely we know.

A pattern is a mixture in the plane of the target line: clean strikes, a bivariate t about a
centre, and mishits, that fall short by an exponential share of the carry and scatter more widely
across. The same pattern is given as weighted points for planning and as random draws.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import numpy.typing as npt
from scipy import stats

from schemas.errors import UsageError

Array = npt.NDArray[np.float64]

GOLDEN = (np.sqrt(5.0) - 1.0) / 2.0
MISHIT_SIDE_DF = 3.0
# A mishit's share of carry lost is exponential; what would lose more than all of it loses all.
# Share of a pattern's points that stand for mishits, whatever their weight.
_MISHIT_POINTS = 0.2


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
    mishit_loss : float
        Mean share of the carry that a mishit loses [1], > 0.
    mishit_side_sd_m : float
        Scale of a mishit's side about the centre [m], > 0.
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
    mishit_loss: float = 0.18
    mishit_side_sd_m: float = 1.0
    worth_shots: float = 25.0

    def __post_init__(self) -> None:
        _check(self)

    @property
    def name(self) -> str:
        """Club and swing in words, the swing only where it is not a full one."""
        return self.club if self.swing == "full" else f"{self.club} {self.swing}"

    def points(self, count: int = 3000) -> tuple[Array, Array]:
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
        weight = np.full(len(clean), (1.0 - self.mishit_rate) / len(clean))
        if not mishits:
            return clean, weight
        missed = _mishit_points(self, mishits)
        return np.concatenate((clean, missed)), np.concatenate(
            (weight, np.full(mishits, self.mishit_rate / mishits))
        )

    def draw(self, count: int, random: np.random.Generator) -> tuple[Array, npt.NDArray[np.bool_]]:
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
        lost = np.minimum(random.exponential(self.mishit_loss, number), 1.0)
        points[mishit, 0] = self.carry_m * (1.0 - lost)
        points[mishit, 1] = self.side_m + self.mishit_side_sd_m * random.standard_t(
            MISHIT_SIDE_DF, number
        )
        return points, mishit

    def plausible(self, count: int, random: np.random.Generator) -> list[ShotPattern]:
        """Patterns that the player may truly have, given what the shots have shown.

        Parameters
        ----------
        count : int
            How many patterns [1].
        random : numpy.random.Generator
            Source of randomness.

        Returns
        -------
        list of ShotPattern
            Patterns without uncertainty of their own: centre drawn from its standard error,
            spread from the inverse chi-squared, mishit rate from the beta distribution.
        """
        nu, rate, worth = self.degrees_of_freedom, self.mishit_rate, self.worth_shots
        centre = random.standard_normal((count, 2)) * (self.carry_se_m, self.side_se_m)
        stretch = np.ones(count)
        if np.isfinite(nu):
            stretch = np.sqrt(nu / random.chisquare(nu, count))
        rates = np.zeros(count)
        if rate > 0.0:
            rates = np.minimum(random.beta(rate * worth, (1.0 - rate) * worth, count), 0.95)
        return [
            replace(
                self,
                carry_m=max(self.carry_m + float(shift[0]), 1.0),
                side_m=self.side_m + float(shift[1]),
                carry_sd_m=self.carry_sd_m * float(scale),
                side_sd_m=self.side_sd_m * float(scale),
                carry_se_m=0.0,
                side_se_m=0.0,
                degrees_of_freedom=np.inf,
                mishit_rate=float(share),
            )
            for shift, scale, share in zip(centre, stretch, rates, strict=True)
        ]


def _check(pattern: ShotPattern) -> None:
    """Refuse a pattern that can't be one."""
    sizes = (pattern.carry_sd_m, pattern.side_sd_m, pattern.mishit_loss, pattern.mishit_side_sd_m)
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
def _lattice(count: int) -> tuple[Array, Array, Array]:
    """Fibonacci lattice in the unit square as log tails, unit circle points and t quantiles."""
    index = np.arange(count) + 0.5
    first, second = index / count, np.mod(index * GOLDEN, 1.0)
    angle = 2.0 * np.pi * second
    circle = np.column_stack((np.cos(angle), np.sin(angle)))
    across = stats.t.ppf(np.clip(second, 1e-6, 1.0 - 1e-6), MISHIT_SIDE_DF)
    return -np.log1p(-first), circle, across


def _predictive_covariance(pattern: ShotPattern) -> Array:
    """Scale matrix of clean strikes with the uncertainty of the centre added [m2]."""
    shared = pattern.correlation * pattern.carry_sd_m * pattern.side_sd_m
    return np.array(
        [
            [pattern.carry_sd_m**2 + pattern.carry_se_m**2, shared],
            [shared, pattern.side_sd_m**2 + pattern.side_se_m**2],
        ]
    )


def _clean_points(pattern: ShotPattern, count: int) -> Array:
    """Quantiles to clean strikes: the squared radius of a bivariate t has a closed quantile."""
    log_tail, circle, _ = _lattice(count)
    nu = pattern.degrees_of_freedom
    square = 2.0 * log_tail if np.isinf(nu) else nu * np.expm1(2.0 * log_tail / nu)
    root = np.linalg.cholesky(_predictive_covariance(pattern))
    return np.asarray(np.sqrt(square)[:, None] * circle @ root.T) + _centre(pattern)


def _mishit_points(pattern: ShotPattern, count: int) -> Array:
    """Quantiles to mishits: exponential loss of carry, t of three degrees across."""
    log_tail, _, across = _lattice(count)
    kept = 1.0 - np.minimum(pattern.mishit_loss * log_tail, 1.0)
    return np.column_stack(
        (pattern.carry_m * kept, pattern.side_m + pattern.mishit_side_sd_m * across)
    )


def _centre(pattern: ShotPattern) -> Array:
    """Centre of clean strikes [m]."""
    return np.array([pattern.carry_m, pattern.side_m])
