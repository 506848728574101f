"""Carry over time: each session, the level behind it, and what has changed since."""

from __future__ import annotations

from typing import Final, Self

import numpy as np
import polars as pl
from rangeledger.models.arrays import BoolArray, FloatArray, IntArray
from rangeledger.models.clubs.carry_model import CarryModel
from rangeledger.models.clubs.shot_groups import GROUP_KEYS, require_columns
from rangeledger.models.sessions.session_means import series_of, series_parts, session_means
from rangeledger.models.statistics.level_average import AverageLevel, average_level
from sklearn.base import BaseEstimator

# Half-widths in standard deviations: 90 % interval; a change is claimed beyond 95 %.
INTERVAL_90: Final = 1.6448536269514722
CLAIM: Final = 1.96
LEVEL_ENDS: Final = ("m", "se_m", "low_m", "high_m")
CHANGE_COLUMNS: Final = ("change_m", "change_low_m", "change_high_m")


class CarryTrend(BaseEstimator):  # type: ignore[misc]  # scikit-learn has no types
    """Sessions of each club in time, and the level behind them.

    Parameters
    ----------
    carry_model : CarryModel, optional
        A model already fitted to the same shots; fitted here if it is left out.

    Attributes
    ----------
    sessions_ : polars.DataFrame
        One row a group and session, in time: player, club, swing, ball, session_id,
        started_at, shots, `clean_shots`; `session_carry_m` mean of its clean strikes,
        `session_carry_se_m` its error as a sample of that session, `session_carry_sd_m`
        spread of its clean strikes (null below two); `level_m`, `level_se_m`, `level_low_m`,
        `level_high_m` the level at that session given all sessions; `current_level_m`,
        `current_level_low_m`, `current_level_high_m` the level at the last session;
        `change_m`, `change_low_m`, `change_high_m` how far it has risen since that session
        (90 % intervals); `changed`, whether by more than 1.96 standard errors; model_version.
        Levels and changes are null for sessions without a date.

    Notes
    -----
    ln of a session's mean = level + drift of that day + sampling error; the level wanders from
    session to session of the player, whichever clubs were hit, and may have taken a step at one
    of the last six. All of this is averaged over a grid, and the intervals of the levels are
    points of that average. In simulations they hold a steady or slowly wandering level in 87 to
    97 % of cases; after an abrupt change of 4 % the new one in 5 to 6 of 10 after one session,
    which may as well have been a bad day, 3 of 4 after two, 85 to 90 % after three or four.

    References
    ----------
    [durbin2012]
    """

    def __init__(self, *, carry_model: CarryModel | None = None) -> None:
        self.carry_model = carry_model

    def fit(self, shots: pl.DataFrame, y: object = None) -> Self:
        """Learn from shots.

        Parameters
        ----------
        shots : polars.DataFrame
            As for `CarryModel.fit`, with struck_at (null where unknown).
        y : object
            Ignored.

        Returns
        -------
        CarryTrend
            Itself.

        Raises
        ------
        UsageError
            If a column is missing.
        """
        del y
        require_columns(shots, ("struck_at",), "A carry trend")
        model = self.carry_model if self.carry_model is not None else CarryModel().fit(shots)
        sessions = session_means(shots, model)
        levels = [_with_levels(part) for part in series_parts(sessions)]
        dated = pl.concat(levels) if levels else _no_levels(sessions)
        self.sessions_ = _in_order(sessions.join(dated, on="cell", how="left"))
        return self


def _with_levels(part: pl.DataFrame) -> pl.DataFrame:
    """Return the level at each session of a part, and the level now."""
    level = average_level(series_of(part))
    at = part["time"].to_numpy(), part["series"].to_numpy()
    last = np.full(len(at[0]), -1), at[1]
    columns = {}
    for name, place in (("level", at), ("current_level", last)):
        centre, spread = level.level[place], np.sqrt(level.variance[place])
        columns[f"{name}_m"] = np.exp(centre)
        columns[f"{name}_se_m"] = np.exp(centre) * spread
        columns[f"{name}_low_m"] = np.exp(level.low[place])
        columns[f"{name}_high_m"] = np.exp(level.high[place])
    columns |= _changes(level, at, columns["current_level_m"])
    return part.select("cell").with_columns(pl.Series(name, v) for name, v in columns.items())


def _changes(
    level: AverageLevel, at: tuple[IntArray, IntArray], current: FloatArray
) -> dict[str, FloatArray | BoolArray]:
    """Return how far the level has risen since each session, in metres of carry now."""
    change, spread = level.change[at], np.sqrt(level.change_variance[at])
    ends = (change, change - INTERVAL_90 * spread, change + INTERVAL_90 * spread)
    risen = {
        name: -current * np.expm1(-end) for name, end in zip(CHANGE_COLUMNS, ends, strict=True)
    }
    return {**risen, "changed": np.abs(change) > CLAIM * spread}


def _no_levels(sessions: pl.DataFrame) -> pl.DataFrame:
    """Return a table of levels without rows."""
    names = [f"{name}_{end}" for name in ("level", "current_level") for end in LEVEL_ENDS]
    empty = sessions.clear().select("cell", changed=pl.lit(None, dtype=pl.Boolean))
    return empty.with_columns(
        pl.lit(None, dtype=pl.Float64).alias(name) for name in (*names, *CHANGE_COLUMNS)
    )


def _in_order(table: pl.DataFrame) -> pl.DataFrame:
    """Return the columns of `sessions_` in order."""
    levels = [f"{name}_{end}" for name in ("level", "current_level") for end in LEVEL_ENDS]
    counts = ("session_id", "started_at", "shots", "clean_shots")
    means = ("session_carry_m", "session_carry_se_m", "session_carry_sd_m")
    changes = (*CHANGE_COLUMNS, "changed")
    return table.sort("cell").select(
        *GROUP_KEYS, *counts, *means, *levels, *changes, "model_version"
    )
