"""Start direction and curve of each club, the stock shape in trade words, and what it is worth.

The curve is the angle from the start direction to the landing point, in still air. One
dependable shape needs less fairway than a miss to both sides: the width it would save is said.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np
import polars as pl
from rangeledger.models.arrays import FloatArray
from rangeledger.models.clubs.robust_location import group_mad, huber_mean
from rangeledger.models.clubs.shot_groups import CARRY, SIDE, require_columns
from rangeledger.models.coaching.two_curves import two_curves
from rangeledger.models.population import MODEL_VERSION
from rangeledger.models.statistics.share_interval import share_interval

# A start or a curve within this angle counts as straight, beyond the larger one as a hook or a
# slice; a club misses to both sides if this share curves the other way. Common practice, no
# source.
STRAIGHT_DEG: Final = 1.0
SEVERE_DEG: Final = 6.0
TWO_WAY_SHARE: Final = 0.25
# The fairway width that is compared holds this share of the shots.
WIDTH_SHARE: Final = 0.8
# Fewer shots than this say nothing of a width.
LEAST_FOR_WIDTH: Final = 8
# Share of the variance of start and curve that lies between days, and how many sessions that
# counts as; common practice, no source.
USUAL_DAYS: Final = 0.05
DAYS_WEIGHT: Final = 4.0
BOOTSTRAPS: Final = 200
MOST_DRAWN: Final = 2_000
KEYS: Final = ("player", "club")


def shot_shape(shots: pl.DataFrame, *, handedness: Mapping[str, str] | None = None) -> pl.DataFrame:
    """Return the shape of each player's clubs.

    Parameters
    ----------
    shots : polars.DataFrame
        One row a shot: player, club, swing, launch_direction_deg, still_carry_m, still_side_m
        [m]; `strike` if it is known, to leave mishits out. Shots without one of these count
        for nothing; putts are left out; partial swings count only for clubs without full ones.
    handedness : mapping of str to str, optional
        `right` or `left` for each player; without it the words are of sides, not of the trade.

    Returns
    -------
    polars.DataFrame
        One row a player and club: player, club, shots; `start_direction_deg`, `curve_deg` with
        `_se_deg` and `_sd_deg` (right positive); `share_curving_right`, `share_curving_left`,
        `share_straight`; `stock_shape` in words, named by the curve that comes most often of the
        three; `share_stock_shape` with `share_stock_low`, `share_stock_high` (90 %): shots that
        curve so; `share_other_shape` with `share_other_low`, `share_other_high`
        (90 %): shots that curve to the other side; `two_way`; `width_m` that holds 80 % of the
        shots, `width_stock_m` that holds 80 % of those of the stock shape alone and
        `width_gain_m` with `width_gain_se_m`, null unless two curves explain the shots better
        than one; model_version.

    Raises
    ------
    UsageError
        If a column is missing.

    Notes
    -----
    curve = atan2(side, carry) - start direction. Centres are Huber's, spreads the MAD; errors and
    shares count the shots for what they are worth once days have ways of their own [kish1965]. The
    shots of one curve are cut narrower by leaving a side out, too: that is no gain. Widths run
    from the 10 % to the 90 % point of side; their error is the spread over 200 resamples with a
    fixed seed; of more than 2,000 shots so many are drawn, and the spread taken times
    sqrt(drawn / shots) [politis1999].
    """
    needed = (*KEYS, "swing", "launch_direction_deg", CARRY, SIDE)
    require_columns(shots, needed, "A shot shape")
    return _table(_usable(shots), handedness or {})


def _usable(shots: pl.DataFrame) -> pl.DataFrame:
    """Return clean strikes with start and curve, sorted."""
    needed = [*KEYS, "session_id", "swing", "launch_direction_deg", CARRY, SIDE]
    dated = "session_id" in shots.columns
    if not dated:
        shots = shots.with_columns(session_id=pl.lit(""))
    clean = pl.col("strike").ne_missing("mishit") if "strike" in shots.columns else pl.lit(True)
    landing = pl.arctan2(pl.col(SIDE), pl.col(CARRY)).degrees()
    full = pl.col("swing") == "full"
    used = (
        shots.filter(clean, pl.col("club") != "putter")
        .select(needed)
        .drop_nulls()
        .filter(full | ~full.any().over(KEYS))
        .with_columns(start=pl.col("launch_direction_deg"))
        .with_columns(curve=landing - pl.col("start"))
        .sort(*KEYS, "session_id", "start", "curve", CARRY, SIDE)
    )
    # Without sessions nothing says that any two shots share a day.
    return used if dated else used.with_columns(session_id=pl.int_range(pl.len()).cast(pl.String))


def _table(used: pl.DataFrame, handedness: Mapping[str, str]) -> pl.DataFrame:
    """Return the table of shapes."""
    index = pl.struct(KEYS).rle_id().cast(pl.Int64)
    used = used.with_columns(index.alias("index"))
    keys = used.group_by("index").agg(pl.col(*KEYS).first(), pl.len().alias("shots")).sort("index")
    moments = {"start": _moments(used, "start", keys), "curve": _moments(used, "curve", keys)}
    curve = pl.col("curve")
    shares = used.group_by("index").agg(
        (curve > STRAIGHT_DEG).mean().alias("share_curving_right"),
        (curve < -STRAIGHT_DEG).mean().alias("share_curving_left"),
        (curve.abs() <= STRAIGHT_DEG).mean().alias("share_straight"),
    )
    names = {"start": "start_direction", "curve": "curve"}
    worth = _worth(used, moments["curve"][2], keys)
    table = keys.join(shares, on="index").sort("index").with_columns(
        worth=pl.Series(worth)
    ).with_columns(
        pl.Series(f"{names[what]}{end}_deg", values)
        for what, columns in moments.items()
        for end, values in zip(("", "_se", "_sd"), columns, strict=True)
    )  # fmt: skip
    return _finished(_with_widths(_with_stock_and_other(table), used), handedness)


def _moments(
    used: pl.DataFrame, name: str, keys: pl.DataFrame
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return centre, its standard error and spread of an angle in each group."""
    values, index = used[name].to_numpy(), used["index"].to_numpy()
    count = keys["shots"].to_numpy().astype(np.float64)
    scale = group_mad(values, index, len(count))
    spread = np.where(count > 1.0, scale, np.nan)
    error = spread / np.sqrt(_worth(used, spread, keys, name))
    return huber_mean(values, index, len(count), scale), error, spread


def _worth(
    used: pl.DataFrame, spread: FloatArray, keys: pl.DataFrame, name: str = "curve"
) -> FloatArray:
    """Return how many shots apart the shots of each group are worth: days have ways of their own.

    n / (1 + (m - 1) r), m the shots a session and r the share of variance between sessions, by
    moments, the usual one counting as some sessions [kish1965].
    """
    # Kept in order, since the last digit of a sum hangs on it.
    cells = used.group_by("index", "session_id", maintain_order=True).agg(
        pl.col(name).mean(), pl.len().alias("n")
    )
    groups = cells.with_columns(
        away=(pl.col(name) - pl.col(name).mean().over("index")) ** 2
    ).group_by("index", maintain_order=True).agg(
        pl.col("away").sum(), (1.0 / pl.col("n")).mean().alias("noise"),
        pl.len().alias("sessions"), (pl.col("n") ** 2).sum() / pl.col("n").sum(),
    ).sort("index")  # fmt: skip
    variance = np.where(np.isfinite(spread) & (spread > 0.0), spread, 1.0) ** 2
    sessions = groups["sessions"].to_numpy().astype(np.float64)
    between = groups["away"].to_numpy() - (sessions - 1.0) * variance * groups["noise"].to_numpy()
    share = USUAL_DAYS * DAYS_WEIGHT + np.maximum(between, 0.0) / variance
    share = np.minimum(share / (DAYS_WEIGHT + sessions - 1.0), 1.0)
    each, count = groups["n"].to_numpy(), keys["shots"].to_numpy().astype(np.float64)
    return np.asarray(count / (1.0 + (each - 1.0) * share))


def _with_stock_and_other(table: pl.DataFrame) -> pl.DataFrame:
    """Add the side of the stock curve, its share and the share of the other one."""
    right, left, curve = (
        pl.col(name) for name in ("share_curving_right", "share_curving_left", "curve_deg")
    )
    straight = pl.col("share_straight")
    table = table.with_columns(
        stock_side=pl.when(right > left).then(1).when(left > right).then(-1).otherwise(0),
        stock_turn=pl.when(straight >= pl.max_horizontal(right, left)).then(0)
        .when(right == left).then(curve.sign()).when(right > left).then(1).otherwise(-1),
        share_stock_shape=pl.max_horizontal(right, left, straight),
        share_other_shape=pl.min_horizontal(right, left),
    )  # fmt: skip
    count = table["worth"].to_numpy()
    for name in ("stock", "other"):
        low, high = share_interval(table[f"share_{name}_shape"].to_numpy() * count, count)
        table = table.with_columns(
            pl.Series(f"share_{name}_low", low), pl.Series(f"share_{name}_high", high)
        )
    return table.with_columns(two_way=pl.col("share_other_shape") > TWO_WAY_SHARE)


def _with_widths(table: pl.DataFrame, used: pl.DataFrame) -> pl.DataFrame:
    """Add the widths that all shots and those of the stock shape need."""
    sides = used.join(table.select("index", "stock_side"), on="index", maintain_order="left")
    rows = [
        _widths(group[SIDE].to_numpy(), group["curve"].to_numpy(), int(group["stock_side"][0]))
        for group in sides.partition_by("index", maintain_order=True)
    ]
    names = ("width_m", "width_stock_m", "width_gain_m", "width_gain_se_m")
    columns = np.array(rows, dtype=np.float64).reshape(-1, 4).T
    return table.with_columns(
        pl.Series(name, column).fill_nan(None) for name, column in zip(names, columns, strict=True)
    )


def _widths(side: FloatArray, curve: FloatArray, stock: int) -> tuple[float, float, float, float]:
    """Return the two widths, the gain and its standard error [m]."""
    kept = stock * curve >= -STRAIGHT_DEG
    if len(side) < LEAST_FOR_WIDTH:
        return np.nan, np.nan, np.nan, np.nan
    if kept.sum() < LEAST_FOR_WIDTH or not two_curves(curve):
        return float(_width(side[None])[0]), np.nan, np.nan, np.nan
    both, one = _width(side[None]), _width(np.where(kept, side, np.nan)[None])
    count = min(len(side), MOST_DRAWN)
    drawn = np.random.default_rng(len(side)).integers(0, len(side), (BOOTSTRAPS, count))
    drawn = drawn[kept[drawn].sum(axis=1) >= 2]
    resampled = side[drawn]
    gains = _width(resampled) - _width(np.where(kept[drawn], resampled, np.nan))
    return (
        float(both[0]),
        float(one[0]),
        float(both[0] - one[0]),
        float(gains.std() * np.sqrt(count / len(side))),
    )


def _width(side: FloatArray) -> FloatArray:
    """Return the distance between the 10 % and the 90 % point of each row, NaN left out."""
    ordered = np.sort(side, axis=1)  # NaN comes last; numpy's own nanpercentile loops over rows
    last = (~np.isnan(side)).sum(axis=1) - 1
    tail = 0.5 * (1.0 - WIDTH_SHARE)
    return _at(ordered, last * (1.0 - tail)) - _at(ordered, last * tail)


def _at(ordered: FloatArray, place: FloatArray) -> FloatArray:
    """Return the value of each row at a place between its columns."""
    below = np.floor(place).astype(np.int64)[:, None]
    above = np.ceil(place).astype(np.int64)[:, None]
    low = np.take_along_axis(ordered, below, axis=1)[:, 0]
    high = np.take_along_axis(ordered, above, axis=1)[:, 0]
    return np.asarray(low + (high - low) * (place - below[:, 0]), dtype=np.float64)


def _finished(table: pl.DataFrame, handedness: Mapping[str, str]) -> pl.DataFrame:
    """Add the words and put the columns in order."""
    shapes = [
        shape_words(start, _usual_curve(curve, turn), handedness.get(player))
        for start, curve, turn, player in table.select(
            "start_direction_deg", "curve_deg", "stock_turn", "player"
        ).iter_rows()
    ]
    angles = [f"{what}{end}_deg" for what in ("start_direction", "curve")
              for end in ("", "_se", "_sd")]  # fmt: skip
    return table.with_columns(
        pl.Series("stock_shape", shapes, dtype=pl.String),
        pl.col("shots").cast(pl.Int64),
        pl.col(angles).fill_nan(None),
        model_version=pl.lit(MODEL_VERSION),
    ).select(
        *KEYS, "shots", *angles, "share_curving_right", "share_curving_left", "share_straight",
        "stock_shape", "share_stock_shape", "share_stock_low", "share_stock_high",
        "share_other_shape", "share_other_low", "share_other_high", "two_way",
        "width_m", "width_stock_m", "width_gain_m", "width_gain_se_m", "model_version",
    )  # fmt: skip


def _usual_curve(curve_deg: float, turn: float) -> float:
    """Return the curve that the stock shape is named by: to the side that comes most often."""
    return turn * max(abs(curve_deg), float(np.nextafter(STRAIGHT_DEG, 2.0)))


def shape_words(start_deg: float, curve_deg: float, handedness: str | None) -> str:
    """Return the words of the trade for a start direction and a curve.

    Parameters
    ----------
    start_deg : float
        Start direction [deg], right positive.
    curve_deg : float
        Curve [deg], right positive.
    handedness : str or None
        `right` or `left`; None where it is unknown.

    Returns
    -------
    str
        Such as `straight`, `push`, `draw`, `pull-fade`, `push-slice`; for unknown handedness
        `starts right, curves left`.

    Notes
    -----
    Within 1 deg counts as straight; a curve beyond 6 deg is a hook or a slice. For a
    right-handed player push and fade are to the right.
    """
    if handedness not in ("right", "left"):
        parts = [
            f"{verb} {'right' if angle > 0.0 else 'left'}"
            for verb, angle in (("starts", start_deg), ("curves", curve_deg))
            if abs(angle) > STRAIGHT_DEG
        ]
        return ", ".join(parts) or "straight"
    sign = 1.0 if handedness == "right" else -1.0
    start, curve = sign * start_deg, sign * curve_deg
    shapes = []
    if abs(start) > STRAIGHT_DEG:
        shapes.append("push" if start > 0.0 else "pull")
    if abs(curve) > SEVERE_DEG:
        shapes.append("slice" if curve > 0.0 else "hook")
    elif abs(curve) > STRAIGHT_DEG:
        shapes.append("fade" if curve > 0.0 else "draw")
    return "-".join(shapes) or "straight"
