"""Gaps between a player's neighbouring clubs: how wide, how sure, and how often they overlap."""

from __future__ import annotations

from typing import Final

import numpy as np
import polars as pl
from rangeledger.models.arrays import FloatArray
from rangeledger.models.clubs.nominal_carry import log_full_carry, nominal_carry
from rangeledger.models.clubs.shot_distribution import carry_below, carry_places
from rangeledger.models.clubs.shot_groups import GROUP_KEYS
from rangeledger.models.population import POPULATION, Population

Z_90: Final = 1.6448536269514722
# A gap is called large or small if even the near end of its interval lies beyond these
# multiples of what the lofts suggest. Common practice, no source.
LARGE, SMALL = 1.5, 0.5


def club_gaps(parameters: pl.DataFrame, population: Population = POPULATION) -> pl.DataFrame:
    """Return the gaps between clubs that follow each other in carry.

    Parameters
    ----------
    parameters : polars.DataFrame
        Parameter frame of a carry model.
    population : Population
        Says how much of a session's drift all clubs share.

    Returns
    -------
    polars.DataFrame
        One row a player, ball and pair of neighbours among the full swings: player, ball,
        `longer_club`, `shorter_club`, `longer_carry_m`, `shorter_carry_m`, `gap_m`,
        `gap_se_m`, `gap_low_m`, `gap_high_m` (90 %); `overlap_probability` [1] that of two next
        shots of one session, mishits included, the shorter club's carries farther;
        `expected_gap_m` from the lofts (null where one is unknown); `verdict`: `large`,
        `small`, `usual`, or null without lofts; model_version.

    Notes
    -----
    The expected gap scales the nominal carry over loft to the pair. The overlap is the mean of
    1 - F_shorter over places that stand for the longer club's shot; drift that all clubs of a
    session share is left out of both.
    """
    pairs = _pairs(parameters.filter(pl.col("swing") == "full"))
    longer, shorter = (_side(pairs, parameters, name) for name in ("longer", "shorter"))
    gap = (longer["carry_m"] - shorter["carry_m"]).to_numpy()
    error = np.hypot(longer["carry_se_m"].to_numpy(), shorter["carry_se_m"].to_numpy())
    expected = _expected_gap(longer, shorter)
    table = pairs.select(
        "player",
        "ball",
        pl.col("longer").alias("longer_club"),
        pl.col("shorter").alias("shorter_club"),
        longer["carry_m"].alias("longer_carry_m"),
        shorter["carry_m"].alias("shorter_carry_m"),
        pl.Series("gap_m", gap),
        pl.Series("gap_se_m", error),
        pl.Series("gap_low_m", gap - Z_90 * error),
        pl.Series("gap_high_m", gap + Z_90 * error),
        pl.Series("overlap_probability", _overlap(longer, shorter, population)),
        pl.Series("expected_gap_m", expected).fill_nan(None),
        longer["model_version"].alias("model_version"),
    )
    return table.select(pl.exclude("model_version"), _verdict(), "model_version")


def _pairs(parameters: pl.DataFrame) -> pl.DataFrame:
    """Return neighbours in carry of each player and ball."""
    ordered = parameters.sort(
        "player", "ball", "carry_m", "club", descending=[False, False, True, False]
    )
    following = pl.col("club").shift(-1).over("player", "ball")
    return ordered.select("player", "ball", longer="club", shorter=following).drop_nulls("shorter")


def _side(pairs: pl.DataFrame, parameters: pl.DataFrame, name: str) -> pl.DataFrame:
    """Return the parameters of one club of each pair."""
    keys = pairs.select("player", pl.col(name).alias("club"), swing=pl.lit("full"), ball="ball")
    typed = keys.cast({key: parameters.schema[key] for key in GROUP_KEYS})
    return typed.join(parameters, on=list(GROUP_KEYS), how="left", maintain_order="left")


def _expected_gap(longer: pl.DataFrame, shorter: pl.DataFrame) -> FloatArray:
    """Return the gap that the lofts suggest [m], NaN where one is unknown."""
    first, second = nominal_carry(longer), nominal_carry(shorter)
    known = first.loft_known & second.loft_known
    ratio = np.exp(log_full_carry(first.loft) - log_full_carry(second.loft))
    middle = 0.5 * (longer["carry_m"] + shorter["carry_m"]).to_numpy()
    return np.where(known, middle * 2.0 * (ratio - 1.0) / (ratio + 1.0), np.nan)


def _overlap(longer: pl.DataFrame, shorter: pl.DataFrame, population: Population) -> FloatArray:
    """Return the chance that the shorter club's next shot carries farther."""
    own = (1.0 - population.shared_drift) ** 0.5
    drift = pl.col("between_carry_sd_m") * own
    first, second = longer.with_columns(drift), shorter.with_columns(drift)
    carry, weight = carry_places(first)
    return np.asarray((weight * (1.0 - carry_below(second, carry))).sum(axis=1), dtype=np.float64)


def _verdict() -> pl.Expr:
    """Return the word for a gap."""
    large = pl.col("gap_low_m") > LARGE * pl.col("expected_gap_m")
    small = pl.col("gap_high_m") < SMALL * pl.col("expected_gap_m")
    known = pl.col("expected_gap_m").is_not_null()
    verdict = pl.when(large).then(pl.lit("large")).when(small).then(pl.lit("small"))
    return verdict.when(known).then(pl.lit("usual")).alias("verdict")
