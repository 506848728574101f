"""A player's shots, sorted and numbered by player, club, session and shot.

Everything downstream sums over these numbers with `sum_by`. Shots are sorted inside, so the
same shots give the same numbers in whatever order they arrive.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
import polars as pl
from rangeledger.models.arrays import FloatArray, IntArray
from rangeledger.schemas.errors import UsageError

GROUP_KEYS: Final = ("player", "club", "swing", "ball")
CARRY: Final = "still_carry_m"
SIDE: Final = "still_side_m"


@dataclass(frozen=True, slots=True)
class ShotGroups:
    """Shots of one or many players in sorted order, with the numbers of what they belong to.

    A group is one player, club, swing and ball; a visit is one player's session; a cell is the
    part of a visit that was hit in one group.

    Attributes
    ----------
    keys : polars.DataFrame
        One row a group: player, club, swing, ball, shots, sessions, middle_carry_m.
    row : array of int
        Row of the input frame that each sorted shot came from.
    carry, side : array
        Still-air carry and side of each sorted shot [m]; side is NaN where unknown.
    cell_of_shot, group_of_cell, visit_of_cell, player_of_group : array of int
        Numbers from 0 without gaps, each rising with the sorted shots.
    visit_keys : polars.DataFrame
        One row a visit: player, session_id.
    started : array
        When each visit began [s since 1970]; NaN where no shot of it has a time.
    players, visits : int
        How many there are.
    """

    keys: pl.DataFrame
    row: IntArray
    carry: FloatArray
    side: FloatArray
    cell_of_shot: IntArray
    group_of_cell: IntArray
    visit_of_cell: IntArray
    player_of_group: IntArray
    visit_keys: pl.DataFrame
    started: FloatArray
    players: int
    visits: int

    @property
    def group_of_shot(self) -> IntArray:
        """Number of the group of each sorted shot."""
        return self.group_of_cell[self.cell_of_shot]

    def parts(self, shots: int) -> Iterator[ShotGroups]:
        """Yield whole players in turn, about so many shots at once.

        Parameters
        ----------
        shots : int
            Shots that a part should hold, so that its arrays fit into the processor's cache.

        Yields
        ------
        ShotGroups
            Consecutive players, numbered from 0 again.
        """
        player_of_shot = self.player_of_group[self.group_of_shot]
        ends = np.searchsorted(player_of_shot, np.arange(self.players), side="right")
        first = 0
        while first < self.players:
            done = ends[first - 1] if first else 0
            last = max(int(np.searchsorted(ends, done + shots, side="right")), first + 1)
            yield self._players(first, last)
            first = last

    def _players(self, first: int, last: int) -> ShotGroups:
        """Return the players with the numbers from `first` up to and without `last`."""
        if first == 0 and last >= self.players:
            return self
        group = slice(*np.searchsorted(self.player_of_group, (first, last)))
        cell = slice(*np.searchsorted(self.group_of_cell, (group.start, group.stop)))
        shot = slice(*np.searchsorted(self.cell_of_shot, (cell.start, cell.stop)))
        visit = self.visit_of_cell[cell]
        return ShotGroups(
            keys=self.keys[group],
            row=self.row[shot],
            carry=self.carry[shot],
            side=self.side[shot],
            cell_of_shot=self.cell_of_shot[shot] - cell.start,
            group_of_cell=self.group_of_cell[cell] - group.start,
            visit_of_cell=visit - visit.min(),
            player_of_group=self.player_of_group[group] - first,
            visit_keys=self.visit_keys[int(visit.min()) : int(visit.max()) + 1],
            started=self.started[visit.min() : visit.max() + 1],
            players=last - first,
            visits=int(visit.max() - visit.min()) + 1,
        )

    def middle_carry(self) -> FloatArray:
        """Return the median carry of each group [m]."""
        return self.keys["middle_carry_m"].to_numpy()


def sum_by(index: IntArray, values: FloatArray, count: int) -> FloatArray:
    """Return the sums of values that share a number.

    Parameters
    ----------
    index : array of int, shape (n,)
        Number of the sum that each value belongs to, 0 to `count` - 1.
    values : array, shape (n,)
        What to add [any unit].
    count : int
        How many sums there are.

    Returns
    -------
    array, shape (count,)
        Sums [unit of `values`]; 0 where nothing belongs.

    Notes
    -----
    Values are added one by one in their order, so a sum never depends on its neighbours.
    """
    return np.bincount(index, weights=values, minlength=count).astype(np.float64, copy=False)


def require_columns(frame: pl.DataFrame, names: tuple[str, ...], task: str) -> None:
    """Raise if a frame lacks columns that a task needs.

    Parameters
    ----------
    frame : polars.DataFrame
        What was handed in.
    names : tuple of str
        Canonical names that must be there.
    task : str
        What they are needed for, for the message.

    Raises
    ------
    UsageError
        Names the missing columns.
    """
    missing = [name for name in names if name not in frame.columns]
    if missing:
        raise UsageError(
            f"{task} needs the column{'s' * (len(missing) > 1)} {', '.join(missing)}, which the "
            f"table of shots does not have. Hand in shots with their canonical column names."
        )


def group_shots(shots: pl.DataFrame) -> ShotGroups:
    """Return shots sorted and numbered by group, session and shot.

    Parameters
    ----------
    shots : polars.DataFrame
        One row a shot: player, club, swing, ball, session_id, shot_number, still_carry_m [m],
        and still_side_m [m] and struck_at where known; other columns are ignored.

    Returns
    -------
    ShotGroups
        Shots with a positive carry and a club other than the putter.

    Raises
    ------
    UsageError
        If a column is missing.
    """
    require_columns(shots, (*GROUP_KEYS, "session_id", "shot_number", CARRY), "A carry model")
    if SIDE not in shots.columns:
        shots = shots.with_columns(pl.lit(None, dtype=pl.Float64).alias(SIDE))
    if "struck_at" not in shots.columns:
        shots = shots.with_columns(struck_at=pl.lit(None, dtype=pl.Datetime("ms", "UTC")))
    return _numbered(_usable(shots))


def _usable(shots: pl.DataFrame) -> pl.DataFrame:
    """Return the shots that have a carry, with the columns that are needed and no others."""
    needed = (*GROUP_KEYS, "session_id", "shot_number", "struck_at", CARRY, SIDE)
    carry = pl.col(CARRY)
    return (
        shots.lazy()
        .select(*needed)
        .with_row_index("row")
        .filter(carry.is_finite() & (carry > 0.0) & (pl.col("club").cast(pl.String) != "putter"))
        .with_columns(pl.col(SIDE).cast(pl.Float64).fill_null(float("nan")))
        .collect()
    )


def _numbered(shots: pl.DataFrame) -> ShotGroups:
    """Number groups and visits, sort by the numbers, and number the cells."""
    keys, shots = _numbered_by(shots, GROUP_KEYS, "group")
    visits, shots = _numbered_by(shots, ("player", "session_id"), "visit")
    shots = shots.sort("group", "visit", "shot_number", CARRY, SIDE, nulls_last=True)
    group, visit = (shots[name].to_numpy().astype(np.int64) for name in ("group", "visit"))
    starts = np.ones(len(group), dtype=bool)
    starts[1:] = (np.diff(group) != 0) | (np.diff(visit) != 0)
    player_of_group = _runs(keys["player"])
    return ShotGroups(
        keys=_with_counts(keys, shots),
        row=shots["row"].to_numpy().astype(np.int64),
        carry=shots[CARRY].cast(pl.Float64).to_numpy(),
        side=shots[SIDE].to_numpy(),
        cell_of_shot=np.cumsum(starts) - 1,
        group_of_cell=group[starts],
        visit_of_cell=visit[starts],
        player_of_group=player_of_group,
        visit_keys=visits.drop("visit"),
        started=_started(shots, visits.height),
        players=int(player_of_group[-1]) + 1 if len(player_of_group) else 0,
        visits=visits.height,
    )


def _started(shots: pl.DataFrame, visits: int) -> FloatArray:
    """Return when each visit began [s], NaN where nobody says."""
    first = shots.group_by("visit").agg(pl.col("struck_at").min()).drop_nulls("struck_at")
    started = np.full(visits, np.nan)
    seconds = first["struck_at"].cast(pl.Datetime("ms")).dt.epoch("ms").to_numpy() / 1000.0
    started[first["visit"].to_numpy().astype(np.int64)] = seconds
    return started


def _numbered_by(
    shots: pl.DataFrame, by: tuple[str, ...], number: str
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Return the distinct keys in order, and the shots with the number of their key."""
    words = [pl.col(name).cast(pl.String) for name in by]
    distinct = shots.select(by).unique().sort(*words).with_row_index(number)
    joined = shots.join(distinct, on=list(by), how="left", nulls_equal=True)
    return distinct, joined


def _runs(values: pl.Series) -> IntArray:
    """Return 0 for the first run of equal values, 1 for the next, and so on."""
    return values.rle_id().to_numpy().astype(np.int64)


def _with_counts(keys: pl.DataFrame, shots: pl.DataFrame) -> pl.DataFrame:
    """Return the keys with shots, sessions and the median carry of each group."""
    counts = shots.group_by("group").agg(
        pl.len().cast(pl.Int64).alias("shots"),
        pl.col("visit").n_unique().cast(pl.Int64).alias("sessions"),
        pl.col(CARRY).median().alias("middle_carry_m"),
    )
    return keys.join(counts, on="group", how="left", maintain_order="left").drop("group")
