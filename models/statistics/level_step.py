"""A step of the level that many units share: how large between two times, and whether at all."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from rangeledger.models.arrays import BoolArray, FloatArray
from rangeledger.models.statistics.mixture import averaged, averaged_quantile
from rangeledger.models.statistics.shared_level import Grid
from rangeledger.models.statistics.unit_visits import UnitVisits, gathered, unit_terms
from scipy.special import ndtr

# No unit has both sides of the step: nothing is known of its size.
LEAST_INFORMATION: Final = 1e-6


@dataclass(frozen=True, slots=True)
class LevelStep:
    """The step under each wander and day, and how much each counts.

    Attributes
    ----------
    weight : array, shape (1, wanders, drifts)
        Weights that add up to 1.
    size, variance : array, shape (1, wanders, drifts)
        Step of ln level under each [1], and its variance.
    """

    weight: FloatArray
    size: FloatArray
    variance: FloatArray

    @property
    def mean(self) -> float:
        """Size of the step [1], averaged."""
        return float(averaged(self.weight, self.size, self.variance)[0][0])

    @property
    def standard_error(self) -> float:
        """Standard deviation of the average [1]."""
        return float(averaged(self.weight, self.size, self.variance)[1][0] ** 0.5)

    def quantile(self, share: float) -> float:
        """Return the value below which a share of the average lies [1]."""
        return float(averaged_quantile(self.weight, self.size, self.variance, share)[0])

    def shrunk(self, usual: float) -> LevelStep:
        """Return the step where steps of a usual spread [1] are expected beforehand.

        The largest of several is too large on average: it gives back what luck explains.
        """
        known = self.variance / (self.variance + usual**2)
        return LevelStep(self.weight, (1.0 - known) * self.size, (1.0 - known) * self.variance)

    @property
    def probability(self) -> float:
        """Chance of a step at least as large where there is none, averaged [1]."""
        away = np.abs(self.size) / np.sqrt(self.variance)
        return float((self.weight * 2.0 * ndtr(-away)).sum())


def level_step(
    visits: UnitVisits, new: BoolArray, grid: Grid, *, wanders: int | None = None
) -> LevelStep | None:
    """Return the step of the shared level between two sets of visits.

    Parameters
    ----------
    visits : UnitVisits
        Means of units on visits.
    new : array of bool, shape (visits,)
        Which visits lie after the step.
    grid : Grid
        Wanders and days; paths count for nothing here.
    wanders : int, optional
        Consider so many of the least wanders only.

    Returns
    -------
    LevelStep or None
        None where no unit was measured on both sides.

    Notes
    -----
    Generalised least squares under each wander and day, weighed by the restricted likelihood with
    the units' levels and the step free [patterson1971]. A day's shift is of one size before and
    after, so that one new visit can't pass for a change that it is not.

    References
    ----------
    [patterson1971]
    """
    chosen = slice(0, wanders)
    own_wander, wander = grid.own_wander[chosen], grid.wander[chosen]
    units = [
        unit_terms(visits, number, own_wander, grid.own_drift) for number in range(visits.units)
    ]
    information, pulled, score = gathered(visits, units)
    eye = np.eye(len(visits.age))
    walked = wander[:, None, None, None] * np.minimum.outer(visits.age, visits.age)
    prior = walked + grid.drift[:, None, None] * (eye / visits.days)
    mixed = eye + information @ prior
    step = new.astype(np.float64)
    inverse = np.linalg.inv(mixed)
    towards = inverse @ information @ step
    known = (towards * step).sum(axis=-1)
    if not (known > LEAST_INFORMATION).all():
        return None
    size = ((inverse @ pulled[..., None])[..., 0] * step).sum(axis=-1) / known
    day = (prior @ inverse @ pulled[..., None])[..., 0]
    score = score + 0.5 * ((pulled * day).sum(axis=-1) + size**2 * known - np.log(known))
    score = score - 0.5 * np.linalg.slogdet(mixed)[1] + grid.log_prior[0, chosen]
    weight = np.exp(score - score.max())
    return LevelStep((weight / weight.sum())[None], size[None], (1.0 / known)[None])
