"""Shots judged by a model of the sessions before theirs: the honest share inside an ellipse."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import polars as pl
from rangeledger.models.clubs.carry_fit import empty_parameters, fit_part
from rangeledger.models.clubs.shot_distribution import region_radius, squared_distance
from rangeledger.models.clubs.shot_groups import CARRY, GROUP_KEYS, SIDE, group_shots
from rangeledger.models.population import POPULATION, Population

# So many of a player's last sessions are judged: each takes a fit of its own.
MOST_JUDGED = 10
PART_SHOTS = 100_000


def forward_parameters(
    shots: pl.DataFrame,
    population: Population = POPULATION,
    handicaps: Mapping[str, float] | None = None,
    most: int = MOST_JUDGED,
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Return the parameters as they were before each of a player's last sessions.

    Parameters
    ----------
    shots : polars.DataFrame
        Shots as for `CarryModel.fit`.
    population : Population
        Defaults.
    handicaps : mapping of str to float, optional
        Handicap by player [strokes], where it is known.
    most : int
        How many of a player's last sessions are judged.

    Returns
    -------
    parameters : polars.DataFrame
        Parameter frame with a column `judged`: learned from the sessions before that one.
    sessions : polars.DataFrame
        player, session_id, judged: sessions that have a date and one before them.

    Notes
    -----
    Nothing says what came before a session without a date: it counts as before all others, and is
    not judged.
    """
    needed = (*GROUP_KEYS, "session_id", "shot_number", "struck_at", CARRY, SIDE)
    started = shots.group_by("player", "session_id").agg(pl.col("struck_at").min())
    place = pl.int_range(pl.len()).over("player").cast(pl.Int64)
    sessions = started.sort("player", "struck_at", "session_id").with_columns(place=place)
    last = pl.col("place") >= pl.col("place").max().over("player") - most + 1
    judged = sessions.filter(last, pl.col("place") > 0, pl.col("struck_at").is_not_null())
    # Every shot is repeated for each later session that is judged: only the columns needed.
    numbered = shots.select(name for name in needed if name in shots.columns).join(
        sessions.select("player", "session_id", "place"), on=["player", "session_id"]
    )
    each = judged.select("player", judged="place")
    before = numbered.join(each, on="player").filter(pl.col("place") < pl.col("judged"))
    stand_in = pl.format("{}|{}", pl.col("judged"), pl.col("player"))
    groups = group_shots(before.with_columns(player=stand_in))
    told = {
        f"{place}|{player}": (handicaps or {})[player]
        for player, place in each.iter_rows()
        if player in (handicaps or {})
    }
    fits = [fit_part(part, population, told).parameters for part in groups.parts(PART_SHOTS)]
    numbers = judged.select("player", "session_id", judged="place")
    if not fits:
        return empty_parameters(shots).with_columns(judged=pl.lit(0, pl.Int64)), numbers
    words = pl.col("player").str.splitn("|", 2)
    parameters = pl.concat(fits).with_columns(
        judged=words.struct.field("field_0").cast(pl.Int64), player=words.struct.field("field_1")
    )
    return parameters, numbers


def held_out_share(
    shots: pl.DataFrame,
    levels: Sequence[float],
    population: Population = POPULATION,
    handicaps: Mapping[str, float] | None = None,
) -> pl.DataFrame:
    """Return the share of shots inside ellipses that were drawn before their session.

    Parameters
    ----------
    shots : polars.DataFrame
        Shots as for `CarryModel.fit`.
    levels : sequence of float
        Shares that the ellipses should hold [1].
    population : Population
        Defaults.
    handicaps : mapping of str to float, optional
        Handicap by player [strokes], where it is known.

    Returns
    -------
    polars.DataFrame
        player, club, swing, ball, `level`, `shots_held_out`, `share_inside` [1]. Only clubs that
        were hit in two sessions at least appear, the later one with a date.
    """
    if "struck_at" not in shots.columns:
        shots = shots.with_columns(struck_at=pl.lit(None, dtype=pl.Datetime("ms", "UTC")))
    # Only what is needed: a canonical shot has a carry_m of its own, the parameters another.
    judged = (
        shots.filter(pl.col("club") != "putter")
        .select(*GROUP_KEYS, "session_id", CARRY, SIDE)
        .drop_nulls()
    )
    parameters, sessions = forward_parameters(shots, population, handicaps)
    parameters = parameters.filter("side_known").with_columns(
        pl.Series(_radius_name(level), region_radius(parameters.filter("side_known"), level))
        for level in levels
    )
    wide = judged.join(sessions, on=["player", "session_id"]).join(
        parameters.drop("shots"), on=[*GROUP_KEYS, "judged"]
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
