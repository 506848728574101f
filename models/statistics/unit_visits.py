"""Means of units on visits, and what they say of the visits once the units' own terms are gone.

A unit (a club) on a visit (a session) has a mean with a known sampling error; the unit's level is
free, wanders a little by itself, and has a part of the day for itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from rangeledger.models.arrays import FloatArray, IntArray

# A visit beyond so many is taken together with its neighbours, the oldest first: forty days tell
# today's level as well as a hundred, and the cost grows with the cube.
MOST_VISITS: Final = 40


@dataclass(frozen=True, slots=True)
class UnitVisits:
    """Means of units on visits, one row a unit and visit.

    Attributes
    ----------
    unit, visit : array of int, shape (rows,)
        Numbers from 0 of the unit and of the visit; a unit has one row a visit.
    mean : array, shape (rows,)
        Mean of the unit on that visit, as a logarithm [1].
    variance : array, shape (rows,)
        Its sampling variance given the visit [1].
    age : array, shape (visits,)
        Visits since [1]: 0 for the last.
    days : array, shape (visits,)
        How many days a visit stands for [1]: 1, or more where old ones were taken together.
    """

    unit: IntArray
    visit: IntArray
    mean: FloatArray
    variance: FloatArray
    age: FloatArray
    days: FloatArray

    @property
    def units(self) -> int:
        """How many units there are."""
        return int(self.unit.max()) + 1


@dataclass(frozen=True, slots=True)
class UnitTerms:
    """What the n rows of one unit say, under each wander and drift.

    Attributes
    ----------
    rows : array of int, shape (n,)
        Its rows.
    noise : array, shape (wanders, drifts, n)
        Variance of its own part of the day and of sampling [1].
    wandered : array, shape (wanders, drifts, n, n)
        Covariance of its own wander [1].
    projection : array, shape (wanders, drifts, n, n)
        Precision of the rows, the unit's level being free [1].
    share : array, shape (wanders, drifts, n)
        Weight of each row in the unit's level now [1].
    known : array, shape (wanders, drifts)
        Variance of that level, the visits given [1].
    """

    rows: IntArray
    noise: FloatArray
    wandered: FloatArray
    projection: FloatArray
    share: FloatArray
    known: FloatArray


def unit_terms(
    visits: UnitVisits, number: int, own_wander: FloatArray, own_drift: FloatArray
) -> UnitTerms:
    """Return what the rows of a unit say.

    Parameters
    ----------
    visits : UnitVisits
        Means of units on visits.
    number : int
        Which unit.
    own_wander : array, shape (wanders,)
        Variance that the unit's level gains a visit by itself [1].
    own_drift : array, shape (drifts,)
        Variance of its own part of a day [1].

    Returns
    -------
    UnitTerms
        Its level is eliminated as free.
    """
    rows = np.flatnonzero(visits.unit == number)
    age = visits.age[visits.visit[rows]]
    noise = own_drift[:, None] / visits.days[visits.visit[rows]] + visits.variance[rows]
    noise = np.broadcast_to(noise, (len(own_wander), *noise.shape))
    walked = own_wander[:, None, None, None] * np.minimum.outer(age, age)
    walked = np.broadcast_to(walked, (*noise.shape, len(rows)))
    precision = np.linalg.inv(walked + noise[..., None] * np.eye(len(rows)))
    each = precision.sum(axis=-1)
    total = each.sum(axis=-1)
    projection = precision - each[..., :, None] * (each / total[..., None])[..., None, :]
    return UnitTerms(rows, noise, walked, projection, each / total[..., None], 1.0 / total)


def gathered(
    visits: UnitVisits, units: list[UnitTerms]
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return what all units say of the visits.

    Parameters
    ----------
    visits : UnitVisits
        Means of units on visits.
    units : list of UnitTerms
        Terms of every unit.

    Returns
    -------
    information : array, shape (wanders, drifts, visits, visits)
        Information on what all units share on each visit [1].
    pulled : array, shape (wanders, drifts, visits)
        Information times its best value [1].
    score : array, shape (wanders, drifts)
        Restricted log likelihood of the units' own terms [patterson1971].

    References
    ----------
    [patterson1971]
    """
    shape, count = units[0].known.shape, len(visits.age)
    information, pulled = np.zeros((*shape, count, count)), np.zeros((*shape, count))
    score = np.zeros(shape)
    for unit in units:
        place, value = visits.visit[unit.rows], visits.mean[unit.rows]
        value = value - value.mean()
        information[..., place[:, None], place[None, :]] += unit.projection
        towards = unit.projection @ value
        pulled[..., place] += towards
        covariance = unit.wandered + unit.noise[..., None] * np.eye(len(place))
        score += 0.5 * np.log(unit.known) - 0.5 * np.linalg.slogdet(covariance)[1]
        score -= 0.5 * (towards * value).sum(axis=-1)
    return information, pulled, score
