"""Which wedge and swing for which distance, ranked by the miss to expect."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt
import polars as pl
from rangeledger.models.arrays import FloatArray
from rangeledger.models.clubs.nominal_carry import nominal_loft_deg
from rangeledger.models.clubs.shot_distribution import total_variance
from rangeledger.models.clubs.shot_groups import GROUP_KEYS
from rangeledger.models.coaching.expected_miss import expected_miss
from rangeledger.models.statistics.monotone_regression import rising_both_ways
from rangeledger.schemas.units import YARD_M

WEDGES: Final = "^(pitching|gap|sand|lob|[0-9]{2})-wedge$"
TARGETS_YD: Final = np.arange(30, 131, 5)
RANKS: Final = 3
# A target is a hole if the best choice misses by this much more than it would at its own
# distance, and no swing carries it to within half of a 5 yd step. Common practice, no source.
HOLE_FACTOR: Final = 1.25
CARRIES_TO_M: Final = 2.5 * YARD_M


def wedge_grid(
    parameters: pl.DataFrame,
    *,
    flights: pl.DataFrame | None = None,
    ranks: int = RANKS,
    targets_m: npt.ArrayLike | None = None,
) -> pl.DataFrame:
    """Return the best wedges and swings for each distance.

    Parameters
    ----------
    parameters : polars.DataFrame
        Parameter frame of a carry model: every group is a wedge and swing that was hit.
    flights : polars.DataFrame, optional
        One row a player, club, swing and ball, or a part of these keys: `apex_m` [m],
        `headwind_change_m` and `crosswind_side_m` [m], the change of carry against and of side
        across a wind that the caller chooses.
    ranks : int
        How many choices to give for each target.
    targets_m : array_like, optional
        Distances to cover [m], rising; else every 5 yd from 30 to 130.

    Returns
    -------
    polars.DataFrame
        One row a player, ball, target and rank: player, ball, `target_yd` (whole), `target_m`,
        `rank` from 1, club, swing, `carry_m` of clean strikes with `carry_se_m` (carries rise with
        the swing and fall with the loft), `carry_sd_m` of the next clean shot, `expected_miss_m`
        of the next shot, mishits included, shots, provisional, `hole`
        (no choice fits the target) and `hole_note` in words, `apex_m`, `headwind_change_m`,
        `crosswind_side_m` (null without `flights`), model_version.

    Notes
    -----
    Clock positions and feel labels are ordered by what they carry. Carries are moved as little
    as possible, weighed by their errors, until a longer swing never flies shorter with one
    wedge nor a stronger wedge shorter with one swing [dykstra1986].

    References
    ----------
    [dykstra1986]
    """
    wedges = parameters.filter(pl.col("club").cast(pl.String).str.contains(WEDGES))
    bags = [_monotone(bag) for bag in wedges.partition_by("player", "ball", maintain_order=True)]
    usual = TARGETS_YD.astype(np.float64) * YARD_M
    targets = usual if targets_m is None else np.asarray(targets_m, dtype=np.float64)
    grids = [_grid(bag, ranks, targets) for bag in bags]
    table = pl.concat(grids) if grids else _grid(wedges, ranks, targets)
    return _with_flights(table, flights)


def _monotone(bag: pl.DataFrame) -> pl.DataFrame:
    """Return a player's wedges with carries that rise with the swing and fall with the loft."""
    loft = np.array([nominal_loft_deg(club) for club in bag["club"].cast(pl.String)])
    log_carry = np.log(bag["carry_m"].to_numpy())
    weight = (bag["carry_m"] / bag["carry_se_m"]).to_numpy() ** 2
    _, wedge = np.unique(-loft, return_inverse=True)
    swing = _swing_order(bag, log_carry, wedge)
    # Two clubs of one loft would share a place: they keep their carries.
    place = wedge * (swing.max() + 1) + swing
    if len(np.unique(place)) < len(place):
        return bag
    table = np.full((wedge.max() + 1, swing.max() + 1), np.nan)
    weights = np.ones(table.shape)
    table[wedge, swing], weights[wedge, swing] = log_carry, weight
    moved = np.exp(rising_both_ways(table, weights)[wedge, swing])
    return bag.with_columns(carry_m=pl.Series(moved))


def _swing_order(
    bag: pl.DataFrame, log_carry: FloatArray, wedge: npt.NDArray[np.int64]
) -> npt.NDArray[np.int64]:
    """Return the place of each row's swing among the player's swings, shortest first."""
    swings = bag["swing"].cast(pl.String)
    names, number = np.unique(swings.to_numpy(), return_inverse=True)
    columns = np.column_stack([
        (number[:, None] == np.arange(len(names))).astype(np.float64),
        (wedge[:, None] == np.arange(1, wedge.max() + 1)).astype(np.float64),
    ])  # fmt: skip
    # Swings that share no wedge are held together by a weak pull to the mean.
    pull = 1e-3 * np.eye(columns.shape[1])
    effect = np.linalg.solve(columns.T @ columns + pull, columns.T @ (log_carry - log_carry.mean()))
    rank = np.empty(len(names), dtype=np.int64)
    rank[np.lexsort((names, effect[: len(names)]))] = np.arange(len(names))
    return rank[number]


def _grid(bag: pl.DataFrame, ranks: int, targets: FloatArray) -> pl.DataFrame:
    """Return the ranked choices of one player and ball for each target."""
    miss = expected_miss(bag, targets)
    order = np.argsort(miss, axis=0, kind="stable")[:ranks]
    own = expected_miss(bag, bag["carry_m"].to_numpy()).diagonal()
    carry = bag["carry_m"].to_numpy()
    carried = (np.abs(carry[:, None] - targets) <= CARRIES_TO_M).any(axis=0)
    best = _holes(miss, own, order) & ~carried
    target = np.broadcast_to(np.arange(len(targets)), order.shape)
    rows = bag.with_columns(carry_sd_m=pl.Series(np.sqrt(total_variance(bag)[0])))[order.ravel()]
    notes = [
        _note(bag, metres) if hole else None for metres, hole in zip(targets, best, strict=True)
    ]
    chosen = target.ravel()
    return rows.with_columns(
        target_yd=pl.Series(np.rint(targets[chosen] / YARD_M), dtype=pl.Int64),
        target_m=pl.Series(targets[chosen], dtype=pl.Float64),
        rank=pl.Series(np.repeat(np.arange(1, len(order) + 1), len(targets)), dtype=pl.Int64),
        expected_miss_m=pl.Series(np.take_along_axis(miss, order, axis=0).ravel()),
        hole_note=pl.Series([notes[i] for i in chosen], dtype=pl.String),
        provisional=pl.col("sessions") == 1,
    ).sort("target_m", "rank")


def _holes(
    miss: FloatArray, own: FloatArray, order: npt.NDArray[np.int64]
) -> npt.NDArray[np.bool_]:
    """Return which targets no choice fits."""
    if not len(own):
        return np.zeros(miss.shape[1], dtype=bool)
    best = np.take_along_axis(miss, order[:1], axis=0)[0]
    return np.asarray(best > HOLE_FACTOR * own[order[0]])


def _note(bag: pl.DataFrame, target_m: float) -> str:
    """Return which swings lie next to a target that none fits."""
    ordered = bag.sort("carry_m")
    carry = ordered["carry_m"] / YARD_M
    columns = [
        f"{club} {swing} ({yards:.0f} yd)"
        for club, swing, yards in zip(ordered["club"], ordered["swing"], carry, strict=True)
    ]
    above = int((carry < target_m / YARD_M).sum())
    if above == 0:
        return f"shorter than the shortest: {columns[0]}"
    if above == len(columns):
        return f"longer than the longest: {columns[-1]}"
    return f"between {columns[above - 1]} and {columns[above]}"


def _with_flights(table: pl.DataFrame, flights: pl.DataFrame | None) -> pl.DataFrame:
    """Add apex and wind, and put the columns in order."""
    extra = ("apex_m", "headwind_change_m", "crosswind_side_m")
    if flights is not None:
        keys = [name for name in GROUP_KEYS if name in flights.columns]
        extras = flights.select(*keys, *(name for name in extra if name in flights.columns))
        table = table.join(extras, on=keys, how="left", maintain_order="left")
    missing = [name for name in extra if name not in table.columns]
    table = table.with_columns(pl.lit(None, dtype=pl.Float64).alias(name) for name in missing)
    return table.select(
        "player", "ball", "target_yd", "target_m", "rank", "club", "swing", "carry_m",
        "carry_se_m", "carry_sd_m", "expected_miss_m", "shots", "provisional",
        pl.col("hole_note").is_not_null().alias("hole"), "hole_note", *extra, "model_version",
    )  # fmt: skip
