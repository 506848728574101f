"""Odd shots in every mixture: all statistics stay finite and warn of nothing."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import polars as pl
import pytest
from rangeledger.models.clubs.carry_model import CarryModel
from rangeledger.models.coaching.club_gaps import club_gaps
from rangeledger.models.coaching.putting_start_line import putting_start_line
from rangeledger.models.coaching.shot_shape import shot_shape
from rangeledger.models.coaching.wedge_grid import wedge_grid
from rangeledger.models.sessions.carry_trend import CarryTrend
from rangeledger.models.sessions.session_flags import session_flags

CLUBS = np.array(["driver", "7-iron", "putter", "56-wedge", "lob-wedge", "my club", "3-wood"])
START = datetime(2024, 1, 1, tzinfo=UTC)


def odd_shots(seed: int) -> pl.DataFrame:
    """Return up to 120 shots with carries from half a metre to 420 m and holes everywhere."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(1, 120))

    def wide(low: float, high: float) -> np.ndarray:
        values = np.exp(rng.uniform(np.log(low), np.log(high), count))
        return np.where(rng.random(count) < 0.2, np.nan, values)

    def angle(spread: float) -> np.ndarray:
        return np.where(rng.random(count) < 0.3, np.nan, spread * rng.standard_normal(count))

    session = rng.integers(0, 8, count)
    same = rng.random() < 0.2
    return pl.DataFrame(
        {
            "player": rng.choice(["a", "b"], count),
            "club": rng.choice(CLUBS, count),
            "swing": rng.choice(["full", "9:00", "soft", "12:75"], count),
            "ball": rng.choice(["premium", "range", "unknown"], count),
            "session_id": [f"s{number}" for number in session],
            "shot_number": rng.integers(1, 50, count).astype(np.int32),
            "still_carry_m": np.full(count, 100.0) if same else wide(0.5, 420.0),
            "still_side_m": np.zeros(count) if same else angle(30.0),
            "ball_speed_mps": wide(2.0, 100.0),
            "launch_angle_deg": 15.0 + angle(10.0),
            "spin_rate_rpm": wide(10.0, 15000.0),
            "launch_direction_deg": angle(5.0),
            "spin_axis_deg": angle(10.0),
            "struck_at": [
                START + timedelta(days=2 * int(number)) if rng.random() < 0.8 else None
                for number in session
            ],
        },
        schema_overrides={"struck_at": pl.Datetime("ms", "UTC")},
    ).fill_nan(None)


def all_finite(table: pl.DataFrame) -> bool:
    numbers = table.select(pl.col(pl.Float64))
    return all(numbers[name].drop_nulls().is_finite().all() for name in numbers.columns)


@pytest.mark.parametrize("seed", range(25))
def test_every_statistic_stays_finite(seed: int) -> None:
    shots = odd_shots(seed)
    model = CarryModel().fit(shots)
    tables = [
        model.parameters_,
        model.strikes_,
        model.carry_by_club(),
        model.dispersion(shots=shots),
        CarryTrend(carry_model=model).fit(shots).sessions_,
        shot_shape(shots),
        putting_start_line(shots),
        session_flags(shots),
        club_gaps(model.parameters_),
        wedge_grid(model.parameters_),
    ]
    assert all(all_finite(table) for table in tables)
    assert model.parameters_.null_count().sum_horizontal()[0] == 0
