"""Shots judged by a model of the sessions before theirs: the honest share inside an ellipse."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import polars as pl
from rangeledger.models.clubs.carry_fit import empty_parameters, fit_part
from rangeledger.models.clubs.shot_distribution import region_radius, squared_distance
from rangeledger.models.clubs.shot_groups import CARRY, GROUP_KEYS, SIDE, group_shots
from rangeledger.models.population import POPULATION, Population

# So many of a player's last sessions are judged: each takes a fit of its own.
MOST_JUDGED = 10
PART_SHOTS = 100_000
# Nobody's own practice reaches so many with one club; the logs of a whole range do.
MOST_OF_GROUP = 20_000
# Each judged session learns as a player of its own: nobody's shots of later sessions tell.
_judged_player = pl.format("{}|{}", pl.col("judged"), pl.col("player"))


def forward_parameters(
    shots: pl.DataFrame,
    population: Population = POPULATION,
    handicaps: Mapping[str, float] | None = None,
    most: int = MOST_JUDGED,
    most_of_group: int = MOST_OF_GROUP,
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
    most_of_group : int
        Shots of a club, swing and ball that are learned from, the latest before the session.

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

    What n shots say of a spread is known to 1 / sqrt(2 n) of it, so that what is left out of long
    groups moves a share p inside by about (1 - p) ln(1 / (1 - p)) sqrt(2 / n), 0.004 at most for
    n = 20,000.
    """
    needed = (*GROUP_KEYS, "session_id", "shot_number", "struck_at", CARRY, SIDE)
    started = shots.group_by("player", "session_id").agg(pl.col("struck_at").min())
    place = pl.int_range(pl.len()).over("player").cast(pl.Int64)
    sessions = started.sort("player", "struck_at", "session_id").with_columns(place=place)
    last = pl.col("place") >= pl.col("place").max().over("player") - most + 1
    judged = sessions.filter(last, pl.col("place") > 0, pl.col("struck_at").is_not_null())
    numbered = shots.select(name for name in needed if name in shots.columns).join(
        sessions.select("player", "session_id", "place"), on=["player", "session_id"]
    )
    fits = []
    for some in _together(judged, numbered):
        before = _latest(_before(numbered, some), most_of_group)
        groups = group_shots(before.with_columns(player=_judged_player))
        of_judged = {
            f"{place}|{player}": (handicaps or {})[player]
            for player, place in some.iter_rows()
            if player in (handicaps or {})
        }
        fits += [
            fit_part(part, population, of_judged).parameters for part in groups.parts(PART_SHOTS)
        ]
    numbers = judged.select("player", "session_id", judged="place")
    if not fits:
        return empty_parameters(shots).with_columns(judged=pl.lit(0, pl.Int64)), numbers
    words = pl.col("player").str.splitn("|", 2)
    parameters = pl.concat(fits).with_columns(
        judged=words.struct.field("field_0").cast(pl.Int64), player=words.struct.field("field_1")
    )
    return parameters, numbers


def _together(judged: pl.DataFrame, numbered: pl.DataFrame) -> Iterator[pl.DataFrame]:
    """Player and place of judged sessions, in parts whose earlier shots are soon gone through."""
    shots = numbered.group_by("player", "place").len().sort("player", "place")
    upto = shots.with_columns(before=pl.col("len").cum_sum().over("player") - pl.col("len"))
    each = judged.select("player", "place").join(upto, on=["player", "place"], how="left")
    done = each["before"].fill_null(0).cum_sum() // PART_SHOTS
    pairs = each.select("player", judged="place")
    yield from pairs.with_columns(part=done).partition_by("part", include_key=False)


def _before(numbered: pl.DataFrame, some: pl.DataFrame) -> pl.DataFrame:
    """The shots before each of some sessions: repeated for each, so never for many at once."""
    return numbered.join(some, on="player").filter(pl.col("place") < pl.col("judged"))


def _latest(before: pl.DataFrame, most: int) -> pl.DataFrame:
    """The latest shots of each group before each session, where there are more."""
    groups = ["judged", *GROUP_KEYS]
    if before.height <= most or not (before.group_by(groups).len()["len"] > most).any():
        return before
    newest_first = before.sort("place", "shot_number", descending=True)
    return newest_first.filter(pl.int_range(pl.len()).over(groups) < most)


def held_out_share(
    shots: pl.DataFrame,
    levels: Sequence[float],
    population: Population = POPULATION,
    handicaps: Mapping[str, float] | None = None,
    most_of_group: int = MOST_OF_GROUP,
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
    most_of_group : int
        Shots of a club, swing and ball that are learned from, the latest before each session.

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
    parameters, sessions = forward_parameters(
        shots, population, handicaps, most_of_group=most_of_group
    )
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
