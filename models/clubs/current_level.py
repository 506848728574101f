"""Where a player's clubs are today: carry and side of all of them followed through the sessions."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from rangeledger.models.arrays import FloatArray, IntArray
from rangeledger.models.clubs.related_clubs import (
    CarryRelations,
    Shrunk,
    shrink,
    side_prior_covariance,
)
from rangeledger.models.clubs.session_variance import NO_WEIGHT, cell_moments
from rangeledger.models.clubs.shot_groups import sum_by
from rangeledger.models.clubs.strike_mixture import StrikeMixture
from rangeledger.models.statistics.shared_level import (
    DRIFT_LOG_SD,
    Grid,
    SharedLevel,
    player_grid,
    shared_level,
)
from rangeledger.models.statistics.unit_visits import MOST_VISITS, UnitVisits

# ln carry is taken of no less than this share of the base carry; guards ln 0 only.
LEAST_SHARE = 0.05
# The variance of a day of aim, averaged over what it may be, is the expected one with this factor.
EVEN_DRIFT = float(np.exp(-(DRIFT_LOG_SD**2)))


@dataclass(frozen=True, slots=True)
class CurrentLevels:
    """Levels of all groups at their player's last session.

    Attributes
    ----------
    mean, variance : array, shape (groups,)
        Level, leaning on the player's other groups, and its variance: of carry its ln [ln m], of
        side a fraction of the base carry [1].
    players : list of PlayerLevel
        The shared level of each player.
    """

    mean: FloatArray
    variance: FloatArray
    players: list[PlayerLevel]

    @property
    def between_variance(self) -> FloatArray:
        """Variance of the next session about the level, one a player [1]."""
        fits = (player.fit for player in self.players)
        return np.array([fit.drift_variance + fit.wander_variance for fit in fits])


@dataclass(frozen=True, slots=True)
class PlayerLevel:
    """The level that one player's groups share.

    Attributes
    ----------
    visits : UnitVisits
        Means of the player's groups on the visits.
    grid : Grid
        Assumptions.
    fit : SharedLevel
        What was learned.
    cells : array of int, shape (cells,)
        Cells of the player.
    row_of_cell : array of int, shape (cells,)
        Row of `visits` that each belongs to.
    """

    visits: UnitVisits
    grid: Grid
    fit: SharedLevel
    cells: IntArray
    row_of_cell: IntArray


def current_levels(mixture: StrikeMixture, relations: CarryRelations) -> CurrentLevels:
    """Return how far each group carries today.

    Parameters
    ----------
    mixture : StrikeMixture
        Clean strikes and spreads of whole players.
    relations : CarryRelations
        How the groups are related.

    Returns
    -------
    CurrentLevels
        ln of the levels of the groups [ln m], days of the players.
    """
    carry = mixture.state.carry
    cells = cell_moments(
        mixture.carry, mixture.state.clean, mixture.groups.cell_of_shot, carry.centre
    )
    group = mixture.groups.group_of_cell
    share = np.maximum(1.0 + cells.mean, LEAST_SHARE)
    sampling = carry.variance[group] / np.maximum(cells.weight, NO_WEIGHT) / share**2
    ratio = carry.variance / mixture.defaults.carry_spread**2
    drift = _expected_drift(mixture, ratio, mixture.defaults.carry_drift)
    players = _player_levels(mixture, np.log(mixture.base[group] * share), sampling, drift)
    return _related(mixture, players, relations.shrunk)


def current_sides(mixture: StrikeMixture) -> CurrentLevels:
    """Return how far to the side each group's centre is today.

    Parameters
    ----------
    mixture : StrikeMixture
        Clean strikes and spreads of whole players.

    Returns
    -------
    CurrentLevels
        Sides of the groups as fractions of their base carry [1], days of the players.

    Notes
    -----
    An aim may have wandered, turned evenly or taken a step, as far against its days as a level of
    carry against its own.
    """
    side, population = mixture.state.side, mixture.population
    weight = np.where(mixture.has_side, mixture.state.clean, 0.0)
    cells = cell_moments(mixture.side, weight, mixture.groups.cell_of_shot, side.centre)
    sampling = side.variance[mixture.groups.group_of_cell] / np.maximum(cells.weight, NO_WEIGHT)
    ratio = side.variance / mixture.side_scale() ** 2
    drift = EVEN_DRIFT * _expected_drift(mixture, ratio, mixture.defaults.side_drift)
    players = _player_levels(
        mixture, cells.mean, sampling, drift, population.side_drift / population.carry_drift
    )

    def shrunk(own: FloatArray, noise: FloatArray, members: IntArray) -> Shrunk:
        prior = side_prior_covariance(members.shape[1], population)
        return shrink(own, noise, np.zeros(members.shape), np.broadcast_to(prior, noise.shape))

    return _related(mixture, players, shrunk)


def _related(
    mixture: StrikeMixture,
    players: list[PlayerLevel],
    shrunk: Callable[[FloatArray, FloatArray, IntArray], Shrunk],
) -> CurrentLevels:
    """Return the levels of all groups, each leaning on its player's others."""
    groups = mixture.groups
    count = np.bincount(groups.player_of_group, minlength=groups.players)
    first = np.cumsum(count) - count
    own = np.concatenate([player.fit.level for player in players])
    mean, variance = np.empty(len(own)), np.empty(len(own))
    for size in np.unique(count):
        chosen = np.flatnonzero(count == size)
        members = first[chosen][:, None] + np.arange(size)
        noise = np.stack([players[number].fit.covariance for number in chosen])
        block = shrunk(own[members], noise, members)
        mean[members], variance[members] = block.mean, block.variance
    return CurrentLevels(mean, variance, players)


def _player_levels(
    mixture: StrikeMixture,
    value: FloatArray,
    sampling: FloatArray,
    drift: FloatArray,
    size: float = 1.0,
) -> list[PlayerLevel]:
    """Return the shared level of each player from the means of cells and their variances.

    The units are the player's groups in order; `drift` is the spread of a day expected of each,
    `size` how far their level moves against that of carry.
    """
    groups = mixture.groups
    player_of_cell = groups.player_of_group[groups.group_of_cell]
    ends = np.searchsorted(player_of_cell, np.arange(groups.players + 1))
    found = []
    for player in range(groups.players):
        chosen = np.arange(ends[player], ends[player + 1])
        group, visit = groups.group_of_cell[chosen], groups.visit_of_cell[chosen]
        node, age, days = visit_nodes(groups.started, visit)
        variance = np.minimum(sampling[chosen], 1.0 / NO_WEIGHT)
        visits, row = merged_visits(group - group.min(), node, value[chosen], variance, age, days)
        grid = player_grid(visits.age, float(drift[player]), mixture.population.shared_drift, size)
        found.append(PlayerLevel(visits, grid, shared_level(visits, grid), chosen, row))
    return found


def _expected_drift(mixture: StrikeMixture, ratio: FloatArray, usual: FloatArray) -> FloatArray:
    """Return the spread of a day expected of each player: more for one whose shots spread more."""
    groups = mixture.groups
    player = groups.player_of_group
    wider = sum_by(player, ratio, groups.players) / np.bincount(player, minlength=groups.players)
    return np.asarray(usual * np.sqrt(wider), dtype=np.float64)


def visit_nodes(started: FloatArray, visit: IntArray) -> tuple[IntArray, FloatArray, FloatArray]:
    """Return the place in time of visits, the oldest of many taken together.

    Parameters
    ----------
    started : array, shape (visits,)
        When each visit began [s]; NaN where unknown.
    visit : array of int, shape (rows,)
        Visit of each row of one player.

    Returns
    -------
    node : array of int, shape (rows,)
        Place of each row's visit, from 0.
    age, days : array, shape (nodes,)
        Visits since each place [1], and how many visits it stands for [1].

    Notes
    -----
    A visit without a date is taken as of the time of the oldest dated one: its day is its own, but
    it can't tell of change.
    """
    own = np.unique(visit)
    order = own[np.lexsort((own, started[own]))]  # NaN last
    dated = np.isfinite(started[order])
    order = np.concatenate([order[~dated], order[dated]])
    undated, count = int((~dated).sum()), len(order)
    age = np.arange(count - 1, -1, -1, dtype=np.float64)
    age[:undated] = max(count - undated - 1, 0)
    old = max(count - MOST_VISITS // 2, 0)
    spots = np.arange(count)
    if count > MOST_VISITS:
        spots = np.concatenate([spots[:old] * (MOST_VISITS // 2) // old, spots[old:]])
        spots[old:] += MOST_VISITS // 2 - old
    days = np.bincount(spots).astype(np.float64)
    place = np.empty(int(own.max()) + 1, dtype=np.int64)
    place[order] = spots
    return place[visit], np.bincount(spots, weights=age) / days, days


def merged_visits(
    unit: IntArray,
    node: IntArray,
    mean: FloatArray,
    variance: FloatArray,
    age: FloatArray,
    days: FloatArray,
) -> tuple[UnitVisits, IntArray]:
    """Return means of units on visits, those of one unit at one place taken together.

    Parameters
    ----------
    unit, node : array of int, shape (rows,)
        Unit and place of each mean.
    mean, variance : array, shape (rows,)
        ln of the mean [1] and its sampling variance [1].
    age, days : array, shape (nodes,)
        Visits since each place [1], and how many visits it stands for [1].

    Returns
    -------
    visits : UnitVisits
        One row a unit and place.
    row : array of int, shape (rows,)
        Row of each mean.
    """
    key = unit * len(age) + node
    kept, row = np.unique(key, return_inverse=True)
    weight = 1.0 / variance
    total = sum_by(row, weight, len(kept))
    visits = UnitVisits(
        kept // len(age),
        kept % len(age),
        sum_by(row, weight * mean, len(kept)) / total,
        1.0 / total,
        age,
        days,
    )
    return visits, row.astype(np.int64)
