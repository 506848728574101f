"""Zeros that a device wrote where it measured nothing, told by the row's other values.

A ball that lies on the ground carried nothing, and a straight shot starts at zero degrees; but a
ball that flew did not land at once, and of many shots hardly one is straight to the last digit.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt
import polars as pl
from rangeledger.pipelines.reader.normalising.missing import ZERO_IS_MISSING
from rangeledger.pipelines.reader.recognising.words.remark import Remark

_Flags = npt.NDArray[np.bool_]
_Floats = npt.NDArray[np.float64]

# What a shot must show to have flown: all are far above a topped ball. Common practice, no source.
_FLOWN_CARRY_M, _FLOWN_TOTAL_M, _FLOWN_APEX_M, _FLOWN_HANG_S = 30.0, 60.0, 3.0, 1.5
_LAUNCHED_MPS, _LAUNCHED_DEG = 20.0, 8.0
_FLIGHT = ("carry_m", "total_m", "apex_m", "hang_time_s", "descent_angle_deg")
_LAUNCH = ("ball_speed_mps", "launch_angle_deg", "spin_rate_rpm")
_SIDED = ("launch_direction_deg", "spin_axis_deg", "carry_side_m", "total_side_m")
# So unlikely that as many values are zero to the last digit must the chance be.
_CHANCE = 1e-3
_DENSITY_AT_MIDDLE = 0.4  # of a normal distribution, in parts of its deviation
_FEWEST = 5


def without_unmeasured(shots: pl.DataFrame) -> tuple[pl.DataFrame, list[Remark]]:
    """Shots with the zeros that mean "not measured" as NULL.

    Parameters
    ----------
    shots : pl.DataFrame
        Canonical columns, one row a shot.

    Returns
    -------
    tuple[pl.DataFrame, list[Remark]]
        The same rows, and a remark on each column that had such zeros.
    """
    columns = {
        n: _column(shots, n)
        for n in (*_FLIGHT, *_SIDED, *_LAUNCH, *ZERO_IS_MISSING)
        if n in shots.columns
    }
    taken: dict[str, _Flags] = {}
    for name, likely in _found(columns, shots.height):
        rows = likely & (columns[name] == 0.0)
        if rows.any():
            taken[name] = taken.get(name, np.zeros(shots.height, np.bool_)) | rows
            columns[name] = np.where(rows, np.nan, columns[name])
    changed = [
        pl.when(~pl.Series(rows)).then(pl.col(name)).alias(name) for name, rows in taken.items()
    ]
    return shots.with_columns(changed), [_remark(name, rows) for name, rows in taken.items()]


def _remark(name: str, rows: _Flags) -> Remark:
    count = int(rows.sum())
    return Remark(
        "", f"{name} is 0 in {count} row{'s'[: count != 1]} that can't have been measured; it was "
        "left empty there.",
    )  # fmt: skip


def _column(shots: pl.DataFrame, name: str) -> _Floats:
    return np.asarray(shots[name].cast(pl.Float64).to_numpy(), np.float64)


def _found(columns: dict[str, _Floats], height: int) -> Iterator[tuple[str, _Flags]]:
    """Columns with the rows whose zero can't have been measured."""
    flown = _flown(columns, height)
    for name in ("launch_angle_deg", *_FLIGHT):
        if name in columns:
            yield name, flown
    if "spin_axis_deg" in columns and "spin_rate_rpm" in columns:
        yield "spin_axis_deg", columns["spin_rate_rpm"] == 0.0
    for name in ZERO_IS_MISSING & set(columns):
        yield name, np.ones(height, np.bool_)
    for name, along in (("carry_side_m", "carry_m"), ("total_side_m", "total_m")):
        if name in columns and along in columns:
            yield name, np.isnan(columns[along])
    yield from _too_straight(columns)


def _flown(columns: dict[str, _Floats], height: int) -> _Flags:
    """Rows of balls that flew, by their flight or by how they were launched."""
    limits = {"carry_m": _FLOWN_CARRY_M, "total_m": _FLOWN_TOTAL_M, "apex_m": _FLOWN_APEX_M,
              "hang_time_s": _FLOWN_HANG_S}  # fmt: skip
    flown = np.zeros(height, np.bool_)
    for name, least in limits.items():
        if name in columns:
            flown |= columns[name] > least
    if {"ball_speed_mps", "launch_angle_deg"} <= set(columns):
        fast = columns["ball_speed_mps"] > _LAUNCHED_MPS
        flown |= fast & (columns["launch_angle_deg"] > _LAUNCHED_DEG)
    return flown


def _too_straight(columns: dict[str, _Floats]) -> Iterator[tuple[str, _Flags]]:
    """Zeros of directions, axes and sides that are too many, or too many in one row, for chance."""
    sided = [name for name in _SIDED if name in columns]
    chances = {name: _chance_of_zero(columns[name]) for name in sided}
    for name in sided:
        zeros, known = columns[name] == 0.0, np.isfinite(columns[name])
        if 1 < zeros.sum() < known.sum() and _too_many(int(zeros.sum()), int(known.sum()),
                                                       chances[name]):  # fmt: skip
            yield name, zeros
    start, side = "launch_direction_deg", "carry_side_m"
    if start in sided and side in sided:
        both = (columns[start] == 0.0) & (columns[side] == 0.0)
        known = np.isfinite(columns[start]) & np.isfinite(columns[side])
        together = chances[start] * chances[side]
        if 0 < both.sum() < known.sum() and _too_many(int(both.sum()), int(known.sum()), together):
            yield from ((name, both) for name in sided)


def _chance_of_zero(values: _Floats) -> float:
    """Chance of one value to be zero to the last digit that the column gives."""
    known = values[np.isfinite(values) & (values != 0.0)]
    if known.size < _FEWEST:
        return 1.0
    steps = np.diff(np.unique(np.abs(known)))
    steps = steps[steps > 1e-6 * np.abs(known).max()]
    step = float(min(steps.min(initial=np.inf), np.abs(known).min()))
    spread = float(np.sqrt(np.mean(known**2)))
    return min(1.0, _DENSITY_AT_MIDDLE * step / spread)


def _too_many(zeros: int, known: int, chance: float) -> bool:
    """Whether so many zeros are too unlikely: by Chernoff's bound on the binomial tail."""
    share = zeros / known
    if chance >= share:
        return False
    if share == 1.0:
        return bool(known * np.log(chance) < np.log(_CHANCE))
    information = share * np.log(share / chance)
    information += (1.0 - share) * np.log((1.0 - share) / (1.0 - chance))
    return bool(-known * information < np.log(_CHANCE))
