"""Means of the clean strikes of each club and session, in time."""

from __future__ import annotations

from typing import Final

import polars as pl
from rangeledger.models.clubs.carry_model import CarryModel
from rangeledger.models.clubs.shot_groups import CARRY, GROUP_KEYS

# A session needs this many clean strikes for a mean, and two for a spread.
LEAST_CLEAN: Final = 0.8


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
