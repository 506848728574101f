"""Means of sessions laid out as series in time, ready for a level to be followed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
import polars as pl
from rangeledger.models.arrays import FloatArray
from rangeledger.models.clubs.carry_model import CarryModel
from rangeledger.models.clubs.shot_groups import CARRY, GROUP_KEYS
from rangeledger.models.statistics.level_average import Series

# A session needs this many clean strikes for a mean, and two for a spread.
LEAST_CLEAN: Final = 0.8
PART_SERIES: Final = 100


def session_means(shots: pl.DataFrame, model: CarryModel) -> pl.DataFrame:
    """Return the moments of the clean strikes of each group and session.

    Parameters
    ----------
    shots : polars.DataFrame
        Shots with struck_at, in the order the model was fitted to.
    model : CarryModel
        Model fitted to the same shots.

    Returns
    -------
    polars.DataFrame
        One row a group and session, groups in order and sessions in time, undated ones last:
        player, club, swing, ball, session_id, started_at, shots, clean_shots,
        session_carry_m, session_carry_se_m, session_carry_sd_m, `spread` within a session [1],
        `visit` number of the player's dated session (null without a date), `cell` number of
        the row, model_version.
    """
    clean = 1.0 - pl.col("mishit_probability")
    carry = pl.col(CARRY)
    total = clean.sum()
    mean = (clean * carry).sum() / total
    scatter = (clean * (carry - mean) ** 2).sum()
    started = shots.group_by("player", "session_id").agg(
        pl.col("struck_at").min().alias("started_at")
    )
    means = (
        shots.with_columns(model.strikes_["mishit_probability"])
        .drop_nulls("mishit_probability")
        .sort(*GROUP_KEYS, "session_id", "shot_number", CARRY)
        .group_by(*GROUP_KEYS, "session_id", maintain_order=True)
        .agg(
            pl.len().cast(pl.Int64).alias("shots"),
            total.alias("clean_shots"),
            mean.alias("session_carry_m"),
            (scatter / (total - 1.0)).sqrt().alias("session_carry_sd_m"),
        )
        .join(started, on=["player", "session_id"], how="left")
    )
    spread = model.parameters_.select(
        *GROUP_KEYS, "model_version", spread=pl.col("within_carry_sd_m") / pl.col("carry_m")
    )
    return _numbered(means.join(spread, on=list(GROUP_KEYS)))


def _numbered(means: pl.DataFrame) -> pl.DataFrame:
    """Number cells, and the dated visits of each player in time."""
    enough, two = pl.col("clean_shots") >= LEAST_CLEAN, pl.col("clean_shots") >= 2.0
    visits = (
        means.select("player", "session_id", "started_at")
        .unique()
        .drop_nulls("started_at")
        .sort("player", "started_at", "session_id")
        .with_columns(visit=pl.int_range(pl.len()).over("player"))
        .drop("started_at")
    )
    error = pl.col("session_carry_m") * pl.col("spread") / pl.col("clean_shots").sqrt()
    return (
        means.join(visits, on=["player", "session_id"], how="left")
        .sort(*GROUP_KEYS, "visit", "session_id", nulls_last=True)
        .with_row_index("cell")
        .with_columns(
            session_carry_se_m=pl.when(enough).then(error),
            session_carry_m=pl.when(enough).then("session_carry_m"),
            session_carry_sd_m=pl.when(two).then("session_carry_sd_m"),
        )
    )


def series_parts(sessions: pl.DataFrame) -> Iterator[pl.DataFrame]:
    """Yield the dated sessions of some series at a time.

    Parameters
    ----------
    sessions : polars.DataFrame
        Result of `session_means`.

    Yields
    ------
    polars.DataFrame
        Rows with a date and a mean; `series` and `time` numbered from 0, `gap` in sessions of
        the player since the row before.
    """
    dated = sessions.drop_nulls(["visit", "session_carry_m"])
    series = pl.struct(GROUP_KEYS).rle_id()
    dated = dated.with_columns(series=series.cast(pl.Int64)).with_columns(
        time=pl.int_range(pl.len()).over("series"),
        gap=pl.col("visit").diff().over("series").fill_null(0).cast(pl.Float64),
    )
    for first in range(0, dated["series"].n_unique(), PART_SERIES):
        chosen = pl.col("series").is_between(first, first + PART_SERIES - 1)
        yield dated.filter(chosen).with_columns(pl.col("series") - first)


def laid_out(part: pl.DataFrame, values: FloatArray, past_end: float) -> FloatArray:
    """Return values of the rows of a part as an array of times by series.

    Parameters
    ----------
    part : polars.DataFrame
        One of `series_parts`.
    values : array, shape (rows,)
        A value of each row [any unit].
    past_end : float
        Value where a series has ended [same unit].

    Returns
    -------
    array, shape (times, series)
        The values in their places [same unit].
    """
    series, time = part["series"].to_numpy(), part["time"].to_numpy()
    table = np.full((int(time.max()) + 1, int(series.max()) + 1), past_end)
    table[time, series] = values
    return table


def series_of(part: pl.DataFrame) -> Series:
    """Return the series of a part.

    Parameters
    ----------
    part : polars.DataFrame
        One of `series_parts`.

    Returns
    -------
    Series
        ln of session means with their sampling variance.
    """
    mean, spread = part["session_carry_m"].to_numpy(), part["spread"].to_numpy()
    sampling = spread**2 / part["clean_shots"].to_numpy()
    return Series(
        observed=laid_out(part, np.log(mean), np.nan),
        sampling_variance=laid_out(part, sampling, 1.0),
        gap=laid_out(part, part["gap"].to_numpy(), 0.0),
    )
