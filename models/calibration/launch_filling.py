"""Typical launch of a group of shots, and launch data filled in where an export lacks them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np
import polars as pl
from numpy.typing import NDArray
from rangeledger.models.arrays import FloatArray, IntArray
from rangeledger.models.calibration.measurement_noise import DEFAULT_NOISE, LAUNCH
from rangeledger.models.clubs.nominal_carry import nominal_loft_deg
from rangeledger.models.flight.flight_sensitivity import FlightInputs, observe
from rangeledger.models.flight.typical_launch import usual_launch
from rangeledger.models.frame_arrays import numbers, texts

GROUP_KEYS: Final = ("player", "club", "swing", "ball")

# How much of a shot's launch is its own.
OWN, GROUP, CLUB = 0, 1, 2

# Spread of the launch about the typical one: deg and share of the spin, where the group can't say.
_GROUP_SD: Final = (2.0, 2.5, 0.15, 6.0)
_CLUB_SD: Final = (3.5, 2.5, 0.25, 6.0)
_SPEED_FROM_CARRY_SD: Final = 0.03


class Launches(NamedTuple):
    """Launch of each shot with its uncertainty and where it comes from."""

    values: FloatArray  # shape (shots, 5), in the order of LAUNCH
    sd: FloatArray  # shape (shots, 5)
    basis: IntArray  # OWN, GROUP or CLUB


def typical_launches(shots: pl.DataFrame, keys: Sequence[str] = GROUP_KEYS) -> pl.DataFrame:
    """Median launch and its spread by group.

    Parameters
    ----------
    shots : polars.DataFrame
        Shots with canonical columns.
    keys : sequence of str
        Columns that make a group.

    Returns
    -------
    polars.DataFrame
        Keys, shots [1], the median of each launch quantity [its unit] and beside it, named
        `..._sd`, its spread: 1.4826 times the median distance from the median [its unit]; the
        median carry [m].
    """
    columns = [name for name in LAUNCH if name in shots.columns]
    spread = [
        (1.4826 * (pl.col(name) - pl.col(name).median()).abs().median()).alias(f"{name}_sd")
        for name in columns
    ]
    medians = [pl.col(name).median() for name in columns]
    if "carry_m" in shots.columns:
        medians.append(pl.col("carry_m").median())
    frame = shots.group_by(keys, maintain_order=True).agg(
        pl.len().alias("shots"), *medians, *spread
    )
    missing = [name for name in LAUNCH if name not in columns]
    nothing = [pl.lit(None, pl.Float64).alias(n) for m in missing for n in (m, f"{m}_sd")]
    return frame.with_columns(nothing)


def fill_launch(
    shots: pl.DataFrame,
    inputs_of: FlightInputs,
    keys: Sequence[str] = GROUP_KEYS,
) -> Launches:
    """Launch of each shot, filled from its group or from its club where it is missing.

    Parameters
    ----------
    shots : polars.DataFrame
        Shots with canonical columns.
    inputs_of : FlightInputs
        Air, wind and ball of the shots [units by name]; its launch is not looked at.
    keys : sequence of str
        Columns that make a group.

    Returns
    -------
    Launches
        Values and standard deviations [units of LAUNCH] and where they come from [1].

    Notes
    -----
    A missing launch angle, spin, direction or axis becomes the group's median, else that of an
    ordinary full shot with the club, started straight and not tilted. A missing ball speed
    becomes the speed at which the computed carry in that day's air is the measured carry, where
    there is one.
    """
    values = np.stack([numbers(shots, name) for name in LAUNCH], axis=-1)
    missing = np.isnan(values)
    inputs = inputs_of._replace(**dict(zip(LAUNCH, values.T, strict=True)))
    sd = DEFAULT_NOISE.of_launch(inputs)
    basis = np.full(shots.height, OWN)
    if missing.any():
        needs = missing[:, [0, 1, 3]].any(axis=1)
        basis = _fill_from_groups(shots, keys, values, sd, missing)
        basis = np.where(needs, basis, OWN)
        _fill_speed(values, sd, missing[:, 0], numbers(shots, "carry_m"), inputs_of)
    return Launches(values, sd, basis)


def _fill_from_groups(
    shots: pl.DataFrame,
    keys: Sequence[str],
    values: FloatArray,
    sd: FloatArray,
    missing: NDArray[np.bool_],
) -> IntArray:
    """Fill angle, direction, spin and axis in place; where from, for each shot."""
    present = [name for name in LAUNCH if name in shots.columns]
    medians = shots.with_columns(pl.col(present).median().over(list(keys)))
    usual_angle, usual_spin = _usual(shots, values[:, 0])
    nothing = np.zeros(shots.height)
    basis = np.full(shots.height, GROUP)
    for k, of_club in ((1, usual_angle), (2, nothing), (3, usual_spin), (4, nothing)):
        typical = numbers(medians, LAUNCH[k])
        from_club = np.isnan(typical)
        hole = missing[:, k]
        filled = np.where(from_club, of_club, typical)
        values[hole, k] = filled[hole]
        spread = np.where(from_club, _CLUB_SD[k - 1], _GROUP_SD[k - 1])
        sd[hole, k] = (spread * (filled if k == 3 else 1.0))[hole]
        if k in (1, 3):
            basis[hole & from_club] = CLUB
    return basis


def _usual(shots: pl.DataFrame, speed: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Usual launch angle and spin of each shot's club."""
    clubs = texts(shots, "club", "unknown")
    names, at = np.unique(clubs, return_inverse=True)
    table = np.array([usual_launch(nominal_loft_deg(str(name))) for name in names]).reshape(-1, 2)
    roughly = np.where(np.isnan(speed), _speed_for(numbers(shots, "carry_m")), speed)
    return table[at, 0], table[at, 1] * roughly


def _speed_for(carry_m: FloatArray) -> FloatArray:
    """Ball speed that carries about so far, a first guess [m/s]."""
    return np.clip(4.0 * np.sqrt(np.maximum(carry_m, 0.0)), 8.0, 90.0)


def _fill_speed(
    values: FloatArray,
    sd: FloatArray,
    missing: NDArray[np.bool_],
    carry_m: FloatArray,
    inputs: FlightInputs,
) -> None:
    """Fill missing ball speeds in place, so that the computed carry is the measured one."""
    solvable = missing & (carry_m > 1.0)
    if not solvable.any():
        return
    rows = np.flatnonzero(solvable)
    shots = inputs.rows(rows)._replace(**dict(zip(LAUNCH, values[rows].T, strict=True)))
    log_speed = np.log(_speed_for(carry_m[rows]))
    for _ in range(8):
        speeds = np.exp(log_speed)
        carry = observe(shots._replace(ball_speed_mps=speeds))[:, 0]
        more = observe(shots._replace(ball_speed_mps=speeds * 1.01))[:, 0]
        slope = np.log(np.maximum(more, 0.1) / np.maximum(carry, 0.1)) / np.log(1.01)
        step = np.log(carry_m[rows] / np.maximum(carry, 0.1)) / np.maximum(slope, 0.5)
        log_speed = np.clip(log_speed + np.clip(step, -0.5, 0.5), np.log(3.0), np.log(105.0))
    values[rows, 0] = np.exp(log_speed)
    sd[rows, 0] = _SPEED_FROM_CARRY_SD * values[rows, 0]
