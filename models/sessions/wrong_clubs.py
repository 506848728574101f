"""Clubs of a session that carry as another club of the player does: swapped, or named wrongly."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import permutations
from typing import Final

import numpy as np
import polars as pl
from rangeledger.models.arrays import FloatArray

# How much better (twice the log likelihood) a session must fit with other names, beyond what the
# number of names that were tried explains. An ordinary session of a player whose days differ half
# as far again as usual is called so in fewer than 1 of 200 (simulated).
LEAST_GAIN: Final = 20.0
# A club called by another name must fit that one within so many of its errors.
CLOSE: Final = 3.0
# Fewer clubs than this don't tell which of them is wrong.
LEAST_CLUBS: Final = 3
# Clubs that carry alike can't be told apart by it [1].
LEAST_APART: Final = 0.03


@dataclass(frozen=True, slots=True)
class WrongClubs:
    """Clubs that fit better under other names.

    Attributes
    ----------
    clubs : tuple of int
        Columns of the clubs in question, one or two.
    looks_like : int
        Column of the club that the first looks like; of two, the second looks like the first.
    shift : array, shape (clubs,)
        ln carry of each club in question less its usual one, the session's own shift taken off.
    gain : float
        Twice the log likelihood gained by the other names.
    """

    clubs: tuple[int, ...]
    looks_like: int
    shift: FloatArray
    gain: float


def wrong_clubs(
    club_shift: FloatArray, variance: FloatArray, level: FloatArray, clubs: pl.DataFrame
) -> WrongClubs | None:
    """Return the clubs of a session that fit better under another name.

    Parameters
    ----------
    club_shift : array, shape (clubs,)
        ln carry of each club less its level [1]; NaN where it was not hit or has no past.
    variance : array, shape (clubs,)
        Variance of each [1].
    level : array, shape (clubs,)
        ln of the player's usual carry [ln m]; NaN without a past.
    clubs : polars.DataFrame
        club, swing, ball of each column; only the same swing and ball are held together.

    Returns
    -------
    WrongClubs or None
        The best exchange of two names or change of one, where it is beyond doubt.

    Notes
    -----
    The session's own shift is the median over its clubs, which two wrong ones can't move far. An
    exchange of a and b moves a by L_b - L_a and b by L_a - L_b.
    """
    hit = np.flatnonzero(np.isfinite(club_shift))
    if len(hit) < LEAST_CLUBS:
        return None
    rest = club_shift - np.median(club_shift[hit])
    kind = clubs.select(pl.struct("swing", "ball").rank("dense")).to_series().to_numpy()
    known = np.flatnonzero(np.isfinite(level))
    best: WrongClubs | None = None
    for one, other in permutations(known, 2):
        if one not in hit or kind[one] != kind[other]:
            continue
        apart = level[other] - level[one]
        if abs(apart) < LEAST_APART:
            continue
        chosen = (int(one), int(other)) if other in hit else (int(one),)
        moves = (apart, -apart)[: len(chosen)]
        for count in range(1, len(chosen) + 1):
            found = _exchange(chosen[:count], int(other), moves, rest, variance)
            if found is not None and (best is None or found.gain > best.gain):
                best = found
    tried = 2.0 * np.log(max(len(hit) * (len(known) - 1), 1))
    return best if best is not None and best.gain > LEAST_GAIN + tried else None


def _exchange(
    chosen: tuple[int, ...],
    looks_like: int,
    moves: tuple[float, ...],
    rest: FloatArray,
    variance: FloatArray,
) -> WrongClubs | None:
    """Return what other names gain, if every club fits its new one."""
    columns = list(chosen)
    spread = variance[columns]
    left = rest[columns] - np.array(moves[: len(columns)])
    if (left**2 > CLOSE**2 * spread).any():
        return None
    gain = float(((rest[columns] ** 2 - left**2) / spread).sum())
    return WrongClubs(chosen, looks_like, rest[columns], gain)
