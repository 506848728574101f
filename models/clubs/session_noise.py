"""Errors of a player's centres, and how sessions that several clubs share tie them together."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from rangeledger.models.arrays import FloatArray, IntArray
from rangeledger.models.clubs.shot_groups import ShotGroups
from rangeledger.models.clubs.strike_mixture import Direction
from scipy import sparse


def noise_blocks(
    groups: ShotGroups, direction: Direction, scale: FloatArray, shared_drift: float
) -> Iterator[tuple[IntArray, FloatArray]]:
    """Yield the error covariance of each player's centres, players with as many groups at once.

    Parameters
    ----------
    groups : ShotGroups
        Sorted shots.
    direction : Direction
        Centres of carry or side with the weight of each session in them.
    scale : array, shape (groups,)
        Factor on the errors, e.g. the slope of the logarithm [1].
    shared_drift : float
        Share of the drift's variance that all clubs of one session have in common [1].

    Yields
    ------
    members : array of int, shape (players, n)
        Numbers of the groups of each player who has n of them.
    noise : array, shape (players, n, n)
        Covariance of the errors of their centres [1].

    Notes
    -----
    S_gh = shared tau^2 sum_s w_gs w_hs over the sessions s that both clubs were hit in; S_gg is
    the variance of the centre. Because a good day lifts every club, other clubs of the same
    session can't average it away.
    """
    shape = (groups.keys.height, groups.visits)
    weights = sparse.csr_matrix(
        (
            direction.share * scale[groups.group_of_cell],
            (groups.group_of_cell, groups.visit_of_cell),
        ),
        shape=shape,
    )
    product = (weights @ weights.T).tocoo()
    player = groups.player_of_group
    count = np.bincount(player, minlength=groups.players)
    first = np.cumsum(count) - count
    of_entry = player[product.row]
    row, column = product.row - first[of_entry], product.col - first[of_entry]
    value = product.data * shared_drift * direction.drift_variance[of_entry]
    own = direction.mean_variance * scale**2
    for n in np.unique(count):
        chosen = np.flatnonzero(count == n)
        place = np.full(groups.players, -1)
        place[chosen] = np.arange(len(chosen))
        entry = place[of_entry] >= 0
        noise = np.zeros((len(chosen), n, n))
        noise[place[of_entry[entry]], row[entry], column[entry]] = value[entry]
        members = first[chosen][:, None] + np.arange(n)
        noise[:, np.arange(n), np.arange(n)] = own[members]
        yield members, noise
