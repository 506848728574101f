"""How often in a round a club is needed: strokes by distance, shared among the clubs at hand.

Courses are played from tees that suit a player's length, so distances are told as shares of the
carry of the player's drive. The strokes of a round are common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
from rangeledger.models.clubs.nominal_carry import (
    LOFT_CENTRE_DEG,
    LOFT_SCALE_DEG,
    log_full_carry,
    nominal_loft_deg,
)

# Strokes of a round with the longest club from the tee.
DRIVES: Final = 12.0
# Other strokes of a round and the distances that they are spread over evenly, as shares of the
# carry of the drive: tee shots of four par 3s, approaches to ten par 4s, second and third shots
# of four par 5s, pitches after a missed green.
NEEDS: Final = (
    (4.0, 0.50, 0.80),
    (10.0, 0.35, 0.80),
    (3.0, 0.80, 0.95),
    (4.0, 0.15, 0.50),
    (3.0, 0.10, 0.35),
)
# A club is for distances within this share of its carry; others are another club's.
REACH: Final = 0.08
# The longest club counts for tee shots up to this loft [deg].
_MOST_TEE_LOFT_DEG: Final = 25.0
_STEPS: Final = 2000


@dataclass(frozen=True, slots=True)
class ClubAndCarry:
    """A club and swing with its carry.

    Parameters
    ----------
    club, swing : str
        Canonical words.
    carry_m : float
        Carry in still air [m], > 0.
    """

    club: str
    swing: str
    carry_m: float

    @property
    def share_of_drive(self) -> float:
        """Nominal full carry of the club against a driver's [1]; NaN where the loft is unknown."""
        loft, driver = (
            (nominal_loft_deg(club) - LOFT_CENTRE_DEG) / LOFT_SCALE_DEG
            for club in (self.club, "driver")
        )
        logs = log_full_carry(np.array([loft, driver]))
        return float(np.exp(logs[0] - logs[1]))


def drive_carry(clubs: Sequence[ClubAndCarry]) -> float:
    """Carry of the player's drive, from the driver or from the other clubs.

    Parameters
    ----------
    clubs : sequence of ClubAndCarry
        The player's clubs and swings.

    Returns
    -------
    float
        Carry [m]: the driver's own, else the median of what each full swing with a club of known
        loft suggests; NaN where there is none.
    """
    full = [club for club in clubs if club.swing == "full"]
    drives = [club.carry_m for club in full if club.club == "driver"]
    if drives:
        return max(drives)
    shares = [club.carry_m / club.share_of_drive for club in full]
    known = [carry for carry in shares if not math.isnan(carry)]
    return float(np.median(known)) if known else math.nan


def strokes_by_club(clubs: Sequence[ClubAndCarry], drive_m: float) -> list[float]:
    """Strokes of a round that each club and swing is for.

    Parameters
    ----------
    clubs : sequence of ClubAndCarry
        The player's clubs and swings.
    drive_m : float
        Carry of the player's drive [m]; NaN where unknown.

    Returns
    -------
    list of float
        Strokes [1] in the order of the clubs, all 0 where the drive is unknown.

    Notes
    -----
    The longest club, if it is one for the tee, has the drives. Every other distance goes to the
    club whose carry is nearest, if that is within 8 % of its carry; a bag with holes leaves
    strokes to nobody.
    """
    uses = np.zeros(len(clubs))
    if math.isnan(drive_m) or not clubs:
        return uses.tolist()
    longest = max(range(len(clubs)), key=lambda place: clubs[place].carry_m)
    carries = np.array([club.carry_m for club in clubs])
    if nominal_loft_deg(clubs[longest].club) <= _MOST_TEE_LOFT_DEG:
        uses[longest] = DRIVES
        carries[longest] = np.inf
    for strokes, low, high in NEEDS:
        uses += strokes * _shares(carries, drive_m * np.linspace(low, high, _STEPS))
    return uses.tolist()


def _shares(
    carries: npt.NDArray[np.float64], distances: npt.NDArray[np.float64]
) -> npt.NDArray[np.float64]:
    """Share of some distances that each carry is nearest to and within reach of [1]."""
    off = np.abs(distances[:, None] - carries[None, :])
    nearest = off.argmin(axis=1)
    within = off[np.arange(len(distances)), nearest] <= REACH * carries[nearest]
    counts = np.bincount(nearest[within], minlength=len(carries))
    return np.asarray(counts / len(distances))
