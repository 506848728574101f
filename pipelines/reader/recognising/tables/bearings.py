"""Winds told by the compass: with the bearing of the target line they can be told from it."""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl
from rangeledger.pipelines.reader.recognising.columns.profile import Profile
from rangeledger.pipelines.reader.recognising.words.compass_words import (
    degrees_in,
    is_target_bearing,
)
from rangeledger.pipelines.reader.recognising.words.wind_counts import WindCount


def bearing_column(profiles: Sequence[Profile]) -> Profile | None:
    """The one column that states where the target lies by the compass, None if there is none."""
    found = [
        profile
        for profile in profiles
        if profile.numbers is not None
        and is_target_bearing(profile.heading.text, profile.heading.tags)
        and bool(profile.known.size)
        and bool(((profile.known >= 0.0) & (profile.known <= 360.0)).all())
    ]
    return found[0] if len(found) == 1 else None


def from_the_target_line(wind_from: pl.Series, bearing: pl.Series) -> pl.Series:
    """Where a wind comes from, clockwise from the target, of its compass direction [deg]."""
    return ((wind_from - bearing) % 360.0).alias(wind_from.name)


def target_bearing(profiles: Sequence[Profile], stated: pl.Series | None) -> pl.Series | None:
    """Where the target lies by the compass [deg], row by row: a column's, else a line's.

    Parameters
    ----------
    profiles : sequence of Profile
        All columns of a table.
    stated : pl.Series or None
        What lines above the table say of it, row by row.

    Returns
    -------
    pl.Series or None
        None where nothing says it.
    """
    profile = bearing_column(profiles)
    if profile is not None and profile.numbers is not None:
        return profile.numbers.value
    if stated is None:
        return None
    degrees = {text: degrees_in(text) for text in stated.drop_nulls().unique()}
    return stated.replace_strict(degrees, default=None, return_dtype=pl.Float64)


def recounted(wind_from: pl.Series, counts: pl.Series) -> pl.Series:
    """Where winds come from, clockwise from the target, of angles that are counted otherwise.

    Parameters
    ----------
    wind_from : pl.Series
        Angles as they stand there [deg].
    counts : pl.Series
        How each row's is counted, as text of a `WindCount`; null where nothing says it.

    Returns
    -------
    pl.Series
        Degrees.
    """
    origin = wind_from
    for text in counts.drop_nulls().unique():
        if (count := WindCount.of(text)) is not None:
            origin = count.origin(wind_from).zip_with(counts.eq_missing(text), origin)
    return origin.alias(wind_from.name)


def blown_towards(profiles: Sequence[Profile], bearing: pl.Series | None) -> pl.Series | None:
    """Where a wind comes from whose column says where it blows to.

    Parameters
    ----------
    profiles : sequence of Profile
        Columns that nobody claims.
    bearing : pl.Series or None
        Where the target lies by the compass [deg], if the export says it.

    Returns
    -------
    pl.Series or None
        Degrees clockwise from the target. None unless one column says both `wind` and `towards`
        and counts from the target, or from north where the target's bearing is known.
    """
    found = [p for p in profiles if p.heading.tags >= {"wind", "towards"} and p.numbers is not None]
    if len(found) != 1 or found[0].numbers is None or not found[0].numbers.clean:
        return None
    if "target" in found[0].heading.tags:
        return (found[0].numbers.value + 180.0) % 360.0
    return None if bearing is None else (found[0].numbers.value + 180.0 - bearing) % 360.0
