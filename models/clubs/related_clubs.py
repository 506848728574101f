"""Centres of a player's clubs estimated together, each borrowing from its relatives.

The log carries of all of a player's groups are one Gaussian vector: a line of carry over loft
with free level, slope and curvature, a deviation of each club, of each partial swing and of each
kind of ball. A club with few shots leans on the others; a club with many stands on its own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl
from rangeledger.models.arrays import FloatArray
from rangeledger.models.clubs.nominal_carry import NominalCarry
from rangeledger.models.population import Population

# Grid of how far a club may lie off the player's line, in the population's default [1].
DEVIATION_GRID = np.array([0.4, 0.75, 1.5, 3.0])
# A club whose loft is unknown says nothing of the others, and they nothing of it.
UNKNOWN_LOFT_FREEDOM = 0.5
# Deviation of one swing and ball with a club from what club, swing and ball suggest, relative
# to the deviation of the club.
SINGLE_GROUP_SHARE = 0.6


@dataclass(frozen=True, slots=True)
class Shrunk:
    """Posterior of a batch of vectors.

    Attributes
    ----------
    mean : array, shape (batch, n)
        Posterior means.
    variance : array, shape (batch, n)
        Posterior variances.
    log_likelihood : array, shape (batch,)
        Log marginal likelihood of the estimates.
    without_own : array, shape (batch, n)
        Prediction of each entry from the others alone.
    without_own_variance : array, shape (batch, n)
        Variance of that prediction, the entry's own noise left out.
    """

    mean: FloatArray
    variance: FloatArray
    log_likelihood: FloatArray
    without_own: FloatArray
    without_own_variance: FloatArray


def shrink(
    estimate: FloatArray, noise: FloatArray, prior_mean: FloatArray, prior: FloatArray
) -> Shrunk:
    """Return estimates shrunk to a correlated normal prior.

    Parameters
    ----------
    estimate : array, shape (batch, n)
        Raw estimates [any unit].
    noise : array, shape (batch, n, n)
        Their error covariance [unit squared], positive definite.
    prior_mean : array, shape (batch, n)
        Prior mean [same unit].
    prior : array, shape (batch, n, n)
        Prior covariance [unit squared], positive semi-definite.

    Returns
    -------
    Shrunk
        Posterior, likelihood, and predictions of each entry from the others.

    Notes
    -----
    C = K + S; mean = m + K C^-1 (y - m); variance = diag(K - K C^-1 K);
    the prediction without entry i is y_i - [C^-1 (y - m)]_i / [C^-1]_ii with variance
    1 / [C^-1]_ii - S_ii [rasmussen2006, eqs 2.25, 2.26, 5.12].

    References
    ----------
    [rasmussen2006]
    """
    total = prior + noise
    inverse = np.linalg.inv(total).astype(np.float64, copy=False)
    rest = estimate - prior_mean
    solved = _times(inverse, rest)
    own = np.diagonal(inverse, axis1=-2, axis2=-1)
    noise_own = np.diagonal(noise, axis1=-2, axis2=-1)
    variance = np.diagonal(prior, axis1=-2, axis2=-1) - (prior * np.matmul(inverse, prior)).sum(-2)
    _, log_determinant = np.linalg.slogdet(total)
    size = estimate.shape[-1]
    return Shrunk(
        mean=prior_mean + _times(prior, solved),
        variance=np.maximum(variance, 0.0),
        log_likelihood=-0.5
        * ((rest * solved).sum(-1) + log_determinant + size * np.log(2.0 * np.pi)),
        without_own=estimate - solved / own,
        without_own_variance=np.maximum(1.0 / own - noise_own, 0.0),
    )


def average(results: list[Shrunk], log_weights: FloatArray) -> Shrunk:
    """Return the average of posteriors under several priors, weighted by their likelihood.

    Parameters
    ----------
    results : list of Shrunk
        One posterior for each prior, of equal shapes.
    log_weights : array, shape (priors,)
        Log of the prior probability of each [1].

    Returns
    -------
    Shrunk
        Mean and variance of the mixture.

    Notes
    -----
    mean = sum w m; variance = sum w (v + m^2) - mean^2.
    """
    score = np.stack([result.log_likelihood for result in results]) + log_weights[:, None]
    top = score.max(axis=0)
    weight = np.exp(score - top)
    total = weight.sum(axis=0)
    weight = (weight / total)[:, :, None]

    def mixed(
        means: list[FloatArray], variances: list[FloatArray]
    ) -> tuple[FloatArray, FloatArray]:
        centres = np.stack(means)
        mean = (weight * centres).sum(axis=0)
        spread = np.stack(variances) + (centres - mean) ** 2
        return mean, (weight * spread).sum(axis=0)

    mean, variance = mixed([r.mean for r in results], [r.variance for r in results])
    without, without_variance = mixed(
        [r.without_own for r in results], [r.without_own_variance for r in results]
    )
    return Shrunk(mean, variance, top + np.log(total), without, without_variance)


def _times(matrix: FloatArray, vector: FloatArray) -> FloatArray:
    """Return the product of each matrix with its vector."""
    product: FloatArray = np.matmul(matrix, vector[..., None])[..., 0]
    return product


class CarryRelations:
    """Prior covariance of the log carries of each player's groups.

    Parameters
    ----------
    keys : polars.DataFrame
        One row a group: club, swing, ball.
    nominal : NominalCarry
        Nominal values of the groups.
    population : Population
        Freedoms.
    """

    def __init__(self, keys: pl.DataFrame, nominal: NominalCarry, population: Population) -> None:
        self.nominal = nominal
        self.population = population
        self.club, self.swing, self.ball = (
            keys[name].cast(pl.String).rank("dense").to_numpy()
            for name in ("club", "swing", "ball")
        )

    def prior_mean(self, members: npt.NDArray[np.int64]) -> FloatArray:
        """Return the prior mean of ln carry [ln m] of groups, shape of `members`."""
        nominal = self.nominal
        return (nominal.log_carry + nominal.log_swing + nominal.log_ball)[members]

    def prior_covariances(self, members: npt.NDArray[np.int64]) -> list[FloatArray]:
        """Return the prior covariance for each deviation of `DEVIATION_GRID`.

        Parameters
        ----------
        members : array of int, shape (players, n)
            Numbers of the groups of each player.

        Returns
        -------
        list of array, shape (players, n, n)
            Covariances of ln carry [1].
        """
        nominal, population = self.nominal, self.population
        same = [self._same(labels, members) for labels in (self.club, self.swing, self.ball)]
        known = nominal.loft_known[members]
        loft = nominal.loft[members]
        common = (
            population.level_freedom**2
            + population.slope_freedom**2 * _outer(loft)
            + population.curvature_freedom**2 * _outer(loft**2)
            + same[0] * _outer(np.where(known, 0.0, UNKNOWN_LOFT_FREEDOM))
            + same[1] * _outer(nominal.swing_freedom[members])
            + same[2] * _outer(nominal.ball_freedom[members])
        )
        single = SINGLE_GROUP_SHARE**2 * np.eye(members.shape[1])
        return [
            common + (population.club_deviation * step) ** 2 * (same[0] + single)
            for step in DEVIATION_GRID
        ]

    def shrunk(
        self, log_carry: FloatArray, noise: FloatArray, members: npt.NDArray[np.int64]
    ) -> Shrunk:
        """Return centres shrunk to the player's other groups.

        Parameters
        ----------
        log_carry : array, shape (players, n)
            ln of each centre from its own shots [ln m].
        noise : array, shape (players, n, n)
            Error covariance of those centres [1].
        members : array of int, shape (players, n)
            Numbers of the groups of each player.

        Returns
        -------
        Shrunk
            Averaged over how far clubs may lie off the player's line.
        """
        mean = self.prior_mean(members)
        results = [shrink(log_carry, noise, mean, K) for K in self.prior_covariances(members)]
        return average(results, self.log_weights())

    def log_weights(self) -> FloatArray:
        """Return the log prior probability of each entry of `DEVIATION_GRID` [1]."""
        steps: FloatArray = np.log(DEVIATION_GRID)
        return -0.5 * (steps / self.population.club_deviation_log_sd) ** 2

    @staticmethod
    def _same(labels: npt.NDArray[np.generic], members: npt.NDArray[np.int64]) -> FloatArray:
        """Return 1 where two groups of a player share a word, else 0."""
        chosen = labels[members]
        same: FloatArray = np.equal(chosen[:, :, None], chosen[:, None, :]).astype(np.float64)
        return same


def side_prior_covariance(groups: int, population: Population) -> FloatArray:
    """Return the prior covariance of the side centres of one player's groups.

    Parameters
    ----------
    groups : int
        Number of groups.
    population : Population
        Freedoms.

    Returns
    -------
    array, shape (groups, groups)
        Covariance of side as a fraction of carry [1].
    """
    shared = np.full((groups, groups), population.side_level_freedom**2)
    return shared + population.side_club_deviation**2 * np.eye(groups)


def _outer(values: FloatArray) -> FloatArray:
    """Return the outer product of each row with itself."""
    return np.asarray(values[:, :, None] * values[:, None, :], dtype=np.float64)
