"""Invented sessions flown through the flight model: launch, wind, units and swing under control."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime

import numpy as np
import polars as pl
from rangeledger.models.flight.aerodynamics import DEFAULT, aerodynamics_by_name
from rangeledger.models.flight.trajectory import fly

# Club, ball speed [m/s], launch angle [deg], spin [rpm]; common practice, no source.
CLUBS = (
    ("driver", 68.0, 12.5, 2700.0),
    ("5-wood", 61.0, 13.5, 4200.0),
    ("5-iron", 54.0, 15.0, 5400.0),
    ("7-iron", 49.0, 18.0, 6600.0),
    ("pitching-wedge", 41.0, 25.0, 8600.0),
)


@dataclass(frozen=True)
class Recipe:
    """How sessions are drawn: spreads of shots, drifts of sessions, and what befalls the last."""

    sessions: int = 9
    shots: int = 6
    clubs: int = 5
    drift: float = 1.0
    mishit_rate: float = 0.08
    # What happens in the last session.
    scale: float = 1.0
    wind_speed_mps: float = 0.0
    wind_from_deg: float = 0.0
    speed_gain_mps: float = 0.0
    start_shift_deg: float = 0.0
    # Fly with other coefficients than the model assumes.
    other_ball: bool = False

    def changed(self, **changes: float) -> Recipe:
        """Return the recipe with some ingredients changed."""
        return replace(self, **changes)


RECIPE = Recipe()
# Spread of shots and of sessions: ln speed, launch, ln spin, start, ln carry and side given launch.
SHOT_SD = np.array([0.025, 1.5, 0.09, 2.0, 0.020, 2.5])
SESSION_SD = np.array([0.007, 0.35, 0.03, 0.45, 0.009, 0.5])


def make_sessions(players: int, *, seed: int, recipe: Recipe = RECIPE) -> pl.DataFrame:
    """Return shots of players, one row a shot, the last session as the recipe says."""
    rng = np.random.default_rng(seed)
    shape = (players, recipe.sessions, recipe.clubs, recipe.shots)
    player, session, club, _ = np.indices(shape)
    errors = SHOT_SD * rng.standard_normal((*shape, 6))
    shared = rng.standard_normal((players, recipe.sessions, 1, 1, 6))
    own = rng.standard_normal((players, recipe.sessions, recipe.clubs, 1, 6))
    errors += recipe.drift * SESSION_SD * (np.sqrt(0.8) * shared + np.sqrt(0.2) * own)
    errors[..., 3] += 1.0 * rng.standard_normal((players, 1, 1, 1))
    last = session == recipe.sessions - 1
    base = np.array([values[1:] for values in CLUBS])[club]
    level = 1.0 + 0.05 * rng.standard_normal((players, 1, 1, 1))
    speed = base[..., 0] * level * np.exp(errors[..., 0]) + recipe.speed_gain_mps * last
    spin = base[..., 2] * np.exp(errors[..., 2])
    launch = np.maximum(base[..., 1] + errors[..., 1], 3.0)
    start = errors[..., 3] + recipe.start_shift_deg * last
    mishit = rng.random(shape) < recipe.mishit_rate
    speed = np.where(mishit, speed * rng.uniform(0.75, 0.95, shape), speed)
    axis = 8.0 * rng.standard_normal(shape)
    drag, lift = 1.0 + 0.05 * rng.standard_normal((2, players, 1, 1, 1))
    flight = fly(
        speed, launch, start, spin, axis, drag_scale=drag, lift_scale=lift,
        aerodynamics=aerodynamics_by_name("smits-smith-1994") if recipe.other_ball else DEFAULT,
        wind_speed_mps=recipe.wind_speed_mps * last, wind_from_deg=recipe.wind_from_deg,
    )  # fmt: skip
    factor = np.exp(errors[..., 4]) * np.where(last, recipe.scale, 1.0)
    carry = flight.carry_m * factor * np.where(mishit, 0.95, 1.0)
    side = flight.carry_side_m * factor + carry * np.tan(np.radians(errors[..., 5]))
    return _frame(
        player, session, club,
        still_carry_m=carry, still_side_m=side, ball_speed_mps=speed, launch_angle_deg=launch,
        spin_rate_rpm=spin, launch_direction_deg=start, spin_axis_deg=axis, truly_mishit=mishit,
    )  # fmt: skip


def _frame(
    player: np.ndarray, session: np.ndarray, club: np.ndarray, **columns: np.ndarray
) -> pl.DataFrame:
    table = pl.DataFrame({name: values.ravel() for name, values in columns.items()})
    start = datetime(2024, 3, 1, 8, 0, tzinfo=UTC)
    week = pl.Series(session.ravel())
    names = np.array([name for name, *_ in CLUBS])[club.ravel()]
    return table.with_columns(
        player=pl.format("p{}", pl.Series(player.ravel()).cast(pl.String).str.zfill(5)),
        session_id=pl.format("s{}", week.cast(pl.String).str.zfill(2)),
        club=pl.Series(names),
        swing=pl.lit("full"),
        ball=pl.lit("premium"),
        struck_at=pl.lit(start) + pl.duration(weeks=week),
        shot_number=pl.int_range(pl.len()).over(pl.Series(player.ravel()), week).cast(pl.Int32) + 1,
    )
