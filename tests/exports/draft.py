"""What is decided about a random export before its lines are written."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

import numpy as np
import polars as pl

from tests.exports.columns import Style, heading_word, random_style
from tests.exports.flights import BAG, random_shots
from tests.exports.printing import Column, pick
from tests.exports.trade_words import NAMES

LANGUAGES = ("en", "en", "en", "de", "fr", "es", "sv")


@dataclass
class Draft:
    """What is decided about a file before its lines are written."""

    rng: np.random.Generator
    style: Style
    shots: pl.DataFrame
    players: list[str]
    moments: list[datetime]
    columns: list[Column] = field(default_factory=list)
    data: dict[str, list[Any]] = field(default_factory=dict)
    tolerance: dict[str, float] = field(default_factory=dict)
    above: dict[str, str] = field(default_factory=dict)
    note: dict[str, Any] = field(default_factory=dict)
    statements: list[str] = field(default_factory=list)
    struck_at: list[str] | None = None
    time_kind: str | None = None
    outcome: list[str] = field(default_factory=lambda: ["loaded"])


def random_draft(rng: np.random.Generator) -> Draft:
    """Players, clubs, visits and shots by chance."""
    style = random_style(rng, str(pick(rng, LANGUAGES)))
    bag = [str(c) for c in rng.choice(list(BAG), size=int(rng.integers(1, 6)), replace=False)]
    visits = int(pick(rng, [1, 1, 1, 2, 3]))
    names = [str(n) for n in rng.choice(NAMES, size=int(pick(rng, [1, 1, 1, 2])), replace=False)]
    clubs: list[str] = []
    players: list[str] = []
    moments: list[datetime] = []
    day = datetime(2023, 1, 1) + timedelta(days=int(rng.integers(0, 900)))
    for _ in range(visits):
        for player in names:
            moment = day.replace(hour=int(rng.integers(8, 18)), minute=int(rng.integers(0, 60)))
            for club in bag:
                for _ in range(int(rng.integers(4, 10))):
                    clubs.append(club)
                    players.append(player)
                    moments.append(moment)
                    moment += timedelta(milliseconds=int(rng.integers(20_000, 70_000)))
        day += timedelta(days=int(rng.integers(1, 9)))
    effort = None
    shots = random_shots(rng, clubs, strength=rng.uniform(0.75, 1.05), effort=effort)
    if rng.random() < 0.12:
        shots = _part_swings(rng, clubs)
    return Draft(rng, style, shots, players, moments)


def _part_swings(rng: np.random.Generator, clubs: list[str]) -> pl.DataFrame:
    """Shots of full and part swings, with a `swing` column."""
    positions = {"full": 1.0, "10:30": 0.9, "9:00": 0.75, "7:30": 0.55}
    swings = [str(pick(rng, positions)) for _ in clubs]
    effort = np.array([positions[swing] for swing in swings])
    return random_shots(rng, clubs, effort=effort).with_columns(swing=pl.Series(swings))


def column_word(draft: Draft, name: str) -> str:
    """A heading in the language of the file."""
    return heading_word(name, draft.style.language, draft.rng)
