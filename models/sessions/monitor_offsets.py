"""How far one monitor reads from another, and shots as the player's usual monitor would read them.

Monitors differ by a few per cent in carry and in ball speed. A player who changes the bay would
seem to gain or lose what the monitors lie apart; where sessions or clubs of several monitors
overlap, that can be told from a change of the player, and taken off.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import polars as pl
from rangeledger.models.arrays import FloatArray
from rangeledger.models.clubs.robust_cells import one_step_means, spread_of_shots
from rangeledger.models.clubs.shot_groups import CARRY, SIDE
from rangeledger.models.frame_arrays import group_numbers, numbers, thinned
from rangeledger.models.population import POPULATION
from rangeledger.models.sessions.monitor_words import monitor_words
from rangeledger.models.statistics.device_offsets import Readings, device_offsets
from rangeledger.models.statistics.shared_level import TAIL, Grid, player_grid

SPEED: Final = "ball_speed_mps"
UNKNOWN: Final = "unknown"
# How far monitors may lie apart: standard deviations of ln carry about their common centre, the
# weights of those that are not none, and the weight of none. Tuned on the makes of players kept
# for that in the tests.
SCALES: Final = np.array([0.0, 0.01, 0.02, 0.035])
SCALE_PRIOR: Final = np.array([0.37, 0.45, 0.18])
NO_OFFSET_NAMED: Final = 0.45
# Exports of one layout are mostly of one kind of monitor, but one monitor writes many layouts.
NO_OFFSET_LAYOUTS: Final = 0.8
# One per cent of ball speed is about two of carry; days and offsets of speed are half as large.
CARRY_PER_SPEED: Final = 2.0
# An end of an interval within this is none: it lies in the weight of no offset [1].
NOTHING: Final = 1e-4
# Sessions that tell of the monitors, evenly spaced over time; the cost grows with the cube.
MOST_SESSIONS: Final = 120


def measured_by(shots: pl.DataFrame) -> pl.Series:
    """Return what measured each shot: its monitor, else its layout, which stands in for a model.

    Parameters
    ----------
    shots : polars.DataFrame
        Shots; `monitor` and `layout` where known.

    Returns
    -------
    polars.Series
        Names, `unknown` where neither is known.
    """
    stated = [
        pl.when(pl.col(name) != UNKNOWN).then(pl.col(name))
        for name in ("monitor", "layout")
        if name in shots.columns
    ]
    return shots.with_columns(monitor=pl.coalesce(*stated, pl.lit(UNKNOWN)))["monitor"]


def monitor_offsets(shots: pl.DataFrame) -> pl.DataFrame:
    """Return how far each player's monitors read from the one that measured most sessions.

    Parameters
    ----------
    shots : polars.DataFrame
        One row a shot: player, club, swing, ball, session_id, shot_number, struck_at,
        still_carry_m [m]; ball_speed_mps, `monitor` and `layout` where known. Putts and shots
        without carry are left out; mishits can't move the robust means.

    Returns
    -------
    polars.DataFrame
        One row a player and monitor: player, `monitor`; `named`, false where a layout stands in;
        `reference`, the one that the others are held against; `shots`, `sessions`,
        `sessions_in_common` with any other; `carry_offset`, `carry_offset_se`,
        `carry_offset_low`, `carry_offset_high` how much farther it reads [%] with the ends of the
        90 % interval, and the same of `ball_speed_offset` (null without ball speeds); 0 for the
        reference; `apart`, whether the interval of either leaves out 0; `told`
        in a sentence.

    Notes
    -----
    `device_offsets` on the means of ln carry and of ln ball speed. A change of the player at the
    same time as a change of the monitor is shared out as likely as each is; the same day measured
    by two monitors settles it.

    References
    ----------
    [morris1983]
    """
    known = shots.with_columns(monitor=measured_by(shots)).filter(
        pl.col("club") != "putter", pl.col(CARRY) > 0.0
    )
    parts = [_of_player(part) for part in known.partition_by("player", maintain_order=True)]
    return pl.DataFrame([row for rows in parts for row in rows], schema=_SCHEMA, orient="row")


def without_offsets(shots: pl.DataFrame, offsets: pl.DataFrame) -> pl.DataFrame:
    """Return the shots as each player's reference monitor would read them.

    Parameters
    ----------
    shots : polars.DataFrame
        As for `monitor_offsets`.
    offsets : polars.DataFrame
        What it returned.

    Returns
    -------
    polars.DataFrame
        The same shots; still_carry_m, still_side_m [m] and ball_speed_mps [m/s] with the offsets
        taken off.
    """
    if offsets["reference"].all():
        return shots
    table = offsets.select("player", "monitor", "carry_offset", "ball_speed_offset")
    keys = shots.select("player", monitor=measured_by(shots))
    found = keys.join(table, on=["player", "monitor"], how="left", maintain_order="left")
    carry, speed = (
        pl.Series(1.0 + found[name].fill_null(0.0) / 100.0)
        for name in ("carry_offset", "ball_speed_offset")
    )
    factor = {CARRY: carry, SIDE: carry, SPEED: speed}
    return shots.with_columns(
        (pl.col(name) / by).alias(name) for name, by in factor.items() if name in shots.columns
    )


_SCHEMA: Final[dict[str, pl.DataType | type[pl.DataType]]] = {
    "player": pl.String, "monitor": pl.String, "named": pl.Boolean, "reference": pl.Boolean,
    "shots": pl.Int64, "sessions": pl.Int64, "sessions_in_common": pl.Int64,
    **{
        f"{what}_offset{end}": pl.Float64
        for what in ("carry", "ball_speed")
        for end in ("", "_se", "_low", "_high")
    },
    "apart": pl.Boolean, "told": pl.String,
}  # fmt: skip


def _of_player(shots: pl.DataFrame) -> list[dict[str, object]]:
    """Return the rows of one player, the reference first."""
    counted = _counted(shots)
    names = counted["monitor"].to_list()
    if len(names) > 1:
        device = shots["monitor"].replace_strict(names, range(len(names)))
        shots = _telling(shots.with_columns(device=device))
        prior = NO_OFFSET_NAMED if counted["named"].all() else NO_OFFSET_LAYOUTS
        offsets = [
            _against_first(shots, value, per_carry, usual, prior)
            for value, per_carry, usual in (
                (CARRY, 1.0, POPULATION.carry_spread),
                (SPEED, CARRY_PER_SPEED, POPULATION.carry_spread / CARRY_PER_SPEED),
            )
        ]
    else:
        has_speed = SPEED in shots.columns and shots[SPEED].is_not_null().any()
        none = np.zeros((1, 4))
        offsets = [none, none if has_speed else np.full((1, 4), np.nan)]
    ends = ("", "_se", "_low", "_high")
    rows = []
    for number, row in enumerate(counted.to_dicts()):
        offset_columns = {
            f"{what}_offset{end}": None if np.isnan(value) else 100.0 * value
            for what, table in zip(("carry", "ball_speed"), offsets, strict=True)
            for end, value in zip(ends, table[number], strict=True)
        }
        apart = any(max(table[number, 2], -table[number, 3]) > NOTHING for table in offsets)
        rows.append(row | offset_columns | {"apart": apart})
    alone = len(rows) == 1
    return [row | {"told": monitor_words(row, rows[0], alone=alone)} for row in rows]


def _counted(shots: pl.DataFrame) -> pl.DataFrame:
    """Return the monitors of a player, the reference first."""
    common = pl.col("monitor").n_unique().over("session_id") > 1
    layouts = shots["layout"].unique().to_list() if "layout" in shots.columns else []
    session = pl.col("session_id")
    return (
        shots.with_columns(common=common)
        .group_by("player", "monitor")
        .agg(
            shots=pl.len().cast(pl.Int64),
            sessions=session.n_unique().cast(pl.Int64),
            sessions_in_common=session.filter("common").n_unique().cast(pl.Int64),
        )
        .with_columns(named=~pl.col("monitor").is_in([UNKNOWN, *filter(None, layouts)]))
        .sort("sessions", "shots", "monitor", descending=[True, True, False])
        .with_columns(reference=pl.int_range(pl.len()) == 0)
    )


def _telling(shots: pl.DataFrame) -> pl.DataFrame:
    """Return the shots of at most so many sessions, each with its place in time."""
    started = shots.group_by("session_id").agg(pl.col("struck_at").min())
    visits = started.sort("struck_at", "session_id", nulls_last=False).drop("struck_at")
    kept = visits[thinned(np.zeros(visits.height, dtype=np.int64), MOST_SESSIONS)]
    return shots.join(kept.with_row_index("visit"), on="session_id")


def _against_first(
    shots: pl.DataFrame, value: str, per_carry: float, usual: float, none: float
) -> FloatArray:
    """Return offset, error and ends of the 90 % interval of each device against the first [1]."""
    devices = int(shots["device"].max() or 0) + 1  # type: ignore[arg-type]
    table = np.full((devices, 4), np.nan)
    known = shots.filter(pl.col(value) > 0.0) if value in shots.columns else shots.clear()
    if known["device"].n_unique() < 2 or 0 not in known["device"]:
        return table
    found = device_offsets(*_readings(known, value, per_carry, usual), SCALES, _prior(none))
    mean, error = found.against(0)
    ends = [found.quantile(0, share) for share in (TAIL, 1.0 - TAIL)]
    return np.expm1(np.stack([mean, error, *ends], axis=1) / per_carry)


def _prior(none: float) -> FloatArray:
    """Return the weight of each scale."""
    return np.concatenate([[none], (1.0 - none) * SCALE_PRIOR])


def _readings(
    shots: pl.DataFrame, value: str, per_carry: float, usual: float
) -> tuple[Readings, Grid]:
    """Return the robust means of a player's clubs by session and device, and the assumptions."""
    keys = ["club", "swing", "ball", "visit", "device"]
    shots = shots.sort(*keys, "shot_number", value)
    unit, units = group_numbers(shots, keys[:3])
    cell, cells = group_numbers(shots, keys)
    log = np.log(numbers(shots, value))
    spread = spread_of_shots(log, cell, unit, units.height, usual)
    unit_of_cell = np.zeros(cells.height, dtype=np.int64)
    unit_of_cell[cell] = unit
    day, _ = group_numbers(shots, keys[:4])
    mean, variance = one_step_means(log, cell, day, spread[unit_of_cell])
    visit, order = np.unique(cells["visit"].to_numpy(), return_inverse=True)
    age = np.arange(len(visit) - 1, -1, -1, dtype=np.float64)
    wider = float(np.sqrt(np.mean((spread / usual) ** 2)))
    device = np.array(cells["device"].to_numpy(), dtype=np.int64)
    readings = Readings(unit_of_cell, order, device, per_carry * mean, per_carry**2 * variance, age)
    drift = POPULATION.carry_drift * wider
    return readings, player_grid(age, drift, POPULATION.shared_drift)
