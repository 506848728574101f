"""Invented wedge players: four wedges, four swings, every cell's true carry and spread known."""

from __future__ import annotations

import numpy as np
import polars as pl

WEDGES = (46, 52, 56, 60)
SWINGS = ("7:30", "9:00", "10:30", "full")
FEELS = ("soft", "half", "three quarters", "full")
SHARES = np.array([0.45, 0.62, 0.81, 1.0])
# Carry varies by 9 % with the shortest swing and by 4.5 % with the full one [halmstad2014],
# [ossj2021].
SPREADS = np.array([0.09, 0.075, 0.06, 0.045])


def make_wedges(
    players: int, shots: int, sessions: int, *, seed: int, swings: tuple[str, ...] = SWINGS
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Return shots and the true carry and relative spread of each cell."""
    rng = np.random.default_rng(seed)
    shape = (players, len(WEDGES), len(swings))
    level = np.log(108.0) + 0.1 * rng.standard_normal((players, 1, 1))
    slope = -0.0215 + 0.004 * rng.standard_normal((players, 1, 1))
    loft = (np.array(WEDGES) - 46.0)[:, None]
    partial = 0.06 * rng.standard_normal((players, 1, len(swings))) * (SHARES < 1.0)
    deviation = 0.03 * rng.standard_normal((players, len(WEDGES), 1))
    own = 0.025 * rng.standard_normal(shape)
    carry = np.exp(level + slope * loft + np.log(SHARES) + partial + deviation + own)
    spread = SPREADS * np.exp(0.2 * rng.standard_normal((players, 1, 1)))
    spread = np.broadcast_to(spread, shape)
    table = _struck(carry, spread, shots, sessions, swings, rng)
    player, wedge, swing = (index.ravel() for index in np.indices(shape))
    truth = _named(player, wedge, swing, swings).with_columns(
        true_carry_m=pl.Series(carry.ravel()), true_spread=pl.Series(spread.ravel())
    )
    return table, truth


def _struck(
    carry: np.ndarray,
    spread: np.ndarray,
    shots: int,
    sessions: int,
    swings: tuple[str, ...],
    rng: np.random.Generator,
) -> pl.DataFrame:
    shape = (*carry.shape, shots)
    session = np.arange(shots) % sessions
    shared = rng.standard_normal((carry.shape[0], 1, 1, sessions)) * np.sqrt(0.6)
    alone = rng.standard_normal((*carry.shape, sessions)) * np.sqrt(0.4)
    drift = 0.018 * (shared + alone)[..., session]
    short = np.minimum(0.15 * np.exp(0.7 * rng.standard_normal(shape)), 0.9)
    clean = spread[..., None] * rng.standard_normal(shape)
    change = drift + np.where(rng.random(shape) < 0.08, -short, clean)
    side = 0.045 * rng.standard_normal(shape)
    player, wedge, swing, shot = (index.ravel() for index in np.indices(shape))
    return _named(player, wedge, swing, swings).with_columns(
        session_id=pl.format("s{}", pl.Series(session[shot])),
        shot_number=pl.Series(shot + 1, dtype=pl.Int32),
        still_carry_m=pl.Series((carry[..., None] * (1.0 + change)).ravel()),
        still_side_m=pl.Series((carry[..., None] * side).ravel()),
    )


def _named(
    player: np.ndarray, wedge: np.ndarray, swing: np.ndarray, swings: tuple[str, ...]
) -> pl.DataFrame:
    return pl.DataFrame(
        {
            "player": np.array([f"p{i:04d}" for i in range(int(player.max()) + 1)])[player],
            "club": np.array([f"{loft}-wedge" for loft in WEDGES])[wedge],
            "swing": np.array(swings)[swing],
        }
    ).with_columns(ball=pl.lit("premium"))
