"""Claims of advice, unusual sessions and shapes beside what is observed where there is nothing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
import polars as pl
from rangeledger.models.clubs.carry_model import CarryModel
from rangeledger.models.clubs.shot_pattern import pattern_of
from rangeledger.models.clubs.usual_spread import ASPECTS, usual_level
from rangeledger.models.coaching.two_curves import two_curves
from rangeledger.models.flight.day_flight import Launch
from rangeledger.models.sessions.session_flags import FALSE_ALARM_RATE, session_flags
from rangeledger.models.strategy.aimed_option import Option
from rangeledger.models.strategy.practice_gain import PracticeClub, excesses

from tests.models.other_players import Make, Season, make_season
from tests.models.synthetic_sessions import RECIPE, make_sessions

Row = tuple[str, str, float]
# What is named rests on patterns alone; any launch stands for all.
LAUNCH = Launch(50.5, 17.0, 0.0, 6700.0, 0.0)
# Shots a club, sessions, shots a club and session.
BAGS = ((20, 4, 5), (50, 5, 10), (96, 8, 12))
PAST = 3


def advice(makes: dict[str, Make], players: int) -> Iterator[Row]:
    """How often something is named for players who are exactly as usual for their length."""
    for name, make in makes.items():
        claimed = "at most .10" if make.session_log_sd == 0.0 else ""
        for shots, sessions, each in BAGS:
            season, seed = Season(sessions=sessions, clubs=8, shots=each), 5000 + shots
            usual = _usual(make, make_season(players, make, season, seed=seed).truth)
            made = make_season(players, usual, season, seed=seed)
            parameters = CarryModel().fit(made.shots).parameters_
            named = [_named(bag) for bag in parameters.partition_by("player")]
            yield f"advice to usual players, {name}, {shots} shots a club", claimed, np.mean(named)


def _usual(make: Make, truth: pl.DataFrame) -> Make:
    """Return the make with the spreads and mishits that are usual of each player and club."""
    rows = truth.with_columns(drive=pl.col("now_m").filter(club="driver").first().over("player"))
    levels = [
        usual_level(row["club"], "full", row["now_m"], row["drive"]) for row in rows.to_dicts()
    ]
    shape = (truth["player"].n_unique(), -1, 1)
    distance, direction, mishits = (
        np.array([level[aspect] for level in levels]).reshape(shape) for aspect in ASPECTS
    )
    changes: dict[str, Any] = {
        "carry_spread": np.sqrt(distance**2 - make.carry_drift**2),
        "side_spread": np.sqrt(direction**2 - make.side_drift**2),
        "mishit_rate": mishits[..., None],
    }
    return replace(make, player_log_sd=0.0, club_log_sd=0.0, **changes)


def _named(parameters: pl.DataFrame) -> bool:
    rows = parameters.to_dicts()
    clubs = [
        PracticeClub(Option(pattern_of(row), LAUNCH), row["shots"], row["sessions"]) for row in rows
    ]
    drive = next(row["carry_m"] for row in rows if row["club"] == "driver")
    return bool(excesses(clubs, drive))


def flags(makes: dict[str, Make], players: int) -> Iterator[Row]:
    """How often an ordinary session is called unusual."""
    for name, make in makes.items():
        season = Season(sessions=9)
        made = make_season(players, make, season, seed=6000)
        yield (
            f"ordinary session flagged, outcome, {name}",
            "at most .01",
            _flagged(made.shots, "outcome", players * (season.sessions - PAST)),
        )
    shots = make_sessions(players, seed=6100)
    judged = players * (RECIPE.sessions - PAST)
    for test in ("outcome", "launch", "residual", "club"):
        yield (
            f"ordinary session flagged, {test}, flown",
            "at most .01",
            _flagged(shots, test, judged),
        )


def _flagged(shots: pl.DataFrame, test: str, judged: int) -> float:
    found = session_flags(shots, false_alarm_rate=FALSE_ALARM_RATE).filter(pl.col("test") == test)
    return found.select("player", "session_id").n_unique() / judged


def shapes(_: dict[str, Make], players: int) -> Iterator[Row]:
    """How often one curve with its scatter is taken for two."""
    rng = np.random.default_rng(8000)
    laws = {
        "normal": lambda n: rng.standard_normal(n),
        "t of 4": lambda n: rng.standard_t(4.0, n),
        "Laplace": lambda n: rng.laplace(size=n),
        "skewed": lambda n: rng.gamma(4.0, 1.0, n),
        "logistic": lambda n: rng.logistic(size=n),
    }
    for law, draw in laws.items():
        for shots in (12, 60, 300):
            found = np.mean([two_curves(draw(shots)) for _ in range(5 * players)])
            yield f"one curve taken for two, {law}, {shots} shots", "at most .05", float(found)
