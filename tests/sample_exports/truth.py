"""What a ledger should find again: the true carries behind the sample exports."""

from __future__ import annotations

from datetime import datetime
from typing import NamedTuple

import numpy as np
from rangeledger.models.flight.trajectory import fly
from rangeledger.sample_exports.scenario import CARRY_SCALE, FIRST_DAY, Visit, Weather
from rangeledger.sample_exports.swings import SEED, clean_launch, club_delivery

DRAWS = 4000  # clean strikes drawn; the mean carry is then known to about 0.05 m


class Carry(NamedTuple):
    """Clean strikes in still reference air on a day without drift, before any reading error."""

    carry_m: float
    carry_sd_m: float
    carry_side_m: float
    carry_side_sd_m: float


def still_air_carry(
    player: str,
    club: str,
    swing: str = "full",
    ball: str = "premium",
    on: datetime = FIRST_DAY,
) -> Carry:
    """True still-air carry of a player's club.

    Parameters
    ----------
    player, club, swing, ball : str
        As in the scenario, canonical words.
    on : datetime
        The day; it matters to the player who gains speed.

    Returns
    -------
    Carry
        Mean and standard deviation of carry and side [m].
    """
    visit = Visit(player, on, ((club, swing, DRAWS),), Weather(23.9), ball)
    shots = {"club": [club] * DRAWS, "swing": [swing] * DRAWS}
    rng = np.random.default_rng(SEED)
    launch = clean_launch(visit, rng, shots, np.zeros((DRAWS, 5)))
    launch |= club_delivery(shots, launch)
    names = ("ball_speed_mps", "launch_angle_deg", "launch_direction_deg")
    flight = fly(**{name: launch[name] for name in (*names, "spin_rate_rpm", "spin_axis_deg")})
    scale = CARRY_SCALE[ball]
    carry, side = flight.carry_m * scale, flight.carry_side_m * scale
    return Carry(float(carry.mean()), float(carry.std()), float(side.mean()), float(side.std()))
