"""Nominal loft of a club and nominal carry of a club and swing: where shrinkage starts.

A player's own shots move these starting points freely; they matter only for a club with few
shots, and for telling which of two shots was the mishit. Lofts and carries are "common
practice, no source".
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
import polars as pl
from rangeledger.models.arrays import FloatArray

# Middle of the lofts in common use [deg]; common practice, no source.
NOMINAL_LOFT_DEG: Final[dict[str, float]] = {
    "driver": 10.5,
    "2-wood": 13.0, "3-wood": 15.0, "4-wood": 17.0, "5-wood": 18.5, "6-wood": 20.0,
    "7-wood": 21.5, "8-wood": 23.0, "9-wood": 24.5,
    "1-hybrid": 15.5, "2-hybrid": 18.0, "3-hybrid": 20.5, "4-hybrid": 23.0, "5-hybrid": 26.0,
    "6-hybrid": 29.0, "7-hybrid": 32.0, "8-hybrid": 35.5, "9-hybrid": 39.5,
    "1-iron": 16.0, "2-iron": 18.0, "3-iron": 20.5, "4-iron": 23.0, "5-iron": 26.0,
    "6-iron": 29.0, "7-iron": 32.5, "8-iron": 36.5, "9-iron": 41.0,
    "pitching-wedge": 45.5, "gap-wedge": 51.0, "sand-wedge": 56.0, "lob-wedge": 60.0,
}  # fmt: skip

# ln carry [m] of the reference player = LEVEL + SLOPE l + CURVE l^2, l = (loft - 36) / 16:
# 212 yd with the driver, 149 yd with the 7-iron, 87 yd with the sand wedge.
LEVEL, SLOPE, CURVE = 4.845, -0.33, -0.04
LOFT_CENTRE_DEG, LOFT_SCALE_DEG = 36.0, 16.0

# Share of the full carry by clock position of the lead arm at the top of the swing.
CLOCK_HOURS = (6.5, 7.5, 9.0, 10.5, 12.0)
CLOCK_FRACTIONS = (0.20, 0.45, 0.62, 0.81, 1.0)
LABEL_FRACTION = 0.7

# ln carry of a ball relative to a premium one, and how sure that is.
BALL_LOG_CARRY = {"premium": 0.0, "range": -0.07, "limited-flight": -0.30, "unknown": 0.0}
BALL_FREEDOM = {"premium": 0.0, "range": 0.05, "limited-flight": 0.12, "unknown": 0.05}


@dataclass(frozen=True, slots=True)
class NominalCarry:
    """Nominal values of groups; arrays of one entry a group.

    Attributes
    ----------
    loft : array
        (loft - 36 deg) / 16 deg [1]; 0 where the loft is unknown.
    loft_known : array of bool
        Whether the club's word says its loft.
    log_carry : array
        ln of nominal carry [ln m] of a full swing with a premium ball by the reference player.
    full : array of bool
        Whether the swing is a full one.
    log_swing, swing_freedom : array
        ln of the share of full carry, and the freedom of that share [1].
    log_ball, ball_freedom : array
        ln of carry relative to a premium ball, and its freedom [1].
    """

    loft: FloatArray
    loft_known: npt.NDArray[np.bool_]
    log_carry: FloatArray
    full: npt.NDArray[np.bool_]
    log_swing: FloatArray
    swing_freedom: FloatArray
    log_ball: FloatArray
    ball_freedom: FloatArray


def nominal_loft_deg(club: str) -> float:
    """Return the nominal loft of a club.

    Parameters
    ----------
    club : str
        Canonical club; `56-wedge` and the like carry their loft in the word.

    Returns
    -------
    float
        Loft [deg]; NaN for a word that says nothing of loft.
    """
    if match := re.fullmatch(r"(\d{2})-wedge", club):
        return float(match.group(1))
    return NOMINAL_LOFT_DEG.get(club, float("nan"))


def swing_fraction(swing: str) -> float:
    """Return the nominal share of full carry that a swing gives.

    Parameters
    ----------
    swing : str
        `full`, a clock position such as `9:00`, or a feel label.

    Returns
    -------
    float
        Share of full carry [1]: 1 for `full`, 0.7 for a label that says nothing.
    """
    if swing == "full":
        return 1.0
    if match := re.fullmatch(r"(\d{1,2}):(\d{2})", swing):
        hours = int(match.group(1)) + int(match.group(2)) / 60.0
        return float(np.interp(hours, CLOCK_HOURS, CLOCK_FRACTIONS))
    return LABEL_FRACTION


def _swing_freedom(swing: str) -> float:
    """Return the freedom of ln share: none for full, little for a clock, much for a label."""
    if swing == "full":
        return 0.0
    return 0.08 if re.fullmatch(r"\d{1,2}:\d{2}", swing) else 0.35


def log_full_carry(loft: FloatArray) -> FloatArray:
    """Return the ln of nominal full carry of the reference player.

    Parameters
    ----------
    loft : array
        (loft - 36 deg) / 16 deg [1], any shape.

    Returns
    -------
    array
        ln carry [ln m].

    Notes
    -----
    LEVEL + SLOPE l + CURVE l^2; a putter's loft is outside its range.
    """
    return LEVEL + SLOPE * loft + CURVE * loft**2


def nominal_carry(groups: pl.DataFrame) -> NominalCarry:
    """Return nominal values for each group.

    Parameters
    ----------
    groups : polars.DataFrame
        Columns `club`, `swing`, `ball`, one row a group.

    Returns
    -------
    NominalCarry
        Arrays of one entry a row.
    """
    loft_deg = _mapped(groups["club"], nominal_loft_deg)
    known = np.isfinite(loft_deg)
    loft = np.where(known, (loft_deg - LOFT_CENTRE_DEG) / LOFT_SCALE_DEG, 0.0)
    return NominalCarry(
        loft=loft,
        loft_known=known,
        log_carry=log_full_carry(loft),
        full=(groups["swing"].cast(pl.String) == "full").to_numpy(),
        log_swing=np.log(_mapped(groups["swing"], swing_fraction)),
        swing_freedom=_mapped(groups["swing"], _swing_freedom),
        log_ball=_mapped(groups["ball"], lambda ball: BALL_LOG_CARRY.get(ball, 0.0)),
        ball_freedom=_mapped(groups["ball"], lambda ball: BALL_FREEDOM.get(ball, 0.05)),
    )


def _mapped(labels: pl.Series, value_of: Callable[[str], float]) -> FloatArray:
    """Return the value of each word, computed once for each distinct word."""
    words = ["unknown" if word is None else word for word in labels.cast(pl.String).to_list()]
    values = {word: value_of(word) for word in set(words)}
    return np.array([values[word] for word in words], dtype=np.float64)
