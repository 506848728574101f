"""How closely numbers follow, row by row, what other columns foretell of them."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np
from rangeledger.models.arrays import FloatArray
from rangeledger.models.flight.trajectory import fly
from rangeledger.models.flight.usual_spin import usual_spin
from rangeledger.pipelines.reader.recognising.columns.consistency import usual_launch
from rangeledger.schemas.compositions import BACK_SPIN, SPEED_RATIO

FLIGHT = ("carry_m", "total_m", "apex_m", "hang_time_s", "descent_angle_deg")
INPUTS = ("ball_speed_mps", "launch_angle_deg")
FEWEST_ROWS = 6
_COUNTED_ROWS = 25  # rows beyond these are no further evidence: the model errs the same in each
_WIDE = 2.5  # log of the range over which a column of something else may lie
_FARTHEST = 3.5  # offsets beyond which a column is not what a reading says
_OF_FOUR_FIFTHS = 1.2816  # normal quantile at 0.9
_USUAL_RATIO, _USUAL_ROLL = 1.42, 1.0
Values = Mapping[str, FloatArray]


@dataclass(frozen=True, slots=True)
class _Term:
    """How a column follows what is expected of it, as logs of observed over expected."""

    bias: float
    offset: float
    floor: float


@cache
def terms() -> dict[str, _Term]:
    """How each quantity follows what is expected of it, as `following.toml` has it."""
    file = resources.files("rangeledger.pipelines.reader.recognising.columns").joinpath(
        "following.toml"
    )
    table = tomllib.loads(file.read_text(encoding="utf-8"))
    return {name: _Term(**numbers) for name, numbers in table.items()}


def middle_and_scatter(logs: FloatArray) -> tuple[float, float]:
    """Median, and the standard deviation that the nearer four fifths of the rows have.

    Half of the rows may agree by chance where a visit has two clubs; a fifth may be mishits.

    Parameters
    ----------
    logs : numpy array
        Logs of observed over expected [1].

    Returns
    -------
    tuple[float, float]
        Both as logs [1].
    """
    middle = float(np.median(logs))
    return middle, float(np.quantile(np.abs(logs - middle), 0.8)) / _OF_FOUR_FIFTHS


def follows(quantity: str, observed: FloatArray, expected: FloatArray) -> float | None:
    """Log odds that numbers are what is expected of a quantity, against any other numbers.

    Parameters
    ----------
    quantity : str
        Canonical column.
    observed, expected : numpy array
        Row by row, in the canonical unit.

    Returns
    -------
    float or None
        None with too few rows; minus infinity where they lie too far apart.
    """
    with np.errstate(invalid="ignore"):
        use = (observed > 0.0) & (expected > 0.0)
    if use.sum() < FEWEST_ROWS:
        return None
    term = terms()[quantity]
    seen = np.log(observed[use])
    middle, scatter = middle_and_scatter(seen - np.log(expected[use]))
    away = (middle - term.bias) / term.offset
    if abs(away) > _FARTHEST:
        return -math.inf
    alone = middle_and_scatter(seen)[1]
    rows = min(int(use.sum()), _COUNTED_ROWS)
    gain = 0.5 * rows * math.log((alone**2 + term.floor**2) / (scatter**2 + term.floor**2))
    return gain - 0.5 * away**2 + math.log(_WIDE / term.offset)


def by_line(observed: FloatArray, known: list[FloatArray], floor: float) -> float:
    """Log odds of numbers foretold by a straight line in the logs of what is known.

    Each slope that is fitted costs half the log of the number of rows (Schwarz 1978).
    """
    columns = [np.log(np.where(k > 0.0, k, np.nan)) for k in known]
    with np.errstate(invalid="ignore"):
        use = (observed > 0.0) & np.all([np.isfinite(c) for c in columns], axis=0)
    if use.sum() < FEWEST_ROWS or not columns:
        return 0.0
    y = np.log(observed[use])
    x = np.column_stack([np.ones(int(use.sum())), *(c[use] for c in columns)])
    left = y - x @ np.linalg.lstsq(x, y, rcond=None)[0]
    rows = min(int(use.sum()), _COUNTED_ROWS)
    alone, scatter = middle_and_scatter(y)[1], middle_and_scatter(left)[1]
    gain = 0.5 * rows * math.log((alone**2 + floor**2) / (scatter**2 + floor**2))
    return max(0.0, gain - 0.5 * len(columns) * math.log(rows))


def predictions(known: Values) -> dict[str, FloatArray]:
    """What the known columns foretell of the others, row by row.

    Parameters
    ----------
    known : Mapping[str, numpy array]
        Measured columns in canonical units.

    Returns
    -------
    dict[str, numpy array]
        Other columns in canonical units, those that can be foretold.
    """
    found: dict[str, FloatArray] = {}
    speed, launch = (known.get(name) for name in INPUTS)
    if speed is not None and launch is not None:
        spin, usual = known.get("spin_rate_rpm", known.get(BACK_SPIN)), usual_spin(launch)
        spun = usual if spin is None else np.where(spin > 0.0, spin, usual)
        able = (speed > 5.0) & (speed < 110.0) & (launch > 3.0) & (launch < 60.0)
        flight = fly(np.where(able, speed, np.nan), launch, 0.0, spun)
        found = {n: np.asarray(getattr(flight, n)) for n in FLIGHT if n != "total_m"}
        found["spin_rate_rpm"] = found[BACK_SPIN] = usual
    spin = known.get("spin_rate_rpm", known.get(BACK_SPIN))
    if spin is not None:
        found["launch_angle_deg"] = usual_launch(spin)
    if "carry_m" in known:
        found["total_m"] = known["carry_m"] * _USUAL_ROLL
    elif "carry_m" in found:
        found["total_m"] = found["carry_m"] * _USUAL_ROLL
    club = known.get("clubhead_speed_mps")
    if speed is not None:
        found["clubhead_speed_mps"] = speed / _USUAL_RATIO
    if club is not None:
        found["ball_speed_mps"] = club * _USUAL_RATIO
        if speed is not None:
            found[SPEED_RATIO] = speed / np.where(club > 0.0, club, np.nan)
    return found
