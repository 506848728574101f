"""A level that many units share, followed through visits: what a player's clubs have in common.

The mean of a unit (a club) on a visit (a session) is the unit's own level, plus what has become of
the level that all units share, plus the day, which they mostly share too, plus sampling error.
Wander, day and a step at one of the last visits are not known: every assumption of a grid is
weighted by how well it explains the visits, and all answers are averages over the grid.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from rangeledger.models.arrays import FloatArray
from rangeledger.models.statistics.mixture import averaged, averaged_quantile
from rangeledger.models.statistics.unit_visits import UnitTerms, UnitVisits, gathered, unit_terms

# Wander of the shared level from one visit to the next [1], with the median and the log spread of
# its prior; common practice, no source. Most players hardly move: the median is far below a day.
WANDER_GRID: Final = np.array([0.0003, 0.0015, 0.003, 0.006, 0.012, 0.024])
WANDER_PRIOR: Final = (0.002, 0.8)
# Spread of a day about the level in the spread expected beforehand [1], and the log spread of the
# prior about it. Tuned on the makes of players kept for that in the tests.
DRIFT_GRID: Final = np.array([0.4, 0.65, 1.0, 1.5, 2.3])
DRIFT_LOG_SD: Final = 0.45
# The level may have taken a step before one of so many last visits; the weight of a step before
# each against none, and its spread [1].
RECENT: Final = 6
STEP_CHANCE: Final = 0.08
STEP_SD: Final = 0.05
# Or it may have risen or fallen evenly: the weight of that against none, its spread a visit [1].
SLOPE_CHANCE: Final = 0.5
SLOPE_SD: Final = 0.006
# Share of the wander's variance that a unit has for itself: a new grip on one club, a new shaft.
OWN_WANDER: Final = 0.2
# Knowing less than this of a unit is knowing nothing [1]: variance of ln carry.
LARGEST_VARIANCE: Final = 1.0
# An interval leaves this share of the average's probability out at either end [1].
TAIL: Final = 0.05


@dataclass(frozen=True, slots=True)
class Grid:
    """Assumptions: paths of the level, wanders and days, in the axes of every array of a fit.

    Attributes
    ----------
    paths : array, shape (paths, visits, visits)
        Covariance of the level's past under each path, beside its wander [1].
    onward, onward_variance : array, shape (paths, visits) and (paths,)
        Covariance of that past with the rise until the next visit, and its variance [1].
    wander, own_wander : array, shape (wanders,)
        Variance that the shared level, and each unit's own, gains a visit [1].
    drift, own_drift : array, shape (drifts,)
        Variance of a day, of what all units share and of each unit's own part [1].
    log_prior : array, shape (paths, wanders, drifts)
        Log of the weight of each beforehand [1].
    """

    paths: FloatArray
    onward: FloatArray
    onward_variance: FloatArray
    wander: FloatArray
    own_wander: FloatArray
    drift: FloatArray
    own_drift: FloatArray
    log_prior: FloatArray


@dataclass(frozen=True, slots=True)
class SharedLevel:
    """The fit: everything under each assumption (paths, wanders, drifts), and the weights.

    Attributes
    ----------
    weight : array, shape (paths, wanders, drifts)
        Weight of each assumption; they add up to 1.
    log_likelihood : array, shape (paths, wanders, drifts)
        Restricted log likelihood of each.
    level, covariance : array, shape (units,) and (units, units)
        Level of each unit as it is expected at the next visit, averaged, and the covariance of
        the errors: the level of the last visit, carried on where it has risen or fallen evenly.
    since, since_variance : array, shape (paths, wanders, drifts, visits)
        How far the shared level has risen since each visit, and its variance.
    drift_variance, wander_variance : float
        Variance of a day, and what the level gains until the next visit, averaged [1].
    """

    weight: FloatArray
    log_likelihood: FloatArray
    level: FloatArray
    covariance: FloatArray
    since: FloatArray
    since_variance: FloatArray
    drift_variance: float
    wander_variance: float
    _parts: _Parts


@dataclass(frozen=True, slots=True)
class _Parts:
    """What levels at earlier visits are worked out from."""

    visits: UnitVisits
    units: list[UnitTerms]
    day: FloatArray  # (paths, wanders, drifts, visits): level and day together
    day_covariance: FloatArray
    both: FloatArray  # covariance of level (rows) and level with day (columns)


@dataclass(frozen=True, slots=True)
class LevelRows:
    """Levels of units at visits, one entry a row of the visits.

    Attributes
    ----------
    level, variance, low, high : array, shape (rows,)
        Level of the unit at that visit, its variance and the ends of its 90 % interval.
    now, now_variance, now_low, now_high : array, shape (rows,)
        The same of the unit at the last visit.
    change, change_low, change_high : array, shape (rows,)
        How far the unit has risen since that visit, with the ends of its 90 % interval.
    """

    level: FloatArray
    variance: FloatArray
    low: FloatArray
    high: FloatArray
    now: FloatArray
    now_variance: FloatArray
    now_low: FloatArray
    now_high: FloatArray
    change: FloatArray
    change_low: FloatArray
    change_high: FloatArray


def player_grid(age: FloatArray, drift: float, shared_drift: float, size: float = 1.0) -> Grid:
    """Return the assumptions for a player.

    Parameters
    ----------
    age : array, shape (visits,)
        Visits since each visit [1].
    drift : float
        Spread of a day that is expected beforehand [1].
    shared_drift : float
        Share of its variance that all units have in common [1].
    size : float
        How far the level moves against that of carry [1]: its wander, rise and steps.

    Returns
    -------
    Grid
        No change beside the wander, an even rise or fall, or a step before one of the last visits.
    """
    recent = np.unique(age)[: min(RECENT, len(np.unique(age)) - 1)]
    moved = [(size * STEP_SD) ** 2 * np.outer(age > since, age > since) for since in recent]
    none, even = np.zeros((len(age), len(age))), (size * SLOPE_SD) ** 2 * np.outer(age, age)
    onward, onward_variance = np.zeros((2 + len(recent), len(age))), np.zeros(2 + len(recent))
    onward[1], onward_variance[1] = -((size * SLOPE_SD) ** 2) * age, (size * SLOPE_SD) ** 2
    path = np.log(np.array([1.0, SLOPE_CHANCE, *[STEP_CHANCE] * len(recent)]))
    steps = np.log(WANDER_GRID / WANDER_PRIOR[0]) / WANDER_PRIOR[1]
    days = np.log(DRIFT_GRID) / DRIFT_LOG_SD
    wander, day = (size * WANDER_GRID) ** 2, (drift * DRIFT_GRID) ** 2
    return Grid(
        np.stack([none, even, *moved]),
        onward,
        onward_variance,
        (1.0 - OWN_WANDER) * wander,
        OWN_WANDER * wander,
        shared_drift * day,
        (1.0 - shared_drift) * day,
        path[:, None, None] - 0.5 * steps[:, None] ** 2 - 0.5 * days**2,
    )


def shared_level(visits: UnitVisits, grid: Grid) -> SharedLevel:
    """Return the level of each unit, what it was, and how sure that is.

    Parameters
    ----------
    visits : UnitVisits
        Means of units on visits.
    grid : Grid
        Assumptions.

    Returns
    -------
    SharedLevel
        Averages over the grid, and the grid.

    Notes
    -----
    y_gt = mu_g + o_gt + L_t + D_t + d_gt + e_gt; mu_g, the level of unit g now, is free; L and o
    are random walks that end at 0 now, L along one of the paths; D and d are the day. The units'
    own terms are eliminated exactly (restricted likelihood [patterson1971]); what is left is one
    normal vector L + D over the visits under each assumption.

    References
    ----------
    [patterson1971], [durbin2012]
    """
    units = [
        unit_terms(visits, number, grid.own_wander, grid.own_drift)
        for number in range(visits.units)
    ]
    information, pulled, score = gathered(visits, units)
    walked = grid.wander[:, None, None] * np.minimum.outer(visits.age, visits.age)
    level = grid.paths[:, None, None] + walked[None, :, None]
    eye = np.eye(len(visits.age))
    prior = level + grid.drift[:, None, None] * (eye / visits.days)
    mixed = eye + information @ prior
    inverse: FloatArray = np.linalg.inv(mixed).astype(np.float64, copy=False)
    reduced = (inverse @ pulled[..., None])[..., 0]
    day, both = (prior @ reduced[..., None])[..., 0], level @ inverse
    score = score + 0.5 * (pulled * day).sum(axis=-1) - 0.5 * np.linalg.slogdet(mixed)[1]
    weight = _weights(score + grid.log_prior)
    parts = _Parts(visits, units, day, prior @ inverse, both)
    rise = _next_rise(grid, information, inverse, reduced)
    centre, covariance = _next(parts, rise, weight)
    spread = np.diagonal(level - both @ information @ level, axis1=-2, axis2=-1)
    total = weight.sum(axis=0)
    return SharedLevel(
        weight,
        score,
        centre,
        covariance,
        -(level @ reduced[..., None])[..., 0],
        np.maximum(spread, 0.0),
        float((total.sum(axis=0) * (grid.drift + grid.own_drift)).sum()),
        float((total.sum(axis=1) * (grid.wander + grid.own_wander)).sum()),
        parts,
    )


def _weights(score: FloatArray) -> FloatArray:
    """Return weights that add up to 1."""
    chance: FloatArray = np.exp(score - score.max())
    return np.asarray(chance / chance.sum())


@dataclass(frozen=True, slots=True)
class _Rise:
    """How far the shared level will have risen at the next visit."""

    mean: FloatArray  # (paths, wanders, drifts)
    variance: FloatArray  # (paths, wanders, drifts)
    with_day: FloatArray  # (paths, wanders, drifts, visits): covariance with level and day


def _next_rise(
    grid: Grid, information: FloatArray, inverse: FloatArray, reduced: FloatArray
) -> _Rise:
    """Return the rise until the next visit; wander and steps tell nothing of it."""
    onward = grid.onward[:, None, None]
    with_day = (np.swapaxes(inverse, -1, -2) @ onward[..., None])[..., 0]
    known = (information @ onward[..., None])[..., 0]
    variance = grid.onward_variance[:, None, None] - (with_day * known).sum(axis=-1)
    return _Rise((reduced * onward).sum(axis=-1), np.maximum(variance, 0.0), with_day)


def _next(parts: _Parts, rise: _Rise, weight: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the units' levels at the next visit and their covariance, averaged."""
    units, visits = parts.units, parts.visits
    shares, own = _shares(parts)
    known = np.stack([np.minimum(unit.known, LARGEST_VARIANCE) for unit in units], axis=-1)
    level = own - (shares @ parts.day[..., None])[..., 0] + rise.mean[..., None]
    spread = shares @ parts.day_covariance @ np.swapaxes(shares, -1, -2)
    spread = spread + known[..., None] * np.eye(visits.units)
    together = (shares @ rise.with_day[..., None])[..., 0]
    spread += rise.variance[..., None, None] - together[..., :, None] - together[..., None, :]
    centre = (weight[..., None] * level).sum(axis=(0, 1, 2))
    rest = level - centre
    covariance = np.einsum("pqd,pqdij->ij", weight, spread)
    covariance += np.einsum("pqd,pqdi,pqdj->ij", weight, rest, rest)
    return centre, covariance


def _shares(parts: _Parts) -> tuple[FloatArray, FloatArray]:
    """Return the weight of each visit in each unit's level, and the mean under those weights."""
    units, visits = parts.units, parts.visits
    shape = (*units[0].known.shape, len(units))
    shares, own = np.zeros((*shape, len(visits.age))), np.empty(shape)
    for number, unit in enumerate(units):
        shares[..., number, visits.visit[unit.rows]] = unit.share
        own[..., number] = (unit.share * visits.mean[unit.rows]).sum(axis=-1)
    return shares, own


def level_rows(fit: SharedLevel) -> LevelRows:
    """Return the level of each unit at each of its visits, and now.

    Parameters
    ----------
    fit : SharedLevel
        What was learned from the visits.

    Returns
    -------
    LevelRows
        One entry a row of the visits, in their order.

    Notes
    -----
    Given the shared part, a unit's level at its visits is y - N P (y - s), N the variance of its
    own day and sampling, P the precision with its level free. The ends of the intervals are points
    of the mixture over the grid, not a normal's: just after a surprising session some assumptions
    follow it and some do not.
    """
    columns = np.empty((len(LevelRows.__slots__), len(fit._parts.visits.unit)))
    for unit in fit._parts.units:
        columns[:, unit.rows] = np.stack(_unit_rows(fit, unit))
    return LevelRows(*columns)


def _unit_rows(fit: SharedLevel, unit: UnitTerms) -> list[FloatArray]:
    """Return the columns of `LevelRows` for one unit."""
    parts = fit._parts
    place = parts.visits.visit[unit.rows]
    value = parts.visits.mean[unit.rows]
    day, level = parts.day[..., place], -fit.since[..., place]
    # value - day, about the unit's own mean so that no digits are lost
    middle = value.mean()
    rest = value - middle - day
    own = unit.wandered @ unit.projection  # its own wander, from what the shared part leaves
    still = np.broadcast_to(unit.share[..., None, :], own.shape)  # its level now, likewise
    spread = parts.day_covariance[..., place[:, None], place[None, :]]
    both = parts.both[..., place[:, None], place[None, :]]
    shared = fit.since_variance[..., place]
    wandered = np.diagonal(unit.wandered - own @ unit.wandered, axis1=-2, axis2=-1)

    def answer(
        operator: FloatArray, moved: float, doubt: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        mean = (operator @ rest[..., None])[..., 0] + moved * level
        variance = ((operator @ spread) * operator).sum(axis=-1) + moved * shared
        variance = variance - 2.0 * moved * (operator * both).sum(axis=-1) + doubt
        # A club without a clean strike has a sampling variance of millions, and the end of its
        # interval would lie beyond every number once it is turned back from a logarithm.
        return mean, np.clip(variance, 1e-18, LARGEST_VARIANCE)

    noise = unit.noise[..., None] * unit.projection
    kept = np.eye(len(place)) - noise
    then_doubt = unit.noise - np.diagonal(noise, axis1=-2, axis2=-1) * unit.noise
    then = answer(kept, 1.0, then_doubt)
    now = answer(still, 0.0, np.broadcast_to(unit.known[..., None], unit.noise.shape))
    since = answer(own, 1.0, wandered)
    columns = []
    for mean, variance in (then, now):
        columns += [*_mixed(fit.weight, mean, variance, middle)]
    change = _mixed(fit.weight, -since[0], since[1], 0.0)
    return [*columns, change[0], change[2], change[3]]


def _mixed(
    weight: FloatArray, mean: FloatArray, variance: FloatArray, middle: float
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return mean, variance and the ends of the 90 % interval of a mixture over the grid."""
    flat = (weight.shape[0] * weight.shape[1], weight.shape[2])
    rows = mean.shape[-1]
    weight = weight.reshape(1, *flat)
    mean, variance = (
        np.moveaxis(np.broadcast_to(x, mean.shape), -1, 0).reshape(rows, *flat)
        for x in (mean, variance)
    )
    centre, spread = averaged(weight, mean, variance)
    low, high = (averaged_quantile(weight, mean, variance, share) for share in (TAIL, 1.0 - TAIL))
    return centre + middle, spread, low + middle, high + middle
