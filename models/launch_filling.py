"""Typical launch of a group of shots, and launch data filled in where an export lacks them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np
import polars as pl
from numpy.typing import NDArray

from models.flight_sensitivity import FlightInputs, observe
from models.frame_arrays import numbers, texts
from models.measurement_noise import DEFAULT_NOISE, LAUNCH

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

GROUP_KEYS: Final = ("player", "club", "swing", "ball")

# How much of a shot's launch is its own.
OWN, GROUP, CLUB = 0, 1, 2

# Launch angle [deg] and spin [rpm] of a full shot by club; common practice, no source: half of
# the loft, a thousand rpm a club number.
_FULL_SHOT: Final[dict[str, tuple[float, float]]] = {
    "driver": (12.0, 2800.0),
    "pitching-wedge": (24.5, 9000.0),
    "gap-wedge": (27.0, 9400.0),
    "sand-wedge": (29.5, 9800.0),
    "lob-wedge": (32.0, 10000.0),
}
_FAMILIES: Final[dict[str, tuple[float, float, float, float]]] = {
    # family: launch and spin of number 3, and what a number adds to each
    "wood": (11.5, 3500.0, 0.8, 350.0),
    "hybrid": (11.5, 4000.0, 1.2, 450.0),
    "iron": (10.5, 4100.0, 1.6, 750.0),
}
_UNKNOWN_CLUB: Final = (18.0, 6500.0)

# Spread of the launch about the typical one: deg and share of the spin, where the group can't say.
_GROUP_SD: Final = (2.0, 2.5, 0.15, 6.0)
_CLUB_SD: Final = (3.5, 2.5, 0.25, 6.0)
_SPEED_FROM_CARRY_SD: Final = 0.03


class Launches(NamedTuple):
    """Launch of each shot with its uncertainty and where it comes from."""

    values: FloatArray  # shape (shots, 5), in the order of LAUNCH
    sd: FloatArray  # shape (shots, 5)
    basis: IntArray  # OWN, GROUP or CLUB


def launch_of_club(club: str) -> tuple[float, float]:
    """Launch angle and spin of an ordinary full shot with a club.

    Parameters
    ----------
    club : str
        Canonical club.

    Returns
    -------
    tuple of float
        Launch angle [deg] and spin [rpm]; middling ones for a club that is not known.

    Notes
    -----
    Common practice, no source. Only used where an export has no launch data for a whole group.
    """
    if club in _FULL_SHOT:
        return _FULL_SHOT[club]
    numbered = re.fullmatch(r"(\d+)-(wood|hybrid|iron|wedge)", club)
    if numbered is None:
        return _UNKNOWN_CLUB
    number, family = int(numbered[1]), numbered[2]
    if family == "wedge":  # by loft
        return 24.5 + 0.55 * (number - 46.0), min(9000.0 + 80.0 * (number - 46.0), 10000.0)
    angle, spin, more_angle, more_spin = _FAMILIES[family]
    return angle + more_angle * (number - 3), spin + more_spin * (number - 3)


def typical_launch(shots: pl.DataFrame, keys: Sequence[str] = GROUP_KEYS) -> pl.DataFrame:
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
    given = inputs_of._replace(**dict(zip(LAUNCH, values.T, strict=True)))
    sd = DEFAULT_NOISE.of_launch(given)
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
    clubs = texts(shots, "club", "unknown")
    table = {club: launch_of_club(str(club)) for club in np.unique(clubs)}
    ordinary = np.array([table[club] for club in clubs]).reshape(-1, 2)
    nothing = np.zeros(shots.height)
    basis = np.full(shots.height, GROUP)
    for k, of_club in ((1, ordinary[:, 0]), (2, nothing), (3, ordinary[:, 1]), (4, nothing)):
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
    log_speed = np.log(np.clip(4.0 * carry_m[rows] ** 0.5, 8.0, 90.0))
    for _ in range(8):
        speeds = np.exp(log_speed)
        carry = observe(shots._replace(ball_speed_mps=speeds))[:, 0]
        more = observe(shots._replace(ball_speed_mps=speeds * 1.01))[:, 0]
        slope = np.log(np.maximum(more, 0.1) / np.maximum(carry, 0.1)) / np.log(1.01)
        step = np.log(carry_m[rows] / np.maximum(carry, 0.1)) / np.maximum(slope, 0.5)
        log_speed = np.clip(log_speed + np.clip(step, -0.5, 0.5), np.log(3.0), np.log(105.0))
    values[rows, 0] = np.exp(log_speed)
    sd[rows, 0] = _SPEED_FROM_CARRY_SD * values[rows, 0]
