"""Invented players of many makes, none of them the make that the defaults were set with.

Each make is a generator of its own: the law of clean strikes (heavy tails, skew, misses to both
sides, contamination, Laplace), the law of mishits, the law of a day, how much of it all clubs
share, and how variable a player's sessions are. A path moves the level of all clubs over the
season. Numbers of the models are tuned on the makes in `TUNED_ON` and judged on those in
`JUDGED_ON`, which share none of their laws.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import UTC, datetime

import numpy as np
import polars as pl

# Club, loft [deg] and carry of a middling player [m]; common practice, no source.
CLUBS = (
    ("7-iron", 32.5, 138.0), ("driver", 10.5, 205.0), ("pitching-wedge", 45.5, 103.0),
    ("5-wood", 18.5, 176.0), ("9-iron", 41.0, 116.0), ("5-iron", 26.0, 156.0),
    ("sand-wedge", 56.0, 78.0), ("gap-wedge", 51.0, 90.0),
)  # fmt: skip
START = datetime(2024, 3, 1, 9, 0, tzinfo=UTC)


@dataclass(frozen=True)
class Make:
    """How shots come about; spreads are fractions of carry."""

    core: str = "normal"
    mishits: str = "lognormal"
    day: str = "normal"
    carry_spread: float = 0.035
    side_spread: float = 0.055
    player_log_sd: float = 0.2
    club_log_sd: float = 0.12
    # Spread of ln spread from session to session.
    session_log_sd: float = 0.0
    carry_drift: float = 0.015
    side_drift: float = 0.010
    shared_drift: float = 0.8
    mishit_rate: float = 0.08
    club_deviation: float = 0.03
    length: float = 1.0


@dataclass(frozen=True)
class Season:
    """How many sessions, clubs and shots, and what befalls the level of all clubs."""

    sessions: int = 8
    clubs: int = 6
    shots: int = 5
    presence: float = 1.0
    # Spread of the step of the level from one session to the next [1].
    walk: float = 0.0
    # Rise over the whole season [1].
    gain: float = 0.0
    # A step of the level, so many sessions before the end [1].
    step: float = 0.0
    after: int = 2
    # The same of the aim of all clubs, as fractions of carry: a walk, a turn over the whole season,
    # and a step, as many sessions before the end as that of the level [1].
    aim_walk: float = 0.0
    aim_gain: float = 0.0
    aim_step: float = 0.0
    # Difference of two monitors that take turns at random [1].
    monitors: float = 0.0
    # Share of the sessions of which both monitors measure a part [1].
    both: float = 0.0
    test_shots: int = 10

    def aimed(self) -> Season:
        """Return a season whose level goes as this one's aim does."""
        return replace(self, walk=self.aim_walk, gain=self.aim_gain, step=self.aim_step)

    def changed(self, **changes: float) -> Season:
        """Return the season with some numbers changed."""
        return replace(self, **changes)


TUNED_ON = {
    "heavy tails": Make(core="t4", mishits="two ends", day="t5", shared_drift=0.6),
    "skewed": Make(core="gamma", mishits="lognormal", day="normal", carry_spread=0.04),
    "two-way": Make(core="two-way", mishits="tied to side", carry_drift=0.02, side_spread=0.065),
}
JUDGED_ON = {
    "contaminated": Make(core="contaminated", mishits="uniform", day="uniform", shared_drift=0.7),
    "Laplace": Make(core="laplace", mishits="normal", day="normal", carry_drift=0.011),
    "variable": Make(
        core="normal", mishits="uniform", day="t3", session_log_sd=0.3, shared_drift=1.0,
        carry_spread=0.04,
    ),
    "lobes": Make(core="lobes", mishits="normal", day="two days", carry_spread=0.03),
}  # fmt: skip
WEAK = {"carry_spread": 0.065, "side_spread": 0.09, "mishit_rate": 0.16, "carry_drift": 0.025,
        "length": 0.82}  # fmt: skip


@dataclass(frozen=True)
class Made:
    """Shots to learn from, shots of the next session, and the truth."""

    shots: pl.DataFrame
    later: pl.DataFrame
    # player, club, `now_m` the level of the last session, `next_m` that of the next one without
    # its day, `mean_m` over the sessions; `next_aim` its side, a fraction of carry, likewise.
    truth: pl.DataFrame
    step: np.ndarray = field(repr=False)


def make_season(players: int, make: Make, season: Season, *, seed: int) -> Made:
    """Return a season of players of one make."""
    rng = np.random.default_rng(seed)
    clubs = CLUBS[: season.clubs]
    shape = (players, season.clubs)
    centre = _centres(shape, clubs, make, rng)
    player = np.exp(make.player_log_sd * rng.standard_normal((players, 1, 1)))
    own = np.exp(make.club_log_sd * rng.standard_normal((2, *shape)))
    sessions = season.sessions + 1
    level, after = _level(players, season, rng)
    turned, _ = _level(players, season.aimed(), np.random.default_rng([seed, 2]))
    visit = np.exp(make.session_log_sd * rng.standard_normal((players, 1, sessions)))
    spread = player * own[..., None] * visit
    spread = np.stack([make.carry_spread * spread[0], make.side_spread * spread[1]])
    drift = _drift((2, players, season.clubs, sessions), make, rng)
    turns = rng.integers(0, 2, (players, 1, sessions))
    aim = 0.02 * rng.standard_normal((players, 1, 1)) + 0.01 * rng.standard_normal((*shape, 1))
    aim = aim + turned[:, None, :]
    per = max(season.shots, season.test_shots)
    core = _core((*shape, sessions, per), make.core, rng)
    mishit = rng.random((*shape, sessions, per)) < make.mishit_rate
    short, wide = _mishits(mishit.shape, make.mishits, rng)
    u1 = np.where(mishit, -short, spread[0][..., None] * core[0])
    u2 = spread[1][..., None] * np.where(mishit, wide, core[1])
    measured = _monitors(turns, season, per, np.random.default_rng([seed, 1]))
    factor = np.exp((level[:, None, :] + drift[0])[..., None] + season.monitors * (measured - 0.5))
    carry = np.maximum(centre[..., None, None] * factor * (1.0 + u1), 3.0)
    side = centre[..., None, None] * (u2 + drift[1][..., None] + aim[..., None])
    played = rng.random((*shape, sessions)) < season.presence
    played[:, :, -1] = True
    played[:, 0, :] |= ~played.any(axis=1)
    kept = np.arange(per) < np.where(np.arange(sessions) < sessions - 1, season.shots,
                                     season.test_shots)[:, None]  # fmt: skip
    measured = np.broadcast_to(measured, carry.shape)
    table = _frame(carry, side, mishit, measured, played[..., None] & kept, clubs)
    last = pl.col("visit") == sessions - 1
    return Made(
        table.filter(~last),
        table.filter(last),
        _truth(centre, level, clubs).with_columns(next_aim=pl.Series(aim[..., -1].ravel())),
        after,
    )


def _centres(
    shape: tuple[int, int], clubs: tuple, make: Make, rng: np.random.Generator
) -> np.ndarray:
    """Return carry of clean strikes at the level of the first session [m]."""
    length = make.length * np.exp(0.10 * rng.standard_normal((shape[0], 1)))
    stretch = 1.0 + 0.08 * rng.standard_normal((shape[0], 1))
    usual = np.log(np.array([carry for *_, carry in clubs]) / 130.0)
    off = make.club_deviation * rng.standard_normal(shape)
    return length * 130.0 * np.exp(stretch * usual + off)


def _level(players: int, season: Season, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Return ln of the level of each session, one more than the season has, and steps."""
    sessions = season.sessions + 1
    place = np.arange(sessions)
    walk = season.walk * rng.standard_normal((players, sessions))
    walk[:, 0] = 0.0
    sign = rng.choice([-1.0, 1.0], (players, 1))
    gain = season.gain * place / max(season.sessions - 1, 1)
    stepped = place >= season.sessions - season.after
    step = sign * np.log1p(season.step) * stepped
    return np.cumsum(walk, axis=1) + gain + step, (sign[:, 0] * season.step)


def _monitors(
    turns: np.ndarray, season: Season, shots: int, rng: np.random.Generator
) -> np.ndarray:
    """Return which of two monitors measured each shot, shape (players, 1, sessions, shots)."""
    both = rng.random(turns.shape) < season.both
    return np.where(both[..., None], np.arange(shots) % 2, turns[..., None])


def _core(shape: tuple[int, ...], law: str, rng: np.random.Generator) -> np.ndarray:
    """Return clean strikes along and across, of variance 1."""
    one, two = rng.standard_normal((2, *shape))
    if law == "t4":
        return np.stack([one, two]) * np.sqrt(2.0 / rng.chisquare(4.0, shape))
    if law == "gamma":
        return np.stack([-(rng.gamma(3.0, 1.0, shape) - 3.0) / 3.0**0.5, two])
    if law == "two-way":
        lobe = rng.choice([-0.85, 0.85], shape)
        return np.stack([one, lobe + (1.0 - 0.85**2) ** 0.5 * two])
    if law == "contaminated":
        wild = np.where(rng.random(shape) < 0.1, 2.2, 1.0) / (0.9 + 0.1 * 2.2**2) ** 0.5
        return np.stack([one, 0.3 * one + (1 - 0.09) ** 0.5 * two]) * wild
    if law == "laplace":
        return rng.laplace(0.0, 0.5**0.5, (2, *shape))
    if law == "lobes":
        lobe = np.where(rng.random(shape) < 0.75, -0.45, 1.35)
        along = 0.8 * one - 0.6 * lobe / (0.45 * 1.35) ** 0.5
        return np.stack([along, lobe + (1.0 - 0.45 * 1.35) ** 0.5 * two])
    return np.stack([one, two])


def _mishits(
    shape: tuple[int, ...], law: str, rng: np.random.Generator
) -> tuple[np.ndarray, np.ndarray]:
    """Return the loss of carry [1] and the side, in clean side spreads."""
    wide = 1.5 * rng.standard_normal(shape)
    if law == "uniform":
        return rng.uniform(0.05, 0.45, shape), wide
    if law == "normal":
        return np.clip(0.2 + 0.08 * rng.standard_normal(shape), 0.02, 0.8), wide
    short = np.minimum(0.15 * np.exp(0.7 * rng.standard_normal(shape)), 0.9)
    if law == "two ends":
        return np.where(rng.random(shape) < 0.3, -0.4 * short, short), wide
    if law == "tied to side":
        return short, 10.0 * short * np.where(rng.random(shape) < 0.8, 1.0, -1.0) + 0.5 * wide
    return short, wide


def _drift(shape: tuple[int, ...], make: Make, rng: np.random.Generator) -> np.ndarray:
    """Return the days' shifts of ln carry and of side as a fraction of carry."""
    ways, players, _, sessions = shape
    shared = _day((ways, players, 1, sessions), make.day, rng) * make.shared_drift**0.5
    own = _day(shape, make.day, rng) * (1.0 - make.shared_drift) ** 0.5
    size = np.array([make.carry_drift, make.side_drift])[:, None, None, None]
    return size * (shared + own)


def _day(shape: tuple[int, ...], law: str, rng: np.random.Generator) -> np.ndarray:
    if law == "uniform":
        return rng.uniform(-(3.0**0.5), 3.0**0.5, shape)
    if law == "t5":
        return rng.standard_t(5.0, shape) * (3.0 / 5.0) ** 0.5
    if law == "t3":
        return rng.standard_t(3.0, shape) / 3.0**0.5
    if law == "two days":
        return rng.choice([-1.0, 1.0], shape) * 0.8 + 0.6 * rng.standard_normal(shape)
    return rng.standard_normal(shape)


def _frame(
    carry: np.ndarray,
    side: np.ndarray,
    mishit: np.ndarray,
    monitor: np.ndarray,
    kept: np.ndarray,
    clubs: tuple,
) -> pl.DataFrame:
    player, club, visit, shot = (index[kept] for index in np.indices(carry.shape))
    names = np.array([name_of(number) for number in range(carry.shape[0])])
    return pl.DataFrame(
        {
            "player": names[player],
            "club": np.array([name for name, *_ in clubs])[club],
            "visit": visit,
            "shot_number": (shot + 1 + 1000 * club).astype(np.int32),
            "still_carry_m": carry[kept],
            "still_side_m": side[kept],
            "truly_mishit": mishit[kept],
            "monitor": np.array(["bay A", "bay B"])[monitor[kept]],
        }
    ).with_columns(
        session_id=pl.format("s{}", pl.col("visit").cast(pl.String).str.zfill(3)),
        struck_at=(pl.lit(START) + pl.duration(weeks="visit")).dt.cast_time_unit("ms"),
        swing=pl.lit("full"),
        ball=pl.lit("premium"),
    )


def _truth(centre: np.ndarray, level: np.ndarray, clubs: tuple) -> pl.DataFrame:
    players = len(centre)
    levels = {"now_m": level[:, -2], "next_m": level[:, -1], "mean_m": level[:, :-1].mean(axis=1)}
    return pl.DataFrame(
        {
            "player": np.repeat([name_of(number) for number in range(players)], len(clubs)),
            "club": [name for name, *_ in clubs] * players,
        }
        | {name: (centre * np.exp(value)[:, None]).ravel() for name, value in levels.items()}
    )


def name_of(number: int) -> str:
    """Return the name of an invented player."""
    return f"player-{number:05d}"
