"""Ball calibration: recovery of known scales, honest errors, and no fit where none can be had."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from rangeledger.models.calibration.ball_calibration import FITTED, PRIOR, calibrate_ball
from rangeledger.models.flight.trajectory import fly

from tests.models.flight_sessions import REFERENCE_DENSITY, sessions

SHAPE = ("carry_m", "carry_side_m", "apex_m", "descent_angle_deg", "hang_time_s")


def stated(frame, head, cross, shots):
    """The same shots with their wind written down."""
    speed = np.repeat(np.hypot(head, cross), shots)
    origin = np.repeat(np.degrees(np.arctan2(-np.asarray(cross), head)) % 360.0, shots)
    return frame.with_columns(
        wind_speed_mps=pl.Series(speed), wind_from_deg=pl.Series(origin.astype(float))
    )


def players(random, count, visits, shots, observed):
    """Many players with balls of their own, in winds that were written down not quite right."""
    frames, truth = [], []
    for number in range(count):
        drag, lift = random.normal(0, 0.05), random.normal(0, 0.08)
        head, cross = random.uniform(-5, 5, (2, visits))
        error = random.normal(size=(2, visits)) * (0.5 + 0.15 * np.hypot(head, cross))
        frame = sessions(
            random,
            visits,
            shots,
            clubs=("7-iron",) if number % 2 else ("driver",),
            wind=(head + error[0], cross + error[1]),
            drag_log=drag + random.normal(0, 0.01, visits),
            lift_log=lift,
            density=REFERENCE_DENSITY * (1 + random.normal(0, 0.0054, visits)),
            shape_only=observed,
            apex_share=random.normal(0, 0.03),
            descent_deg=random.normal(0, 1.5),
            hang_share=random.normal(0, 0.02),
            player=f"p{number:02d}",
        )
        frame = stated(frame, head, cross, shots)
        frames.append(frame.with_columns(session_id=pl.col("player") + pl.col("session_id")))
        truth.append((drag, lift))
    return pl.concat(frames), np.array(truth)


@pytest.mark.parametrize("observed", [SHAPE[:2], SHAPE])
def test_unbiased_with_honest_intervals(observed) -> None:
    # 80 players: the coverage of a 90 % interval has a standard error of 3.4 points, the mean
    # error one of its spread / 9; three of each are allowed.
    random = np.random.default_rng(11)
    shots, truth = players(random, 80, 3, 20, observed)
    fitted = calibrate_ball(shots)
    for k, name in enumerate(("drag_scale", "lift_scale")):
        scale, se = fitted[name].to_numpy(), fitted[f"{name}_se"].to_numpy()
        error = np.log(scale) - truth[:, k]
        assert abs(error.mean()) < 3.0 * error.std() / 9.0
        inside = np.mean(np.abs(error) < 1.645 * se / scale)
        assert 0.80 <= inside <= 1.0
        assert error.std() < (0.05, 0.08)[k]  # better than the prior


def test_computed_flight_reproduces_the_measured_after_calibration() -> None:
    random = np.random.default_rng(5)
    drag, lift = 0.06, -0.05
    shots = sessions(
        random, 6, 30, clubs=("driver",), drag_log=drag, lift_log=lift, shape_only=SHAPE
    )
    shots = stated(shots, np.zeros(6), np.zeros(6), 30)
    fitted = calibrate_ball(shots).row(0, named=True)
    launch = [shots[name].to_numpy() for name in shots.columns[6:11]]
    scaled = fly(*launch, drag_scale=fitted["drag_scale"], lift_scale=fitted["lift_scale"])
    plain = fly(*launch)
    for name in ("carry_m", "apex_m"):
        before = np.mean(getattr(plain, name) - shots[name].to_numpy())
        after = np.mean(getattr(scaled, name) - shots[name].to_numpy())
        assert abs(after) < 0.25 * abs(before)
    assert fitted["basis"] == FITTED
    assert fitted["sessions_used"] == 6
    assert "known wind" in fitted["reason"]


def test_a_bad_reading_does_not_move_the_scale() -> None:
    random = np.random.default_rng(6)
    shots = sessions(random, 4, 25, clubs=("7-iron",))
    shots = stated(shots, np.zeros(4), np.zeros(4), 25)
    clean = calibrate_ball(shots)
    spoilt = shots.with_columns(
        carry_m=pl.when(pl.int_range(pl.len()) % 25 == 3).then(20.0).otherwise("carry_m")
    )
    moved = calibrate_ball(spoilt)["drag_scale"][0] - clean["drag_scale"][0]
    assert abs(moved) < clean["drag_scale_se"][0]


def test_no_stated_wind_means_no_fit_and_says_why() -> None:
    shots = sessions(np.random.default_rng(7), 5, 20, clubs=("driver",), wind=(6.0, 0.0))
    row = calibrate_ball(shots).row(0, named=True)
    assert row["basis"] == PRIOR
    assert (row["drag_scale"], row["lift_scale"]) == (1.0, 1.0)
    assert row["drag_scale_se"] == pytest.approx(0.05)
    assert "can't be told apart" in row["reason"]


def test_shots_in_opposite_directions_can_be_fitted_without_a_stated_wind() -> None:
    random = np.random.default_rng(8)
    out = sessions(random, 6, 20, clubs=("driver",), wind=(5.0, 1.0), drag_log=0.07)
    back = sessions(random, 6, 20, clubs=("driver",), wind=(-5.0, -1.0), drag_log=0.07)
    shots = pl.concat(
        [
            out.with_columns(target_bearing_deg=pl.lit(10.0)),
            back.with_columns(target_bearing_deg=pl.lit(190.0)),
        ]
    )
    row = calibrate_ball(shots).row(0, named=True)
    assert row["basis"] == FITTED
    assert abs(np.log(row["drag_scale"]) - 0.07) < 2.5 * row["drag_scale_se"]
    assert row["drag_scale_se"] < 0.03
    one_way = calibrate_ball(shots.with_columns(target_bearing_deg=pl.lit(10.0)))
    assert one_way["basis"][0] == PRIOR


def test_modelled_flights_and_gaps_are_named() -> None:
    random = np.random.default_rng(9)
    shots = stated(sessions(random, 2, 10, clubs=("driver",)), np.zeros(2), np.zeros(2), 10)
    modelled = calibrate_ball(shots.with_columns(flight_basis=pl.lit("modelled")))
    assert "calm air" in modelled["reason"][0]
    bare = calibrate_ball(shots.with_columns(spin_rate_rpm=None))
    assert "launch angle, spin" in bare["reason"][0]
    few = calibrate_ball(shots.head(3))
    assert "Fewer than 5" in few["reason"][0]
    assert {row["basis"] for frame in (modelled, bare, few) for row in frame.rows(named=True)} == {
        PRIOR
    }


def test_unknown_flights_count_only_where_it_was_nearly_calm() -> None:
    random = np.random.default_rng(10)
    shots = sessions(random, 2, 10, clubs=("driver",)).with_columns(flight_basis=pl.lit("unknown"))
    assert calibrate_ball(stated(shots, [1.0, 1.0], [0.0, 0.0], 10))["basis"][0] == FITTED
    assert calibrate_ball(stated(shots, [6.0, 6.0], [0.0, 0.0], 10))["basis"][0] == PRIOR
