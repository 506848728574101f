"""Putting: how tightly putts start on their line, and how many that would hole from 5 ft."""

from __future__ import annotations

from typing import Final

import numpy as np
import polars as pl
import polars.selectors as cs
from rangeledger.models.arrays import FloatArray, IntArray
from rangeledger.models.clubs.robust_location import group_mad, group_median
from rangeledger.models.clubs.session_variance import (
    cell_moments,
    degrees_of_freedom,
    within_variance,
)
from rangeledger.models.clubs.shot_groups import require_columns, sum_by
from rangeledger.models.coaching.hole_capture import start_line_tolerance_deg
from rangeledger.models.coaching.putt_breaks import LEFT_TO_RIGHT, RIGHT_TO_LEFT
from rangeledger.models.population import MODEL_VERSION
from rangeledger.schemas.units import FOOT_M
from scipy import special

ALL_PUTTS: Final = "all"
LENGTH_M: Final = 5.0 * FOOT_M
# Paces: speed of the ball at the hole [m/s]; dead weight, firm, hard.
PACES_MPS: Final = {"dead_weight": 0.0, "firm": 0.5, "hard": 0.9}
# A start farther out than this many spreads is a misread line, not a stroke.
MISREAD: Final = 6.0
# Half a degree to one degree: common practice, no source.
RULE_DEG: Final = (0.5, 1.0)
# A device's own scatter of the start direction of a putt [deg]: at least, usually, at most. No
# export tells it; common practice, no source.
DEVICE_NOISE_DEG: Final = (0.0, 0.25, 0.5)
# At least so much of a measured spread is the player's [1].
LEAST_OWN: Final = 0.3
# How far off a device is set up from one day to the next [deg], and how many sessions that counts
# as; common practice, no source.
SETUP_SD_DEG: Final = 0.3
SETUP_WORTH: Final = 2.0
# Equally likely values of spread and of start direction behind the interval of a share.
_STEPS: Final = 24


def putting_start_line(
    shots: pl.DataFrame, device_noise_deg: tuple[float, float, float] = DEVICE_NOISE_DEG
) -> pl.DataFrame:
    """Return the spread of start lines of each player's putts.

    Parameters
    ----------
    shots : polars.DataFrame
        One row a shot: player, club, session_id, launch_direction_deg; rows of other clubs than
        the putter and rows without a direction are left out. Where it is known, `break`: which
        way the putt breaks, as `putt_breaks` tells.
    device_noise_deg : tuple of float
        Scatter of the device's own [deg]: at least, usually, at most.

    Returns
    -------
    polars.DataFrame
        One row a player and break, first `all` putts, then those whose break is known: player,
        break, putts, sessions; `start_direction_deg` mean and
        `start_direction_se_deg`; `start_sd_deg` spread about each session's own line, as
        measured, with `start_sd_low_deg`, `start_sd_high_deg` (90 %), null with one putt a
        session; `share_holed_dead_weight`, `share_holed_firm`, `share_holed_hard` [1] of 5 ft
        putts by hole geometry, the ball at 0, 0.5 and 0.9 m/s when it meets the hole, each with
        `_low` and `_high` (90 % or more), null for putts that break;
        `against_rule_of_thumb` in words; model_version.

    Raises
    ------
    UsageError
        If a column is missing.

    Notes
    -----
    Spread: pooled within sessions, so a device set up askew on one day does not count; interval
    by chi-square. Mean: its error holds how sessions differ, by moments, the usual set-up counting
    as two sessions. Share: ``T_df((t - b) / s) - T_df((-t - b) / s)`` with tolerance t, mean start
    direction b and the spread s less the device's usual scatter; speed and read are left out, so
    it is an upper bound. Its interval runs over equally likely spreads (chi-square) and means
    (normal), at its low end without scatter of the device, at its high end with the most.
    Break: putts that break start off the hole on purpose, so the geometry of a level green says
    nothing of their share; their mean start direction holds the line that was read. Misread lines
    are told by all putts of a player together.

    References
    ----------
    [penner2002b], [holmes1991]
    """
    require_columns(
        shots, ("player", "club", "session_id", "launch_direction_deg"), "A putting start line"
    )
    putts = _putts(shots)
    group, session = (putts[name].to_numpy() for name in ("group_index", "session_index"))
    angle = putts["launch_direction_deg"].to_numpy()
    keys = putts.group_by("group_index").agg(
        pl.col("player", "break").first(),
        pl.len().cast(pl.Int64).alias("putts"),
        pl.col("session_index").n_unique().cast(pl.Int64).alias("sessions"),
    )
    keys = keys.sort("group_index").drop("group_index")
    sd, freedom = _spread(angle, session, group, keys.height)
    mean, error = _direction(putts, sd)
    bends = pl.col("break").is_in([LEFT_TO_RIGHT, RIGHT_TO_LEFT])
    return keys.with_columns(
        pl.Series("start_direction_deg", mean),
        pl.Series("start_direction_se_deg", error),
        *_spread_columns(sd, freedom),
        *_holed_columns(sd, freedom, mean, error, device_noise_deg),
        pl.Series("against_rule_of_thumb", [against_rule(value) for value in sd], dtype=pl.String),
        model_version=pl.lit(MODEL_VERSION),
    ).with_columns(
        (cs.float() - cs.starts_with("share_holed")).fill_nan(None),
        pl.when(~bends).then(cs.starts_with("share_holed").fill_nan(None)).name.keep(),
    )


def _putts(shots: pl.DataFrame) -> pl.DataFrame:
    """Return the putts of each player and break sorted and numbered, misread lines left out."""
    known = pl.col("break") if "break" in shots.columns else pl.lit(None, dtype=pl.String)
    putts = (
        shots.filter(pl.col("club") == "putter")
        .select("player", "session_id", "launch_direction_deg", known.alias("break"))
        .drop_nulls("launch_direction_deg")
        .sort("player", "session_id", "launch_direction_deg")
    )
    putts = _without_misread(putts)
    told = pl.concat([
        putts.with_columns(pl.lit(ALL_PUTTS).alias("break")), putts.drop_nulls("break"),
    ]).sort("player", "break", "session_id", "launch_direction_deg")  # fmt: skip
    return told.with_columns(
        group_index=pl.struct("player", "break").rle_id().cast(pl.Int64),
        session_index=pl.struct("player", "break", "session_id").rle_id().cast(pl.Int64),
    )


def _without_misread(putts: pl.DataFrame) -> pl.DataFrame:
    """Return sorted putts without those that start far outside all others of their player."""
    player = putts.select(pl.col("player").rle_id().cast(pl.Int64)).to_series().to_numpy()
    angle, players = putts["launch_direction_deg"].to_numpy(), putts["player"].n_unique()
    middle, spread = group_median(angle, player, players), group_mad(angle, player, players)
    far = np.abs(angle - middle[player]) > MISREAD * np.where(spread > 0.0, spread, np.inf)[player]
    return putts.filter(pl.Series(~far))


def _spread(
    angle: FloatArray, session: IntArray, group: IntArray, groups: int
) -> tuple[FloatArray, FloatArray]:
    """Return the spread within sessions and its degrees of freedom."""
    sessions = int(session[-1]) + 1 if len(session) else 0
    moments = cell_moments(angle, np.ones(len(angle)), session, np.zeros(sessions))
    of_session = np.zeros(sessions, dtype=np.int64)
    of_session[session] = group
    freedom = sum_by(of_session, degrees_of_freedom(moments.weight), groups)
    scatter = sum_by(of_session, moments.scatter, groups)
    known = freedom > 0.0
    variance = within_variance(scatter, np.where(known, freedom, 1.0), 0.0, 0.0)
    return np.where(known, np.sqrt(variance), np.nan), freedom


def _direction(putts: pl.DataFrame, sd: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the mean start direction and its error, sessions alike."""
    # Kept in order, since the last digit of a sum hangs on it.
    sessions = putts.group_by("group_index", "session_index", maintain_order=True).agg(
        pl.col("launch_direction_deg").mean().alias("mean"), pl.len().alias("putts")
    )
    of_group = sessions.group_by("group_index", maintain_order=True).agg(
        pl.col("mean").mean(), pl.col("mean").var().fill_null(0.0).alias("between"),
        (1.0 / pl.col("putts")).mean().alias("noise"), pl.len().alias("sessions"),
    ).sort("group_index")  # fmt: skip
    count = of_group["sessions"].to_numpy().astype(np.float64)
    noise = np.where(np.isfinite(sd), sd, 0.0) ** 2 * of_group["noise"].to_numpy()
    beyond = (count - 1.0) * (of_group["between"].to_numpy() - noise)
    worth = SETUP_WORTH + count - 1.0
    setup = np.maximum(SETUP_WORTH * SETUP_SD_DEG**2 + beyond, 0.0) / worth
    return of_group["mean"].to_numpy(), np.sqrt((setup + noise) / count)


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


def _holed_columns(
    sd: FloatArray,
    freedom: FloatArray,
    mean: FloatArray,
    error: FloatArray,
    device_noise_deg: tuple[float, float, float],
) -> list[pl.Series]:
    """Return the shares holed at each pace with their intervals."""
    least, usual, most = device_noise_deg
    some = np.maximum(freedom, 1.0)
    steps = (np.arange(_STEPS) + 0.5) / _STEPS
    spreads = (sd * np.sqrt(some))[:, None] / np.sqrt(special.chdtri(some[:, None], steps))
    means = mean[:, None] + error[:, None] * special.ndtri(steps)
    columns = []
    for pace, speed in PACES_MPS.items():
        tolerance = float(start_line_tolerance_deg(LENGTH_M, speed))
        own = _own(sd, usual)
        share = special.stdtr(some, (tolerance - mean) / own)
        share -= special.stdtr(some, (-tolerance - mean) / own)
        columns.append(pl.Series(f"share_holed_{pace}", share))
        for end, noise, level in (("low", least, 0.05), ("high", most, 0.95)):
            scale = _own(spreads, noise)[:, :, None]
            ways = special.ndtr((tolerance - means[:, None, :]) / scale)
            ways -= special.ndtr((-tolerance - means[:, None, :]) / scale)
            limit = np.quantile(ways.reshape(len(sd), _STEPS**2), level, axis=1)
            columns.append(pl.Series(f"share_holed_{pace}_{end}", limit))
    return columns


def _own(sd: FloatArray, noise_deg: float) -> FloatArray:
    """Return what is left of a spread without the scatter of the device."""
    return np.sqrt(np.maximum(sd**2 - noise_deg**2, (LEAST_OWN * sd) ** 2))


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
