"""Claims of winds beside what is observed, under flight laws that the model does not fly."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import polars as pl
from rangeledger.models.air.wind_profile import head_and_cross, speed_and_from
from rangeledger.models.calibration.ball_calibration import calibrate_ball
from rangeledger.models.calibration.session_winds import RECOVERED
from rangeledger.models.calibration.wind_recovery import recover_wind
from rangeledger.models.flight.aerodynamics import SETS

from tests.models.flight_sessions import REFERENCE_DENSITY, sessions

Row = tuple[str, str, float]
LAWS = ("spin-ratio-law", "bearman-harvey-1976", "smits-smith-1994")
SHOTS = 30
# Of each player: two calm days that are noted, a windy one that is not, and a windy one that is,
# 30 % and 20 deg off.
CALM, UNNOTED, NOTED = (0, 1), 2, 3
DAYS = 4


def winds(players: int) -> Iterator[Row]:
    """Winds that are not there, intervals of those that are, and noted winds put right."""
    for seed, law in enumerate(LAWS):
        rng = np.random.default_rng(7000 + seed)
        balls = {"drag_log": rng.normal(0, 0.04, players), "lift_log": rng.normal(0, 0.06, players)}
        made: dict[str, Any] = {"aerodynamics": SETS[law]}
        calm = recover_wind(sessions(rng, players, SHOTS, **balls, **made))
        yield f"calm day called windy, no ball fitted, {law}", "at most .10", _windy(calm)
        thin = REFERENCE_DENSITY * np.exp(-rng.uniform(300.0, 1500.0, players) / 9500.0)
        high = sessions(rng, players, SHOTS, density=thin, **balls, **made)
        yield (
            f"the same, 300 to 1,500 m up and nobody says, {law}", "at most .10",
            _windy(recover_wind(high.drop("air_pressure_hpa"))),
        )  # fmt: skip
        yield from _known_balls(rng, players, law, balls, made)


def _windy(found: pl.DataFrame) -> float:
    return float((found["wind_source"] == RECOVERED).mean())  # type: ignore[arg-type]


def _known_balls(
    rng: np.random.Generator,
    players: int,
    law: str,
    balls: dict[str, np.ndarray],
    made: dict[str, Any],
) -> Iterator[Row]:
    """Players whose calm days fit their balls."""
    day = np.tile(np.arange(DAYS), players)
    wind = np.where(np.isin(day, CALM), 0.0, rng.uniform(-7.0, 7.0, (2, len(day))))
    each = {name: np.repeat(value, DAYS) for name, value in balls.items()}
    shots = sessions(rng, len(day), SHOTS, wind=wind, **each, **made)
    speed, origin = speed_and_from(*wind)
    wrong = np.where(day == NOTED, np.exp(rng.normal(0.0, 0.3, len(day))), 1.0)
    turned = np.where(day == NOTED, rng.normal(0.0, 20.0, len(day)), 0.0)
    noted = np.where(day == UNNOTED, np.nan, speed * wrong), (origin + turned) % 360.0
    number = shots["session_id"].str.slice(1).cast(pl.Int64).to_numpy()
    shots = shots.with_columns(
        player=pl.format("p{}", pl.Series(number // DAYS)),
        wind_speed_mps=pl.Series(noted[0][number]).fill_nan(None),
        wind_from_deg=pl.Series(noted[1][number]),
        wind_height=pl.lit("ball"),
    )
    found = recover_wind(shots, calibrate_ball(shots)).sort("session_id")
    held, off, before = [], [], []
    for part, true, said in zip(("head", "cross"), wind, head_and_cross(*noted), strict=True):
        low, high, used = (found[f"{part}_wind_{end}"].to_numpy() for end in
                           ("low_mps", "high_mps", "mps"))  # fmt: skip
        held.append(((low <= true) & (true <= high))[day == UNNOTED])
        off.append((used - true)[day == NOTED])
        before.append((said - true)[day == NOTED])
    yield f"recovered wind inside its interval, ball fitted, {law}", ".90", float(np.mean(held))
    yield f"noted wind off by, m/s, {law}", "", float(np.sqrt(np.mean(np.square(before))))
    yield f"the same with its flights, {law}", "", float(np.sqrt(np.mean(np.square(off))))
