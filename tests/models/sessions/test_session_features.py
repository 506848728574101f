"""Features of sessions against what was put in."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from rangeledger.models.sessions.session_features import (
    FEATURES,
    NAMES,
    SessionFeatures,
    session_features,
)

from tests.models.synthetic_sessions import RECIPE, make_sessions


def features(**changes: float) -> tuple[SessionFeatures, pl.DataFrame]:
    shots = make_sessions(1, seed=3, recipe=RECIPE.changed(**changes))
    order = pl.col("session_id").rank("dense").alias("order")
    return session_features(shots.with_columns(order)), shots


def test_means_of_clubs_and_sessions() -> None:
    """Huber's mean of six shots against the plain mean of those truly clean."""
    found, shots = features(shots=40)
    assert found.sessions == [f"s{i:02d}" for i in range(9)]
    clean = shots.filter(~pl.col("truly_mishit"), pl.col("club") == "driver")
    speed = clean.group_by("session_id").agg(pl.col("ball_speed_mps").log().mean())
    column = found.clubs["club"].to_list().index("driver")
    mean = found.mean[NAMES.index("ball speed"), :, column]
    assert mean == pytest.approx(speed.sort("session_id")["ball_speed_mps"].to_numpy(), abs=0.01)
    assert found.shots.sum() == 9 * 5 * 40


@pytest.mark.parametrize("other_ball", [False, True])
def test_wind_shows_given_launch_and_speed_does_not(other_ball: bool) -> None:
    windy, _ = features(wind_speed_mps=8.0, drift=0.0, shots=60, other_ball=other_ball)
    faster, _ = features(speed_gain_mps=3.0, drift=0.0, shots=60, other_ball=other_ball)
    given = NAMES.index("carry given launch")
    wind = windy.mean[given, -1] - windy.mean[given, :-1].mean(axis=0)
    speed = faster.mean[given, -1] - faster.mean[given, :-1].mean(axis=0)
    # Against 8 m/s carry falls by 9 % at least; a gain of 5 % in ball speed leaves about nothing.
    assert (wind < -0.09).all()
    assert np.abs(speed.mean()) < 0.015


def test_variance_is_the_scatter_of_session_means() -> None:
    """60 players: means without drift scatter as the stated variance less the club's drift."""
    ratios = []
    for seed in range(60):
        shots = make_sessions(1, seed=seed, recipe=RECIPE.changed(drift=0.0, mishit_rate=0.0))
        found = session_features(shots.with_columns(order=pl.col("session_id").rank("dense")))
        own = 0.2 * np.array([feature.drift**2 for feature in FEATURES])[:, None, None]
        scatter = found.mean.var(axis=1, ddof=1)
        ratios.append((scatter / (found.variance - own).mean(axis=1)).mean(axis=1))
    mean = np.mean(ratios, axis=0)
    # Carry and side carry more than their usual spread in this simulation; the others fit.
    assert mean[2:] == pytest.approx(np.ones(6), abs=0.2)


def test_without_launch_only_carry_and_side_remain() -> None:
    _, shots = features()
    blind = shots.with_columns(
        order=pl.col("session_id").rank("dense"),
        **{name: pl.lit(None, dtype=pl.Float64) for name in
           ("ball_speed_mps", "launch_angle_deg", "spin_rate_rpm", "launch_direction_deg",
            "spin_axis_deg")},
    )  # fmt: skip
    found = session_features(blind)
    assert np.isfinite(found.mean[:2]).all()
    assert np.isnan(found.mean[2:]).all()
