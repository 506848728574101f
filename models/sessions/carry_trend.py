"""Carry over time: each session, the level behind it, and what has changed since."""

from __future__ import annotations

from typing import Final, Self

import numpy as np
import polars as pl
from rangeledger.models.arrays import FloatArray
from rangeledger.models.clubs.carry_model import CarryModel
from rangeledger.models.clubs.current_level import PlayerLevel
from rangeledger.models.clubs.shot_groups import GROUP_KEYS, ShotGroups, require_columns
from rangeledger.models.sessions.level_changes import noticed_change
from rangeledger.models.sessions.session_means import session_means
from rangeledger.models.statistics.shared_level import level_rows
from sklearn.base import BaseEstimator

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
        (90 % intervals); `changed`, whether all clubs together show that the last sessions differ
        from those before and this one lies before them; model_version. Levels and changes are
        null for sessions without a date.

    Notes
    -----
    ln of a session's mean = level of the club + level that all clubs share + that day + sampling
    error (`shared_level`): a good day lifts every club, and so does a gain of speed, whichever ball
    is hit. What the levels do is averaged over a grid, and the intervals are points of that
    average. `changed` is wrong for 5 % of players whose level never moved (`level_changes`).

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
        levels = [
            _with_levels(groups, player) for groups, players in model.levels_ for player in players
        ]
        dated = pl.concat(levels) if levels else _no_levels(sessions)
        joined = sessions.join(dated, on=[*GROUP_KEYS, "session_id"], how="left")
        known = pl.col("visit").is_not_null() & pl.col("session_carry_m").is_not_null()
        self.sessions_ = _in_order(
            joined.with_columns(pl.when(known).then(pl.col(name)).alias(name) for name in _COLUMNS)
        )
        return self


_COLUMNS: Final = (
    *(f"{name}_{end}" for name in ("level", "current_level") for end in LEVEL_ENDS),
    *CHANGE_COLUMNS,
    "changed",
)


def _with_levels(groups: ShotGroups, player: PlayerLevel) -> pl.DataFrame:
    """Return the level of each club of a player at each session, and now."""
    rows, at = level_rows(player.fit), player.row_of_cell
    columns: dict[str, FloatArray] = {}
    for name, begin in (("level", ""), ("current_level", "now_")):
        centre = np.exp(getattr(rows, "now" if begin else "level"))
        spread = np.sqrt(getattr(rows, f"{begin}variance"))
        columns[f"{name}_m"], columns[f"{name}_se_m"] = centre, centre * spread
        columns[f"{name}_low_m"] = np.exp(getattr(rows, f"{begin}low"))
        columns[f"{name}_high_m"] = np.exp(getattr(rows, f"{begin}high"))
    # A rise since a session in metres of carry now: what is gained turns round in the exponent.
    current = columns["current_level_m"]
    for name, rise in zip(
        CHANGE_COLUMNS, (rows.change, rows.change_low, rows.change_high), strict=True
    ):
        columns[name] = -current * np.expm1(-rise)
    change = noticed_change(player)
    age = player.visits.age[player.visits.visit]
    changed = np.zeros(len(age), dtype=bool) if change is None else age >= change.sessions
    keys = groups.keys.select(GROUP_KEYS)[groups.group_of_cell[player.cells]]
    visits = groups.visit_keys.select("session_id")[groups.visit_of_cell[player.cells]]
    return pl.concat([keys, visits], how="horizontal").with_columns(
        *(pl.Series(name, values[at]) for name, values in columns.items()),
        changed=pl.Series(changed[at]),
    )


def _no_levels(sessions: pl.DataFrame) -> pl.DataFrame:
    """Return a table of levels without rows."""
    empty = sessions.clear().select(*GROUP_KEYS, "session_id")
    return empty.with_columns(
        pl.lit(None, dtype=pl.Boolean if name == "changed" else pl.Float64).alias(name)
        for name in _COLUMNS
    )


def _in_order(table: pl.DataFrame) -> pl.DataFrame:
    """Return the columns of `sessions_` in order."""
    counts = ("session_id", "started_at", "shots", "clean_shots")
    means = ("session_carry_m", "session_carry_se_m", "session_carry_sd_m")
    return table.sort("cell").select(*GROUP_KEYS, *counts, *means, *_COLUMNS, "model_version")
