"""Carry over time: each session, the level now, and what has changed since a date."""

from __future__ import annotations

from datetime import datetime
from typing import Final, Self

import numpy as np
import numpy.typing as npt
import polars as pl
from sklearn.base import BaseEstimator
from sklearn.utils.validation import check_is_fitted

from models.carry_model import CarryModel
from models.level_average import average_level, average_step
from models.session_means import laid_out, series_of, series_parts, session_means
from models.shot_groups import GROUP_KEYS, require_columns

FloatArray = npt.NDArray[np.float64]

# Half-widths in standard deviations: 90 % interval; a change is claimed beyond 95 %.
INTERVAL_90: Final = 1.6448536269514722
CLAIM: Final = 1.96
LEVEL_ENDS: Final = ("m", "se_m", "low_m", "high_m")
CHANGE_COLUMNS: Final = ("change_m", "change_se_m", "change_low_m", "change_high_m", "claim")


class CarryTrend(BaseEstimator):  # type: ignore[misc]
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
        `current_level_low_m`, `current_level_high_m` the level at the last session (90 %
        intervals); model_version. Levels are null for sessions without a date.

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
        self._means = sessions
        return self

    def change_since(self, when: datetime) -> pl.DataFrame:
        """Return how the level changed from a date to the last session.

        Parameters
        ----------
        when : datetime
            Point in time (UTC): the last session up to it counts, or the first of all.

        Returns
        -------
        polars.DataFrame
            One row a group with two dated sessions: player, club, swing, ball, `since` and
            `until`, `change_m`, `change_se_m`, `change_low_m`, `change_high_m` (90 %), `claim`:
            whether the change is more than 1.96 of its standard errors.
        """
        check_is_fitted(self, "sessions_")
        rows = []
        for part in series_parts(self._means):
            series, table = series_of(part)
            level = average_level(series)
            until = part.group_by("series").agg(pl.col("started_at").max().alias("until"))
            then = _session_at(part, when)
            time = then["time"].to_numpy()
            column = np.arange(len(time))
            change = level.change[time, column]
            spread = np.sqrt(level.change_variance[time, column])
            now = np.exp(level.level[time, column] + change)
            found = table.join(then, on="series").join(until, on="series").sort("series")
            rows.append(
                _change(found, now, change, spread).filter(pl.col("since") < pl.col("until"))
            )
        return _joined(rows, self._means, {"since": "started_at", "until": "started_at"})

    def step_at(self, when: datetime) -> pl.DataFrame:
        """Return the step that carry took at a date, beyond its usual wandering.

        Parameters
        ----------
        when : datetime
            Point in time (UTC) of a change of ball, club or coach: sessions from it on are
            after.

        Returns
        -------
        polars.DataFrame
            One row a group with dated sessions on both sides: player, club, swing, ball,
            `sessions_before`, `sessions_after`, `change_m`, `change_se_m`, `change_low_m`,
            `change_high_m` (90 %), `claim`.
        """
        check_is_fitted(self, "sessions_")
        rows = []
        for part in series_parts(self._means):
            series, table = series_of(part)
            after = (part["started_at"] >= when).cast(pl.Float64)
            step, variance = average_step(series, laid_out(part, after.to_numpy(), 1.0))
            sides = part.group_by("series").agg(
                (pl.col("started_at") < when).sum().cast(pl.Int64).alias("sessions_before"),
                (pl.col("started_at") >= when).sum().cast(pl.Int64).alias("sessions_after"),
            )
            now = np.exp(average_level(series).level[-1])
            both = (pl.col("sessions_before") > 0) & (pl.col("sessions_after") > 0)
            found = table.join(sides, on="series").sort("series")
            rows.append(_change(found, now, step, np.sqrt(variance)).filter(both))
        return _joined(rows, self._means, {"sessions_before": "shots", "sessions_after": "shots"})


def _with_levels(part: pl.DataFrame) -> pl.DataFrame:
    """Return the level at each session of a part, and the level now."""
    series, _ = series_of(part)
    level = average_level(series)
    at = part["time"].to_numpy(), part["series"].to_numpy()
    last = np.full(len(at[0]), -1), at[1]
    columns = {}
    for name, place in (("level", at), ("current_level", last)):
        centre, spread = level.level[place], np.sqrt(level.variance[place])
        columns[f"{name}_m"] = np.exp(centre)
        columns[f"{name}_se_m"] = np.exp(centre) * spread
        columns[f"{name}_low_m"] = np.exp(level.low[place])
        columns[f"{name}_high_m"] = np.exp(level.high[place])
    return part.select("cell").with_columns(pl.Series(name, v) for name, v in columns.items())


def _no_levels(sessions: pl.DataFrame) -> pl.DataFrame:
    """Return a table of levels without rows."""
    names = [f"{name}_{end}" for name in ("level", "current_level") for end in LEVEL_ENDS]
    empty = sessions.clear().select("cell")
    return empty.with_columns(pl.lit(None, dtype=pl.Float64).alias(name) for name in names)


def _in_order(table: pl.DataFrame) -> pl.DataFrame:
    """Return the columns of `sessions_` in order."""
    levels = [f"{name}_{end}" for name in ("level", "current_level") for end in LEVEL_ENDS]
    counts = ("session_id", "started_at", "shots", "clean_shots")
    means = ("session_carry_m", "session_carry_se_m", "session_carry_sd_m")
    return table.sort("cell").select(*GROUP_KEYS, *counts, *means, *levels, "model_version")


def _session_at(part: pl.DataFrame, when: datetime) -> pl.DataFrame:
    """Return the time of each series' last session up to a date, or of its first."""
    time = pl.col("time").filter(pl.col("started_at") <= when).max().fill_null(0)
    chosen = part.group_by("series").agg(time.alias("time"))
    return chosen.join(
        part.select("series", "time", since="started_at"), on=["series", "time"]
    ).sort("series")


def _change(
    found: pl.DataFrame, now: FloatArray, change: FloatArray, spread: FloatArray
) -> pl.DataFrame:
    """Return a change of ln carry in metres of carry now, with interval and claim."""
    names = ("change_m", "change_se_m", "change_low_m", "change_high_m")
    values = (
        now * -np.expm1(-change),
        now * spread,
        now * -np.expm1(-(change - INTERVAL_90 * spread)),
        now * -np.expm1(-(change + INTERVAL_90 * spread)),
    )
    claim = pl.Series("claim", np.abs(change) > CLAIM * spread)
    return found.with_columns(
        *(pl.Series(name, value) for name, value in zip(names, values, strict=True)), claim
    )


def _joined(rows: list[pl.DataFrame], means: pl.DataFrame, first: dict[str, str]) -> pl.DataFrame:
    """Return all parts as one table, of the right columns also if there is none."""
    if rows:
        return pl.concat(rows).sort(*GROUP_KEYS).select(*GROUP_KEYS, *first, *CHANGE_COLUMNS)
    numbers = dict.fromkeys(CHANGE_COLUMNS[:-1], "session_carry_m")
    empty = means.clear().select(*GROUP_KEYS, **first, **numbers)
    return empty.with_columns(claim=pl.lit(True))
