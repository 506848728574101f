"""Row rules: what can't be a golf shot, with a reason code and one plain sentence.

Every rule looks at all rows; all failures are collected. The first in the order of `RULES` gives
a rejected row its code, the others are added to its sentence.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl
from rangeledger.models.constants import GRAVITY_MPS2
from rangeledger.models.flight.flight_table import LARGEST_ERROR, TableFlight, read_flights
from rangeledger.models.flight.trajectory import fly
from rangeledger.models.flight.usual_spin import usual_spin
from rangeledger.schemas.columns import BY_NAME, MOVEMENTS, NUMBERS, OF_THE_CLUB
from rangeledger.schemas.expectations import total_not_short
from rangeledger.schemas.limits import (
    LEAST_CLUB_SPEED_JUDGED_MPS,
    LOWEST_FLOWN_DEG,
    MOST_SPEED_RATIO,
    SLOWEST_FLOWN_MPS,
)
from rangeledger.schemas.reasons import RowReason

_STEP_S = 0.8  # the solver's carry is within centimetres at this step in still air
# This many times the computed value and this much more can't belong to its launch; nor can a
# carry of less than this share.
_FLIGHT_LIMITS = {"carry_m": (1.45, 12.0), "apex_m": (1.9, 6.0), "hang_time_s": (1.7, 1.0)}
_SHORT_FACTOR = 0.45
_LIFTED, _THROWN_SLACK_M = 1.3, 5.0
# A ball that left at this angle or carried so far flew; what rolls is another matter.
_FLOWN_DEG, _FLOWN_M, _HIGH_M = 8.0, 30.0, 3.0
# Roll: drivers on hard ground stop within a fifth of their carry; twice that and 25 m are allowed.
_ROLL_FACTOR, _ROLL_M = 1.4, 25.0
# Drag makes a ball come down steeper than it left, and steeper than the parabola of its height:
# computed flights of all clubs lie between 1.1 and 2.2 times that tangent.
_FLATTEST, _FLATTEST_SLACK_DEG, _DESCENT_LOW, _DESCENT_HIGH = 0.75, 3.0, 0.7, 4.0
# Bend a degree of axis, in parts of the carry: computed flights lie between 0.004 and 0.011.
_LEAST_BENT, _MOST_BENT = 0.002, 0.016
# Wind and errors: 15 m, and a fifth of the carry; where a direction is unknown, the widest usual.
_SIDE_SLACK_M, _SIDE_SHARE, _WIDEST_START_DEG, _WIDEST_AXIS_DEG = 15.0, 0.2, 25.0, 30.0
_MANY = 10_000  # shots above which a table of flights clears the usual ones
_DOUBT = 3.0 * LARGEST_ERROR


@dataclass(frozen=True, slots=True)
class Failure:
    """Rows that fail a rule: their index, code and sentence."""

    code: RowReason
    rows: np.ndarray
    sentences: list[str]


def _rows(mask: pl.Series | np.ndarray) -> np.ndarray:
    array = mask.fill_null(False).to_numpy() if isinstance(mask, pl.Series) else mask
    return np.flatnonzero(array)


def _number(value: float) -> str:
    return f"{value:.4g}" if abs(value) < 1e5 else f"{value:.6g}"


def out_of_range(shots: pl.DataFrame) -> list[Failure]:
    """Values outside the limits of `rangeledger.schemas.columns`.

    Parameters
    ----------
    shots : pl.DataFrame
        Canonical columns.

    Returns
    -------
    list of Failure
        One a column that fails anywhere.
    """
    failures = []
    for name in NUMBERS:
        column = BY_NAME[name]
        if name not in shots.columns or shots[name].null_count() == shots.height:
            continue
        low, high = column.low or 0.0, column.high or 0.0
        values = _column(shots, name)
        rows = np.flatnonzero((values < low) | (values > high))
        if rows.size:
            sentences = [
                f"{name} is {_number(values[r])} {column.unit}, outside {low:g} to {high:g}."
                for r in rows
            ]
            failures.append(Failure(RowReason.OUT_OF_RANGE, rows, sentences))
    return failures


def total_short_of_carry(shots: pl.DataFrame) -> list[Failure]:
    """Rest far short of the landing point; a ball may spin back a little."""
    if not {"carry_m", "total_m"} <= set(shots.columns):
        return []
    carry, total = shots["carry_m"], shots["total_m"]
    rows = _rows(shots.select(~total_not_short()).to_series())
    sentences = [
        f"total_m is {_number(total[int(r)])} m, far short of carry_m {_number(carry[int(r)])} m."
        for r in rows
    ]
    return [Failure(RowReason.TOTAL_SHORT_OF_CARRY, rows, sentences)] if rows.size else []


def ball_too_fast(shots: pl.DataFrame) -> list[Failure]:
    """More ball speed than the club can give."""
    if not {"ball_speed_mps", "clubhead_speed_mps"} <= set(shots.columns):
        return []
    ratio = shots["ball_speed_mps"] / shots["clubhead_speed_mps"]
    full = shots["clubhead_speed_mps"] > LEAST_CLUB_SPEED_JUDGED_MPS
    rows = _rows(full & (ratio > MOST_SPEED_RATIO))
    sentences = [
        f"ball speed over club speed is {_number(ratio[int(r)])}; no club gives more than "
        f"{MOST_SPEED_RATIO}."
        for r in rows
    ]
    return [Failure(RowReason.BALL_TOO_FAST, rows, sentences)] if rows.size else []


def _column(shots: pl.DataFrame, name: str) -> np.ndarray:
    if name not in shots.columns:
        return np.full(shots.height, np.nan)
    return np.asarray(shots[name].to_numpy(), np.float64)


def flight_impossible(shots: pl.DataFrame) -> list[Failure]:
    """Carry, height or time far from what ball speed, launch and spin give.

    Parameters
    ----------
    shots : pl.DataFrame
        Canonical columns.

    Returns
    -------
    list of Failure
        Only wide disagreements count: wind, air and balls differ.
    """
    speed, launch = _column(shots, "ball_speed_mps"), _column(shots, "launch_angle_deg")
    known = (
        np.isfinite(speed)
        & np.isfinite(launch)
        & (launch > LOWEST_FLOWN_DEG)
        & (speed > SLOWEST_FLOWN_MPS)
    )
    if not known.any():
        return []
    spin = _column(shots, "spin_rate_rpm")
    spun = np.where(np.isfinite(spin) & (spin > 0), spin, usual_spin(np.nan_to_num(launch)))
    values = {name: _column(shots, name) for name in _FLIGHT_LIMITS}
    scale = 1.0 if "wind_speed_mps" not in shots.columns else 1.15
    if known.sum() > _MANY:
        for some in (slice(first, first + _MANY) for first in range(0, len(known), _MANY)):
            table = read_flights(speed[some], launch[some], spun[some])
            known[some] &= _doubtful({n: v[some] for n, v in values.items()}, table, scale)
    flown = np.flatnonzero(known)
    flight = fly(speed[flown], launch[flown], 0.0, spun[flown], time_step_s=_STEP_S)
    failures = []
    for name, value in values.items():
        computed = getattr(flight, name)
        failing = np.flatnonzero(_outside(name, value[flown], computed, scale))
        if failing.size:
            unit = BY_NAME[name].unit
            sentences = [
                f"{name} is {_number(value[flown[k]])} {unit}; ball speed, launch and spin give "
                f"about {computed[k]:.3g} {unit}."
                for k in failing
            ]
            failures.append(Failure(RowReason.FLIGHT_IMPOSSIBLE, flown[failing], sentences))
    return failures


def farther_than_thrown(shots: pl.DataFrame) -> list[Failure]:
    """Carries beyond the range in a vacuum by more than the lift of a slow ball can explain.

    Parameters
    ----------
    shots : pl.DataFrame
        Canonical columns.

    Returns
    -------
    list of Failure
        Of slow balls, whose flights are not computed; a putt has no carry.
    """
    speed, carry = _column(shots, "ball_speed_mps"), _column(shots, "carry_m")
    slow = (speed > 0.0) & (speed <= SLOWEST_FLOWN_MPS)
    if not slow.any():
        return []
    most = _LIFTED * speed**2 / GRAVITY_MPS2 + _THROWN_SLACK_M
    if "club" in shots.columns:
        slow &= (shots["club"].fill_null("") != "putter").to_numpy()
    rows = np.flatnonzero(slow & (carry > most))
    sentences = [
        f"carry_m is {_number(carry[k])} m; a ball of {_number(speed[k])} m/s can't fly that far."
        for k in rows
    ]
    return [Failure(RowReason.FLIGHT_IMPOSSIBLE, rows, sentences)] if rows.size else []


def roll_impossible(shots: pl.DataFrame) -> list[Failure]:
    """Rest farther from the landing point than a ball that came down from the air can roll."""
    if not {"carry_m", "total_m"} <= set(shots.columns):
        return []
    carry, total = _column(shots, "carry_m"), _column(shots, "total_m")
    launch = _column(shots, "launch_angle_deg")
    flew = (launch >= _FLOWN_DEG) | (np.isnan(launch) & (carry > _FLOWN_M))
    rows = np.flatnonzero(flew & (total > _ROLL_FACTOR * carry + _ROLL_M))
    sentences = [
        f"total_m is {_number(total[k])} m; a carry of {_number(carry[k])} m can't roll so far."
        for k in rows
    ]
    return [Failure(RowReason.FLIGHT_IMPOSSIBLE, rows, sentences)] if rows.size else []


def launch_too_low(shots: pl.DataFrame) -> list[Failure]:
    """A ball that left downwards and yet flew far."""
    launch, carry = _column(shots, "launch_angle_deg"), _column(shots, "carry_m")
    rows = np.flatnonzero((launch <= 0.0) & (carry > _FLOWN_M))
    sentences = [
        f"launch_angle_deg is {_number(launch[k])} deg; such a ball does not carry "
        f"{_number(carry[k])} m."
        for k in rows
    ]
    return [Failure(RowReason.FLIGHT_IMPOSSIBLE, rows, sentences)] if rows.size else []


def descent_impossible(shots: pl.DataFrame) -> list[Failure]:
    """A descent far from what height and carry give, or flatter than the launch."""
    descent = _column(shots, "descent_angle_deg")
    if np.isnan(descent).all():
        return []
    launch, apex, carry = (_column(shots, n) for n in ("launch_angle_deg", "apex_m", "carry_m"))
    flat = (launch >= _FLOWN_DEG) & (descent < _FLATTEST * launch - _FLATTEST_SLACK_DEG)
    with np.errstate(divide="ignore", invalid="ignore"):
        of_parabola = 4.0 * apex / carry  # the tangent with which a ball would land in a vacuum
        ratio = np.tan(np.radians(descent)) / of_parabola
        flew = (carry > _FLOWN_M) & (apex > _HIGH_M)
        off = flew & ((ratio < _DESCENT_LOW) | (ratio > _DESCENT_HIGH))
    rows = np.flatnonzero(flat | off)
    sentences = [
        f"descent_angle_deg is {_number(descent[k])} deg; that does not go with launch, height and "
        "carry."
        for k in rows
    ]
    return [Failure(RowReason.FLIGHT_IMPOSSIBLE, rows, sentences)] if rows.size else []


def side_impossible(shots: pl.DataFrame) -> list[Failure]:
    """A landing point far from where start direction and spin axis lead."""
    side, carry = _column(shots, "carry_side_m"), _column(shots, "carry_m")
    start, axis = _column(shots, "launch_direction_deg"), _column(shots, "spin_axis_deg")
    if np.isnan(side).all():
        return []
    unknown_start = np.where(np.isnan(start), _WIDEST_START_DEG, 0.0)
    unknown_axis = np.where(np.isnan(axis), _WIDEST_AXIS_DEG, 0.0)
    line = carry * np.tan(np.radians(np.nan_to_num(start)))
    bent = carry * np.nan_to_num(axis)
    slack = _SIDE_SLACK_M + carry * np.minimum(
        1.0, _SIDE_SHARE + np.tan(np.radians(unknown_start)) + _MOST_BENT * unknown_axis
    )
    low = line + np.minimum(_LEAST_BENT * bent, _MOST_BENT * bent) - slack
    high = line + np.maximum(_LEAST_BENT * bent, _MOST_BENT * bent) + slack
    rows = np.flatnonzero((carry > _FLOWN_M) & ((side < low) | (side > high)))
    sentences = [
        f"carry_side_m is {_number(side[k])} m; start direction and spin axis lead elsewhere."
        for k in rows
    ]
    return [Failure(RowReason.FLIGHT_IMPOSSIBLE, rows, sentences)] if rows.size else []


def _outside(
    name: str, value: np.ndarray, computed: np.ndarray, scale: float, doubt: float = 0.0
) -> np.ndarray:
    """Rows whose value is far from the computed one; with a doubt also those that come near it."""
    factor, slack = _FLIGHT_LIMITS[name]
    factor *= scale
    least = _SHORT_FACTOR * computed if name == "carry_m" else computed / factor
    with np.errstate(invalid="ignore"):
        high = value > factor * computed * (1.0 - doubt) + slack
        low = value < least * (1.0 + doubt) - slack
    return np.asarray(high | low)


def _doubtful(values: dict[str, np.ndarray], table: TableFlight, scale: float) -> np.ndarray:
    """Rows that the table of flights does not clear: they are flown one by one."""
    doubtful = np.isnan(table.carry_m)
    for name, value in values.items():
        doubtful |= _outside(name, value, getattr(table, name), scale, _DOUBT)
    return doubtful


def no_measurement(shots: pl.DataFrame) -> list[Failure]:
    """Rows that say nothing about the movement of club and ball, or of a swing without a ball."""
    movements = [n for n in MOVEMENTS if n in shots.columns]
    if not movements:
        return []
    silent = _without(shots, movements)
    ballless = _without(shots, [name for name in movements if name not in OF_THE_CLUB])
    swung = ballless & ~silent if not ballless.all() else silent.clear(len(silent))
    found = []
    for flags, sentence in (
        (silent, "No speed, angle or distance is given, or all of them are zero."),
        (swung, "Only the club was measured, and no ball."),
    ):
        rows = _rows(flags.fill_null(False))
        if rows.size:
            found.append(Failure(RowReason.NO_MEASUREMENT, rows, [sentence] * len(rows)))
    return found


def _without(shots: pl.DataFrame, names: Sequence[str]) -> pl.Series:
    """Rows in which all of some columns are empty or zero."""
    nothing = [(pl.col(n).is_null() | (pl.col(n) == 0.0)) for n in names]
    flags = shots.select(pl.all_horizontal(pl.lit(True), *nothing).alias("nothing"))
    return flags.to_series() if nothing else pl.repeat(True, shots.height, eager=True)


RULES: tuple[Callable[[pl.DataFrame], list[Failure]], ...] = (
    out_of_range,
    no_measurement,
    total_short_of_carry,
    ball_too_fast,
    flight_impossible,
    farther_than_thrown,
    roll_impossible,
    launch_too_low,
    descent_impossible,
    side_impossible,
)


def screen(shots: pl.DataFrame) -> list[Failure]:
    """Apply all row rules.

    Parameters
    ----------
    shots : pl.DataFrame
        Canonical columns, one row a shot.

    Returns
    -------
    list of Failure
        All failures, in the order of the rules.
    """
    return [failure for rule in RULES for failure in rule(shots)]
