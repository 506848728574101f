"""Identities: shot ids from the place in the file, sessions from player and time."""

from __future__ import annotations

import hashlib
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import polars as pl

SESSION_GAP_H = 3
_SESSION_GAP_MS = SESSION_GAP_H * 3_600_000
_UNKNOWN, _NEVER = np.iinfo(np.int64).min, np.iinfo(np.int64).max
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
    parts = [pl.lit(source_file[:16] + "-"), pl.col("source_row").cast(pl.String)]
    place = pl.col("place_in_row")
    if shots["place_in_row"].max():  # only tables whose shots are columns have several on a line
        parts.append(pl.when(place > 0).then("." + place.cast(pl.String)).otherwise(pl.lit("")))
    return shots.with_columns(pl.concat_str(parts).alias("shot_id"))


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
    shots = shots if shots["order"].is_sorted() else shots.sort("order")
    at = shots["struck_at"]
    if at.has_nulls():
        at = shots.select(pl.col("struck_at").forward_fill().over("player")).to_series()
    day = _or_least(at.dt.convert_time_zone(zone.key).dt.date().cast(pl.Int32))
    time = _or_least(at.cast(pl.Int64))
    player = shots["player"].cast(pl.Categorical).to_physical().to_numpy()
    rows = np.lexsort((time, player))  # of equals the first in the file
    player, time, day = player[rows], time[rows], day[rows]
    timed = time[:-1] != _UNKNOWN
    started = np.ones(len(rows), np.bool_)
    started[1:] = (np.diff(player) != 0) | (
        timed & ((np.diff(time) >= _SESSION_GAP_MS) | (np.diff(day) != 0))
    )
    session = np.cumsum(started) - 1
    first = np.flatnonzero(started)
    ids = _session_ids(shots["player"].gather(rows[first]), _first_times(time, first), source_file)
    place = np.empty_like(rows)
    place[rows] = np.arange(len(rows))
    number = (np.arange(len(rows)) - first[session] + 1)[place]
    return shots.with_columns(
        ids.gather(session[place]).alias("session_id"),
        pl.Series("shot_number", number, pl.Int32),
    )


def _or_least(values: pl.Series) -> npt.NDArray[np.int64]:
    """Whole numbers with the least of all where nothing is known."""
    whole = values.cast(pl.Int64)
    return (whole.fill_null(_UNKNOWN) if whole.has_nulls() else whole).to_numpy()


def _first_times(time: npt.NDArray[np.int64], first: npt.NDArray[np.int64]) -> pl.Series:
    """The first known time of each session, null where none is."""
    known = np.where(time == _UNKNOWN, _NEVER, time)
    earliest = np.minimum.reduceat(known, first) if first.size else known
    instants = [None if ms == _NEVER else ms for ms in earliest.tolist()]
    return pl.Series(instants, dtype=pl.Int64).cast(pl.Datetime("ms", "UTC"))


def _session_ids(players: pl.Series, times: pl.Series, source_file: str) -> pl.Series:
    ids = [
        _digest(player, at.isoformat() if at else source_file)
        for player, at in zip(players, times, strict=True)
    ]
    return pl.Series(ids, dtype=pl.String)
