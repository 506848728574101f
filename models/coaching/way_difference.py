"""How much farther one way of hitting carries than another, days and clubs taken into account."""

from __future__ import annotations

from typing import Final

import numpy as np
import polars as pl
from rangeledger.models.arrays import FloatArray, IntArray
from rangeledger.models.clubs.shot_groups import CARRY
from rangeledger.models.frame_arrays import group_numbers
from rangeledger.models.population import POPULATION
from rangeledger.models.statistics.level_step import LevelStep
from rangeledger.models.statistics.shared_level import DRIFT_GRID, DRIFT_LOG_SD

# The population's spread counts as so many shots beside the ways' own.
SPREAD_WEIGHT: Final = 10.0
# The ways share no club that tells their difference: nothing is known.
LEAST_INFORMATION: Final = 1e-6


def way_difference(first: pl.DataFrame, second: pl.DataFrame) -> LevelStep | None:
    """Return ln carry of the first way less that of the second, over the clubs both have.

    Parameters
    ----------
    first, second : polars.DataFrame
        Shots of the two ways: player, club, swing, session_id, strike, still_carry_m [m].

    Returns
    -------
    LevelStep or None
        The difference under each spread of days; None without a common club and swing.

    Notes
    -----
    Mean of a club and swing on a day = level of the club + way + the day, which all clubs share for
    the most part + sampling error; generalised least squares under each spread of days, weighed by
    the restricted likelihood [patterson1971]. What was hit both ways on one day has that day in
    common, and says far more than days apart. The spread within a day is the ways' own.

    References
    ----------
    [patterson1971]
    """
    same = not set(first["player"].unique()).isdisjoint(second["player"].unique())
    club = ["player", "club", "swing"] if same else ["club", "swing"]
    cells = pl.concat([_cells(first, 1.0), _cells(second, 0.0)])
    both = pl.col("way").n_unique().over(club) == 2
    cells = cells.filter(both)
    if not cells.height:
        return None
    spread = _spread(cells)
    cells = cells.with_columns(variance=spread**2 / pl.col("count"))
    unit, _ = group_numbers(cells, club)
    day, _ = group_numbers(cells, ["player", "session_id"])
    drift = POPULATION.carry_drift * spread / POPULATION.carry_spread
    return _least_squares(
        cells["mean"].to_numpy(), cells["variance"].to_numpy(), cells["way"].to_numpy(), unit, day,
        (drift * DRIFT_GRID) ** 2,
    )  # fmt: skip


def _cells(shots: pl.DataFrame, way: float) -> pl.DataFrame:
    """Mean and scatter of ln carry of each club and swing in each session."""
    log = pl.col(CARRY).log()
    return (
        shots.filter(pl.col("strike") == "clean", pl.col(CARRY) > 0.0)
        .group_by("player", "club", "swing", "session_id")
        .agg(
            log.mean().alias("mean"),
            ((log - log.mean()) ** 2).sum().alias("scatter"),
            pl.len().cast(pl.Float64).alias("count"),
        )
        .sort("player", "club", "swing", "session_id")
        .with_columns(way=pl.lit(way))
    )


def _spread(cells: pl.DataFrame) -> float:
    """Return the spread within a session [1], the population's counting as a few shots."""
    scatter = float(cells["scatter"].sum()) + SPREAD_WEIGHT * POPULATION.carry_spread**2
    freedom = float((cells["count"] - 1.0).sum()) + SPREAD_WEIGHT
    return float((scatter / freedom) ** 0.5)


def _least_squares(
    value: FloatArray,
    variance: FloatArray,
    way: FloatArray,
    unit: IntArray,
    day: IntArray,
    drift: FloatArray,
) -> LevelStep | None:
    """Return the coefficient of the way under each variance of a day."""
    levels = (unit[:, None] == np.arange(int(unit.max()) + 1)).astype(np.float64)
    columns = np.column_stack([levels, way])
    same_day = (day[:, None] == day).astype(np.float64)
    shared, value = POPULATION.shared_drift, value - value.mean()
    size, known, score = (np.empty(len(drift)) for _ in range(3))
    for number, of_day in enumerate(drift):
        total = of_day * (shared * same_day + (1.0 - shared) * np.eye(len(value)))
        total[np.diag_indices(len(value))] += variance
        weighed = np.linalg.solve(total, np.column_stack([columns, value]))
        information = columns.T @ weighed[:, :-1]
        if np.linalg.eigvalsh(information)[0] < LEAST_INFORMATION:
            return None
        inverse = np.linalg.inv(information)
        found = inverse @ (columns.T @ weighed[:, -1])
        rest = float(value @ weighed[:, -1] - found @ information @ found)
        logs = np.linalg.slogdet(total)[1] + np.linalg.slogdet(information)[1]
        size[number], known[number] = found[-1], inverse[-1, -1]
        score[number] = (
            -0.5 * (logs + rest) - 0.5 * (np.log(DRIFT_GRID[number]) / DRIFT_LOG_SD) ** 2
        )
    weight = np.exp(score - score.max())
    return LevelStep(*(x[None, None] for x in (weight / weight.sum(), size, known)))
