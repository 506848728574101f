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
    ordered = shots.sort("player", pl.col("struck_at").forward_fill().over("player"), "order")
    local_day = pl.col("struck_at").dt.convert_time_zone(zone.key).dt.date()
    filled = ordered.with_columns(
        pl.col("struck_at").forward_fill().over("player").alias("at"),
        local_day.forward_fill().over("player").alias("day"),
    )
    gap = pl.col("at").diff().over("player") >= pl.duration(hours=SESSION_GAP_H)
    new_day = pl.col("day") != pl.col("day").shift(1).over("player")
    started = (gap | new_day).fill_null(False).cast(pl.Int32).cum_sum().over("player")
    parted = filled.with_columns(started.alias("part"))
    first = parted.group_by("player", "part", maintain_order=True).agg(pl.col("at").min())
    ids = [
        _digest(player, at.isoformat() if at else source_file)
        for player, _, at in first.iter_rows()
    ]
    named = first.select("player", "part").with_columns(pl.Series("session_id", ids, pl.String))
    numbered = parted.join(named, on=["player", "part"], how="left", maintain_order="left")
    counted = pl.int_range(1, pl.len() + 1, dtype=pl.Int32).over("session_id")
    return (
        numbered.with_columns(counted.alias("shot_number")).sort("order").drop("at", "day", "part")
    )
