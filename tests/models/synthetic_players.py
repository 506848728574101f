"""Invented players whose truth is known: the trial ground of the carry statistics.

The generator was written for the tests and shares with the estimator only the idea that a
mishit mostly falls short. It draws every player's spreads, drift, clubs and line of carry over
loft at random, so no two players are alike.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import polars as pl

CLUBS = (
    ("driver", 10.5), ("5-wood", 18.5), ("4-iron", 23.0), ("6-iron", 29.0),
    ("7-iron", 32.5), ("9-iron", 41.0), ("gap-wedge", 51.0), ("sand-wedge", 56.0),
)  # fmt: skip


@dataclass(frozen=True)
class Recipe:
    """How players are drawn; spreads are fractions of carry."""

    carry_spread: float = 0.035
    side_spread: float = 0.0525
    player_log_sd: float = 0.2
    club_log_sd: float = 0.12
    correlation: float = 0.2
    carry_drift: float = 0.015
    side_drift: float = 0.010
    shared_drift: float = 0.8
    mishit_rate: float = 0.08
    mishit_median: float = 0.15
    mishit_log_sd: float = 0.7
    club_deviation: float = 0.025
    core_df: float = float("inf")
    both_ways: bool = False
    clubs: int = 8
    # Factors on the side spread of the driver and of the sand wedge; between them by loft.
    driver_side: float = 1.0
    wedge_side: float = 1.0

    def changed(self, **changes: float | bool | int) -> Recipe:
        """Return the recipe with some ingredients changed."""
        return replace(self, **changes)


RECIPE = Recipe()


@dataclass(frozen=True)
class Truth:
    """What the players were made of; arrays of shape (players, clubs)."""

    centre_m: np.ndarray
    side_m: np.ndarray
    carry_spread: np.ndarray
    side_spread: np.ndarray
    clubs: tuple[str, ...]


def make_players(
    players: int,
    shots: int,
    sessions: int,
    *,
    seed: int,
    recipe: Recipe = RECIPE,
    test_sessions: int = 0,
    test_shots: int = 10,
) -> tuple[pl.DataFrame, pl.DataFrame, Truth]:
    """Return shots to learn from, shots of later sessions to be judged by, and the truth."""
    rng = np.random.default_rng(seed)
    names = tuple(name for name, _ in CLUBS[: recipe.clubs]) if recipe.clubs > 1 else ("7-iron",)
    truth = _truth(players, names, recipe, rng)
    per_session = np.full(sessions, shots // sessions)
    per_session[: shots % sessions] += 1
    learn = _strike(truth, per_session, recipe, rng, prefix="learn")
    judge = _strike(truth, np.full(test_sessions, test_shots), recipe, rng, prefix="later")
    return learn, judge, truth


def _truth(players: int, names: tuple[str, ...], recipe: Recipe, rng: np.random.Generator) -> Truth:
    loft = (np.array([dict(CLUBS)[name] for name in names]) - 36.0) / 16.0
    shape = (players, len(names))
    level = np.log(130.0) + 0.15 * rng.standard_normal((players, 1))
    slope = -0.32 + 0.05 * rng.standard_normal((players, 1))
    curve = -0.03 + 0.02 * rng.standard_normal((players, 1))
    deviation = recipe.club_deviation * rng.standard_normal(shape)
    player_factor = np.exp(recipe.player_log_sd * rng.standard_normal((players, 1)))
    club_factor = np.exp(recipe.club_log_sd * rng.standard_normal((2, *shape)))
    centre = np.exp(level + slope * loft + curve * loft**2 + deviation)
    aim = 0.02 * rng.standard_normal((players, 1)) + 0.01 * rng.standard_normal(shape)
    ends = [(10.5 - 36.0) / 16.0, (56.0 - 36.0) / 16.0]
    by_loft = np.interp(loft, ends, [recipe.driver_side, recipe.wedge_side])
    return Truth(
        centre_m=centre,
        side_m=centre * aim,
        carry_spread=recipe.carry_spread * player_factor * club_factor[0],
        side_spread=recipe.side_spread * player_factor * club_factor[1] * by_loft,
        clubs=names,
    )


def _strike(
    truth: Truth, per_session: np.ndarray, recipe: Recipe, rng: np.random.Generator, *, prefix: str
) -> pl.DataFrame:
    players, clubs = truth.centre_m.shape
    sessions, shots = len(per_session), int(per_session.sum())
    day = np.repeat(np.arange(sessions), per_session)
    shape = (players, clubs, shots)
    e1, e2 = _core(shape, recipe, rng)
    drift1, drift2 = (
        _drift((players, clubs, sessions), d, recipe, rng)[:, :, day]
        for d in (recipe.carry_drift, recipe.side_drift)
    )
    u1 = drift1 + truth.carry_spread[:, :, None] * e1
    u2 = drift2 + truth.side_spread[:, :, None] * e2
    mishit = rng.random(shape) < recipe.mishit_rate
    short = np.minimum(
        recipe.mishit_median * np.exp(recipe.mishit_log_sd * rng.standard_normal(shape)), 0.9
    )
    if recipe.both_ways:
        short = np.where(rng.random(shape) < 0.5, -0.5 * short, short)
    wide = 1.8 * truth.side_spread[:, :, None] * rng.standard_t(3.0, shape)
    u1 = np.where(mishit, drift1 - short, u1)
    u2 = np.where(mishit, drift2 + wide, u2)
    carry = truth.centre_m[:, :, None] * (1.0 + u1)
    side = truth.side_m[:, :, None] + truth.centre_m[:, :, None] * u2
    return _frame(truth, carry, side, mishit, day, prefix)


def _core(
    shape: tuple[int, ...], recipe: Recipe, rng: np.random.Generator
) -> tuple[np.ndarray, np.ndarray]:
    e1, e2 = rng.standard_normal((2, *shape))
    e2 = recipe.correlation * e1 + np.sqrt(1.0 - recipe.correlation**2) * e2
    if np.isfinite(recipe.core_df):
        stretch = np.sqrt((recipe.core_df - 2.0) / rng.chisquare(recipe.core_df, shape))
        return e1 * stretch, e2 * stretch
    return e1, e2


def _drift(
    shape: tuple[int, int, int], sd: float, recipe: Recipe, rng: np.random.Generator
) -> np.ndarray:
    players, clubs, sessions = shape
    shared = rng.standard_normal((players, 1, sessions)) * np.sqrt(recipe.shared_drift)
    own = rng.standard_normal((players, clubs, sessions)) * np.sqrt(1.0 - recipe.shared_drift)
    return sd * (shared + own)


def _frame(
    truth: Truth,
    carry: np.ndarray,
    side: np.ndarray,
    mishit: np.ndarray,
    day: np.ndarray,
    prefix: str,
) -> pl.DataFrame:
    players, clubs, shots = carry.shape
    player, club, shot = (index.ravel() for index in np.indices((players, clubs, shots)))
    names = np.array([name_of(i) for i in range(players)])
    labels = np.array([f"{prefix}-{i:02d}" for i in range(int(day.max(initial=0)) + 1)])
    return pl.DataFrame(
        {
            "player": names[player],
            "club": np.array(truth.clubs)[club],
            "session_id": labels[day[shot]] if shots else np.array([], dtype=labels.dtype),
            "shot_number": (shot + 1 + 1000 * club).astype(np.int32),
            "still_carry_m": carry.ravel(),
            "still_side_m": side.ravel(),
            "truly_mishit": mishit.ravel(),
        }
    ).with_columns(
        swing=pl.lit("full"),
        ball=pl.lit("premium"),
        struck_at=pl.lit(None, dtype=pl.Datetime("ms", "UTC")),
    )


def true_centres(truth: Truth) -> pl.DataFrame:
    """Return the true centre of clean strikes of each player and club."""
    players, clubs = truth.centre_m.shape
    return pl.DataFrame(
        {
            "player": [name_of(i) for i in range(players) for _ in range(clubs)],
            "club": list(truth.clubs) * players,
            "true_carry_m": truth.centre_m.ravel(),
            "true_carry_spread": truth.carry_spread.ravel(),
            "true_side_spread": truth.side_spread.ravel(),
        }
    )


def name_of(number: int) -> str:
    """Return the name of an invented player."""
    return f"player-{number:05d}"
