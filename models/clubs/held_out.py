"""Shots judged by a model that never saw their session: the honest share inside an ellipse."""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl
from rangeledger.models.clubs.carry_fit import empty_parameters, fit_part
from rangeledger.models.clubs.shot_distribution import region_radius, squared_distance
from rangeledger.models.clubs.shot_groups import CARRY, GROUP_KEYS, SIDE, group_shots
from rangeledger.models.population import POPULATION, Population

# A player with more sessions than this has them left out in blocks.
MOST_FOLDS = 10
PART_SHOTS = 100_000


def held_out_parameters(
    shots: pl.DataFrame, population: Population = POPULATION, most_folds: int = MOST_FOLDS
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Return the parameters learned without each session in turn, and the sessions' numbers.

    Parameters
    ----------
    shots : polars.DataFrame
        Shots as for `CarryModel.fit`.
    population : Population
        Defaults.
    most_folds : int
        Sessions of a player are left out one at a time, or in this many blocks if there are
        more.

    Returns
    -------
    parameters : polars.DataFrame
        Parameter frame with a column `fold`: learned from all other folds of the player.
    folds : polars.DataFrame
        player, session_id, fold.
    """
    needed = (*GROUP_KEYS, "session_id", "shot_number", CARRY, SIDE)
    sessions = shots.select("player", "session_id").unique().sort("player", "session_id")
    order = pl.int_range(pl.len()).over("player")
    folds = sessions.with_columns(fold=(order % most_folds).cast(pl.Int64))
    # Every shot is repeated for each fold that it is not in: only the columns that are needed.
    numbered = shots.select(name for name in needed if name in shots.columns).join(
        folds, on=["player", "session_id"]
    )
    each = folds.select("player", left_out="fold").unique()
    others = numbered.join(each, on="player").filter(pl.col("fold") != pl.col("left_out"))
    stand_in = pl.format("{}|{}", pl.col("left_out"), pl.col("player"))
    groups = group_shots(others.with_columns(player=stand_in))
    fits = [fit_part(part, population).parameters for part in groups.parts(PART_SHOTS)]
    if not fits:
        return empty_parameters(shots).with_columns(fold=pl.lit(0, pl.Int64)), folds
    words = pl.col("player").str.splitn("|", 2)
    parameters = pl.concat(fits).with_columns(
        fold=words.struct.field("field_0").cast(pl.Int64), player=words.struct.field("field_1")
    )
    return parameters, folds


def held_out_share(
    shots: pl.DataFrame, levels: Sequence[float], population: Population = POPULATION
) -> pl.DataFrame:
    """Return the share of shots inside ellipses that were drawn without their session.

    Parameters
    ----------
    shots : polars.DataFrame
        Shots as for `CarryModel.fit`.
    levels : sequence of float
        Shares that the ellipses should hold [1].
    population : Population
        Defaults.

    Returns
    -------
    polars.DataFrame
        player, club, swing, ball, `level`, `shots_held_out`, `share_inside` [1]. Only clubs that
        were hit in two sessions at least appear.
    """
    # Only what is needed: a canonical shot has a carry_m of its own, the parameters another.
    judged = (
        shots.filter(pl.col("club") != "putter")
        .select(*GROUP_KEYS, "session_id", CARRY, SIDE)
        .drop_nulls()
    )
    parameters, folds = held_out_parameters(shots, population)
    parameters = parameters.filter("side_known").with_columns(
        pl.Series(_radius_name(level), region_radius(parameters.filter("side_known"), level))
        for level in levels
    )
    wide = judged.join(folds, on=["player", "session_id"]).join(
        parameters.drop("shots"), on=[*GROUP_KEYS, "fold"]
    )
    distance = squared_distance(wide, wide[CARRY].to_numpy(), wide[SIDE].to_numpy())
    inside = [
        pl.Series(_radius_name(level), distance <= wide[_radius_name(level)].to_numpy() ** 2)
        for level in levels
    ]
    return _counted(wide.select(*GROUP_KEYS).with_columns(inside), levels)


def _counted(inside: pl.DataFrame, levels: Sequence[float]) -> pl.DataFrame:
    """Return shots and share inside of each group and level."""
    names = {_radius_name(level): level for level in levels}
    return (
        inside.unpivot(index=list(GROUP_KEYS), on=list(names), variable_name="name")
        .group_by(*GROUP_KEYS, "name")
        .agg(
            pl.len().cast(pl.Int64).alias("shots_held_out"),
            pl.col("value").mean().alias("share_inside"),
        )
        .with_columns(level=pl.col("name").replace_strict(names, return_dtype=pl.Float64))
        .select(*GROUP_KEYS, "level", "shots_held_out", "share_inside")
        .sort(*GROUP_KEYS, "level")
    )


def _radius_name(level: float) -> str:
    """Return the name of the column that holds the radius at a level."""
    return f"radius_{level}"
