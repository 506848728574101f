"""Putting: how tightly putts start on their line, and how many that would hole from 5 ft."""

from __future__ import annotations

from typing import Final

import numpy as np
import polars as pl
from rangeledger.models.arrays import FloatArray, IntArray
from rangeledger.models.clubs.robust_location import group_mad, group_median
from rangeledger.models.clubs.session_variance import (
    cell_moments,
    degrees_of_freedom,
    within_variance,
)
from rangeledger.models.clubs.shot_groups import require_columns, sum_by
from rangeledger.models.coaching.hole_capture import start_line_tolerance_deg
from rangeledger.models.population import MODEL_VERSION
from rangeledger.schemas.units import FOOT_M
from scipy import special

LENGTH_M: Final = 5.0 * FOOT_M
# Paces: speed of the ball at the hole [m/s]; dead weight, firm, hard.
PACES_MPS: Final = {"dead_weight": 0.0, "firm": 0.5, "hard": 0.9}
# A start farther out than this many spreads is a misread line, not a stroke.
MISREAD: Final = 6.0
# Half a degree to one degree: common practice, no source.
RULE_DEG: Final = (0.5, 1.0)


def putting_start_line(shots: pl.DataFrame) -> pl.DataFrame:
    """Return the spread of start lines of each player's putts.

    Parameters
    ----------
    shots : polars.DataFrame
        One row a shot: player, club, session_id, launch_direction_deg; rows of other clubs than
        the putter and rows without a direction are left out.

    Returns
    -------
    polars.DataFrame
        One row a player: player, putts, sessions; `start_direction_deg` mean and
        `start_direction_se_deg`; `start_sd_deg` spread about each session's own line with
        `start_sd_low_deg`, `start_sd_high_deg` (90 %), null with one putt a session;
        `share_holed_dead_weight`, `share_holed_firm`, `share_holed_hard` [1] of 5 ft putts by
        hole geometry, the ball at 0, 0.5 and 0.9 m/s when it meets the hole, each with `_low`
        and `_high` (90 %); `against_rule_of_thumb` in words; model_version.

    Raises
    ------
    UsageError
        If a column is missing.

    Notes
    -----
    Spread: pooled within sessions, so a device set up askew on one day does not count; interval
    by chi-square. Share = 2 T_df(tolerance / spread) - 1 for putts aimed at the middle of the
    hole on a level green: speed and read are left out, so it is an upper bound.

    References
    ----------
    [penner2002b], [holmes1991]
    """
    require_columns(
        shots, ("player", "club", "session_id", "launch_direction_deg"), "A putting start line"
    )
    putts = _putts(shots)
    player, session = (putts[name].to_numpy() for name in ("player_index", "session_index"))
    angle = putts["launch_direction_deg"].to_numpy()
    keys = putts.group_by("player_index").agg(
        pl.col("player").first(),
        pl.len().cast(pl.Int64).alias("putts"),
        pl.col("session_index").n_unique().cast(pl.Int64).alias("sessions"),
    )
    keys = keys.sort("player_index").drop("player_index")
    sd, freedom = _spread(angle, session, player, keys.height)
    count = keys["putts"].to_numpy().astype(np.float64)
    mean = sum_by(player, angle, keys.height) / count
    return keys.with_columns(
        pl.Series("start_direction_deg", mean),
        pl.Series("start_direction_se_deg", sd / np.sqrt(count)),
        *_spread_columns(sd, freedom),
        *_holed_columns(sd, freedom),
        pl.Series("against_rule_of_thumb", [against_rule(value) for value in sd], dtype=pl.String),
        model_version=pl.lit(MODEL_VERSION),
    ).with_columns(pl.col(pl.Float64).fill_nan(None))


def _putts(shots: pl.DataFrame) -> pl.DataFrame:
    """Return the putts sorted and numbered, misread lines left out."""
    putts = (
        shots.filter(pl.col("club") == "putter")
        .select("player", "session_id", "launch_direction_deg")
        .drop_nulls("launch_direction_deg")
        .sort("player", "session_id", "launch_direction_deg")
    )
    putts = putts.with_columns(
        session_index=pl.struct("player", "session_id").rle_id().cast(pl.Int64),
        player_index=pl.col("player").rle_id().cast(pl.Int64),
    )
    angle, player = (putts[name].to_numpy() for name in ("launch_direction_deg", "player_index"))
    players = putts["player_index"].n_unique()
    middle, spread = group_median(angle, player, players), group_mad(angle, player, players)
    far = np.abs(angle - middle[player]) > MISREAD * np.where(spread > 0.0, spread, np.inf)[player]
    return putts.filter(pl.Series(~far)).with_columns(
        pl.col("session_index").rle_id().cast(pl.Int64)
    )


def _spread(
    angle: FloatArray, session: IntArray, player: IntArray, players: int
) -> tuple[FloatArray, FloatArray]:
    """Return the spread within sessions and its degrees of freedom."""
    sessions = int(session[-1]) + 1 if len(session) else 0
    moments = cell_moments(angle, np.ones(len(angle)), session, np.zeros(sessions))
    of_session = np.zeros(sessions, dtype=np.int64)
    of_session[session] = player
    freedom = sum_by(of_session, degrees_of_freedom(moments.weight), players)
    scatter = sum_by(of_session, moments.scatter, players)
    known = freedom > 0.0
    variance = within_variance(scatter, np.where(known, freedom, 1.0), 0.0, 0.0)
    return np.where(known, np.sqrt(variance), np.nan), freedom


def _limits(sd: FloatArray, freedom: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the 90 % interval of a spread."""
    some = np.maximum(freedom, 1.0)
    low = sd * np.sqrt(some / special.chdtri(some, 0.05))
    return low, sd * np.sqrt(some / special.chdtri(some, 0.95))


def _spread_columns(sd: FloatArray, freedom: FloatArray) -> list[pl.Series]:
    """Return the spread with its interval."""
    low, high = _limits(sd, freedom)
    names = ("start_sd_deg", "start_sd_low_deg", "start_sd_high_deg")
    return [pl.Series(name, value) for name, value in zip(names, (sd, low, high), strict=True)]


def _holed_columns(sd: FloatArray, freedom: FloatArray) -> list[pl.Series]:
    """Return the shares holed at each pace with their intervals."""
    low, high = _limits(sd, freedom)
    columns = []
    for pace, speed in PACES_MPS.items():
        tolerance = float(start_line_tolerance_deg(LENGTH_M, speed))
        name = f"share_holed_{pace}"
        share = 2.0 * special.stdtr(np.maximum(freedom, 1.0), tolerance / sd) - 1.0
        columns.append(pl.Series(name, share))
        columns.append(pl.Series(f"{name}_low", 2.0 * special.ndtr(tolerance / high) - 1.0))
        columns.append(pl.Series(f"{name}_high", 2.0 * special.ndtr(tolerance / low) - 1.0))
    return columns


def against_rule(sd_deg: float) -> str | None:
    """Return how a spread stands against the rule of thumb of half a degree to one degree.

    Parameters
    ----------
    sd_deg : float
        Spread of start lines [deg]; NaN where it is unknown.

    Returns
    -------
    str or None
        In words; None where the spread is unknown.
    """
    if not np.isfinite(sd_deg):
        return None
    if sd_deg <= RULE_DEG[0]:
        return "within half a degree"
    if sd_deg <= RULE_DEG[1]:
        return "between half a degree and one degree"
    return "beyond one degree"
