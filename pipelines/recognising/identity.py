"""Identities: shot ids from the place in the file, sessions from player and time."""

from __future__ import annotations

import hashlib
from zoneinfo import ZoneInfo

import polars as pl

SESSION_GAP_H = 3
_ID_LENGTH = 20


def _digest(*parts: str) -> str:
    return hashlib.sha256("\x1f".join(parts).encode()).hexdigest()[:_ID_LENGTH]


def with_shot_ids(shots: pl.DataFrame, source_file: str) -> pl.DataFrame:
    """Add `shot_id`: the same row of the same file always gets the same.

    Parameters
    ----------
    shots : pl.DataFrame
        With `source_row` and `place_in_row` (0 unless one line holds several shots).
    source_file : str
        Content hash of the export.

    Returns
    -------
    pl.DataFrame
        The same with `shot_id`.
    """
    # A prefix of the content hash and the row: readable, unique and vectorised.
    row = pl.col("source_row").cast(pl.String)
    place = pl.col("place_in_row")
    suffix = pl.when(place > 0).then("." + place.cast(pl.String)).otherwise(pl.lit(""))
    return shots.with_columns((pl.lit(source_file[:16] + "-") + row + suffix).alias("shot_id"))


def with_sessions(shots: pl.DataFrame, source_file: str, zone: ZoneInfo) -> pl.DataFrame:
    """Add `session_id` and `shot_number`.

    Parameters
    ----------
    shots : pl.DataFrame
        With `player`, `struck_at` and `order` (place in the file).
    source_file : str
        Content hash of the export; identifies sessions without a time.
    zone : ZoneInfo
        Zone whose dates part sessions.

    Returns
    -------
    pl.DataFrame
        In the order of the file, with both columns.

    Notes
    -----
    Within a player, a gap of three hours or a new local date starts a new session. Shots without
    a time belong to the session of the shot before them.
    """
    told = shots.select("player", "struck_at", "order").with_columns(
        at=pl.col("struck_at").forward_fill().over("player")
    )
    local_day = pl.col("at").dt.convert_time_zone(zone.key).dt.date()
    started = (
        pl.col("player").ne_missing(pl.col("player").shift(1))
        | (pl.col("at").diff() >= pl.duration(hours=SESSION_GAP_H)).fill_null(False)
        | (local_day != local_day.shift(1)).fill_null(False)
    )
    # One number a session: a change of player, a long gap or a new day begins the next.
    parted = told.sort("player", "at", "order").with_columns(part=started.cum_sum() - 1)
    first = parted.group_by("part", maintain_order=True).agg(
        pl.col("player").first(), pl.col("at").min()
    )
    ids = [
        _digest(player, at.isoformat() if at else source_file)
        for _, player, at in first.iter_rows()
    ]
    named = parted.select(
        "order",
        pl.lit(pl.Series("ids", ids, pl.String)).gather(pl.col("part")).alias("session_id"),
        pl.int_range(1, pl.len() + 1, dtype=pl.Int32).over("part").alias("shot_number"),
    ).sort("order")
    return shots.sort("order").with_columns(named["session_id"], named["shot_number"])
