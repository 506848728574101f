"""Simulated shots of a bag as canonical rows."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import polars as pl
from rangeledger.models.clubs.shot_sampler import SampledShots, sample_shots
from rangeledger.models.flight.day_flight import Conditions
from rangeledger.models.flight.launch_spread import LAUNCH_COLUMNS
from rangeledger.pipelines.output.neat_table import Shown
from rangeledger.schemas.errors import UsageError
from rangeledger.schemas.units import MPH_MPS, YARD_M
from rangeledger.warehouse.pages.bag import BagClub

_YARDS = 1.0 / YARD_M
# What a person is shown of a drawn shot.
SHOWN = (
    Shown("club", "club"),
    Shown("swing", "swing"),
    Shown("strike", "strike"),
    Shown("ball_speed_mps", "ball speed\nmph", ".0f", 1.0 / MPH_MPS),
    Shown("launch_angle_deg", "launch\ndeg", ".1f"),
    Shown("launch_direction_deg", "start\ndeg", "+.1f"),
    Shown("spin_rate_rpm", "spin\nrpm", ".0f"),
    Shown("spin_axis_deg", "axis\ndeg", "+.1f"),
    Shown("carry_m", "carry\nyd", ".0f", _YARDS),
    Shown("carry_side_m", "side\nyd", "+.0f", _YARDS),
    Shown("apex_m", "apex\nyd", ".0f", _YARDS),
)


def chosen(bag: Sequence[BagClub], club: str | None, swing: str | None) -> list[BagClub]:
    """Clubs and swings that the user asks for.

    Parameters
    ----------
    bag : sequence of BagClub
        The player's clubs and swings.
    club, swing : str or None
        Canonical words; None takes all.

    Returns
    -------
    list of BagClub

    Raises
    ------
    UsageError
        If the player has none of these.
    """
    found = [
        entry
        for entry in bag
        if club in (None, entry.pattern.club) and swing in (None, entry.pattern.swing)
    ]
    if not found:
        there = ", ".join(entry.pattern.name for entry in bag)
        raise UsageError(f"There is no such club and swing. The player has: {there}.")
    return found


def simulated(
    player: str,
    clubs: Sequence[BagClub],
    count: int,
    *,
    seed: int,
    conditions: Conditions,
    with_doubt: bool = True,
) -> pl.DataFrame:
    """Draw shots of every club and swing.

    Parameters
    ----------
    player : str
        Whose clubs these are.
    clubs : sequence of BagClub
        Clubs and swings.
    count : int
        Shots for each of them [1].
    seed : int
        Start of the random numbers; a club's shots depend on it and on the club alone.
    conditions : Conditions
        Wind and air.
    with_doubt : bool
        Whether the doubt about the player's centre and spread is in the shots; without it they
        have the fitted pattern itself.

    Returns
    -------
    polars.DataFrame
        Canonical columns, with the landing in still air beside the day's, and `strike`.
    """
    frames = []
    for entry in clubs:
        pattern = entry.pattern if with_doubt else entry.pattern.without_doubt()
        random = np.random.default_rng([seed, *f"{pattern.name}|{pattern.ball}".encode()])
        shots = sample_shots(pattern, entry.launch, count, random, conditions)
        frames.append(_frame(player, entry, shots, conditions))
    return pl.concat(frames)


def _frame(
    player: str, entry: BagClub, shots: SampledShots, conditions: Conditions
) -> pl.DataFrame:
    """One club's shots as canonical rows."""
    count = len(shots.mishit)
    pattern, flight = entry.pattern, shots.flight
    labels = {"player": player, "club": pattern.club, "swing": pattern.swing, "ball": pattern.ball}
    numbers = dict(zip(LAUNCH_COLUMNS, shots.launches.T, strict=True)) | {
        "carry_m": shots.landings[:, 0],
        "carry_side_m": shots.landings[:, 1],
        "still_carry_m": shots.still[:, 0],
        "still_side_m": shots.still[:, 1],
        "apex_m": flight.apex_m,
        "descent_angle_deg": flight.descent_angle_deg,
        "hang_time_s": flight.hang_time_s,
    }
    columns = {name: np.ascontiguousarray(values) for name, values in numbers.items()}
    strike = pl.when(pl.Series(shots.mishit)).then(pl.lit("mishit")).otherwise(pl.lit("clean"))
    return pl.DataFrame(columns).select(
        *(pl.lit(word).alias(name) for name, word in labels.items()),
        pl.int_range(1, count + 1, dtype=pl.Int32).alias("shot_number"),
        *(pl.col(name).fill_nan(None) for name in numbers),
        pl.lit(conditions.wind_speed_mps).alias("wind_speed_mps"),
        pl.lit(conditions.wind_from_deg % 360.0).alias("wind_from_deg"),
        pl.lit("ball").alias("wind_height"),
        pl.lit("modelled").alias("flight_basis"),
        strike.alias("strike"),
    )
