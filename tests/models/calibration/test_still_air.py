"""Still air: undoing a known wind, leaving alone what needs no adjusting, honest uncertainty."""

from __future__ import annotations

import numpy as np
import polars as pl
from rangeledger.models.air.air_conditions import air_density_of
from rangeledger.models.calibration.still_air import (
    ADJUSTED,
    AS_MEASURED,
    ASSUMED_LAUNCH,
    FLIGHT_UNKNOWN,
    MODELLED_FLIGHT,
    STILL_BASES,
    TYPICAL_LAUNCH,
    still_air,
)
from rangeledger.models.flight.trajectory import fly


def windy_shots(n=300, seed=0, **columns):
    """Shots flown in known wind and air, beside what they carry in still reference air."""
    random = np.random.default_rng(seed)
    club = np.array(["driver", "7-iron", "sand-wedge"])[np.arange(n) % 3]
    typical = {
        "driver": (72, 12, 2700),
        "7-iron": (52, 17, 6800),
        "sand-wedge": (40, 28, 9500),
    }
    nominal = np.array([typical[name] for name in club], dtype=float)
    launch = nominal * random.normal(1.0, (0.02, 0.06, 0.06), (n, 3))
    direction, axis = random.normal(0, 2, n), random.normal(0, 4, n)
    wind, origin = random.uniform(0, 8, n), random.uniform(0, 360, n)
    temp, altitude = random.uniform(0, 35, n), random.uniform(0, 1500, n)
    density = air_density_of(temp, altitude_m=altitude).air_density_kgm3
    shot = (launch[:, 0], launch[:, 1], direction, launch[:, 2], axis)
    flown = fly(*shot, wind_speed_mps=wind, wind_from_deg=origin, air_density_kgm3=density)
    frame = pl.DataFrame(
        {
            "shot_id": [f"{k}" for k in range(n)],
            "session_id": "s",
            "player": "p",
            "club": club,
            "swing": "full",
            "ball": "premium",
            "flight_basis": "measured",
            "ball_speed_mps": shot[0],
            "launch_angle_deg": shot[1],
            "launch_direction_deg": shot[2],
            "spin_rate_rpm": shot[3],
            "spin_axis_deg": shot[4],
            "carry_m": flown.carry_m,
            "carry_side_m": flown.carry_side_m,
            "wind_speed_mps": wind,
            "wind_from_deg": origin,
            "air_temp_c": temp,
            "altitude_m": altitude,
        }
    ).with_columns(**columns)
    return frame, fly(*shot)


def worst(frame, column, truth):
    return np.abs(frame[column].to_numpy() - truth).max()


def test_undoes_a_known_wind() -> None:
    shots, truth = windy_shots()
    still = still_air(shots)
    assert worst(still, "still_carry_m", truth.carry_m) < 0.3
    assert worst(still, "still_side_m", truth.carry_side_m) < 0.3
    assert set(still["still_basis"]) == {ADJUSTED}
    assert still["shot_id"].to_list() == shots["shot_id"].to_list()


def test_undoes_the_wind_for_an_unlike_ball_within_its_standard_error() -> None:
    # The ball has 4 % more drag than assumed: most of that cancels in the difference.
    shots, _ = windy_shots()
    launch = [shots[name].to_numpy() for name in shots.columns[7:12]]
    density = air_density_of(shots["air_temp_c"], altitude_m=shots["altitude_m"]).air_density_kgm3
    wind = {"wind_speed_mps": shots["wind_speed_mps"], "wind_from_deg": shots["wind_from_deg"]}
    draggy = fly(*launch, drag_scale=1.04, air_density_kgm3=density, **wind)
    truth = fly(*launch, drag_scale=1.04).carry_m
    still = still_air(shots.with_columns(carry_m=draggy.carry_m, carry_side_m=draggy.carry_side_m))
    error = np.abs(still["still_carry_m"].to_numpy() - truth)
    assert np.mean(error < still["still_se_m"].to_numpy()) > 0.95
    assert np.median(error) < 0.3


def test_doing_it_again_changes_nothing() -> None:
    shots, _ = windy_shots(30)
    once = still_air(shots)
    again = still_air(pl.concat([shots, once.drop("shot_id")], how="horizontal"))
    assert once.equals(again)


def test_adjusted_shots_in_reference_air_stay() -> None:
    shots, _ = windy_shots(30)
    once = still_air(shots)
    settled = shots.with_columns(
        carry_m=once["still_carry_m"],
        carry_side_m=once["still_side_m"],
        wind_speed_mps=0.0,
        air_temp_c=(75.0 - 32.0) / 1.8,
        altitude_m=0.0,
    )
    twice = still_air(settled)
    assert worst(twice, "still_carry_m", once["still_carry_m"].to_numpy()) < 1e-9


def test_modelled_flights_are_left_alone() -> None:
    shots, _ = windy_shots(30, flight_basis=pl.lit("modelled"))
    still = still_air(shots)
    assert still["still_carry_m"].to_list() == shots["carry_m"].to_list()
    assert set(still["still_basis"]) == {MODELLED_FLIGHT}
    assert still["still_se_m"].to_list() == [0.0] * 30


def test_nothing_known_leaves_the_measurement_and_says_how_unsure_it_is() -> None:
    shots, _ = windy_shots(30)
    bare = shots.drop("wind_speed_mps", "wind_from_deg", "air_temp_c", "altitude_m")
    still = still_air(bare)
    assert still["still_carry_m"].to_list() == shots["carry_m"].to_list()
    assert set(still["still_basis"]) == {AS_MEASURED}
    assert still["still_se_m"].min() > 5.0


def test_missing_launch_costs_little_accuracy_and_widens_the_uncertainty() -> None:
    shots, truth = windy_shots(600)
    gaps = shots.with_columns(
        spin_rate_rpm=pl.when(pl.int_range(pl.len()) % 2 == 0).then("spin_rate_rpm")
    )
    whole, still = still_air(shots), still_air(gaps)
    filled = still["still_basis"] == TYPICAL_LAUNCH
    assert filled.sum() == 300
    wider = (still["still_se_m"] - whole["still_se_m"]).filter(filled)
    assert wider.mean() > 0.1
    assert worst(still, "still_carry_m", truth.carry_m) < 3.0
    none = still_air(shots.drop("ball_speed_mps", "launch_angle_deg", "spin_rate_rpm"))
    assert set(none["still_basis"]) == {ASSUMED_LAUNCH}
    error = np.abs(none["still_carry_m"].to_numpy() - truth.carry_m)
    assert np.sqrt(np.mean(error**2)) < 3.0
    assert np.mean(error < none["still_se_m"].to_numpy()) > 0.9


def test_an_unknown_kind_of_flight_doubts_the_adjustment() -> None:
    shots, truth = windy_shots(30, flight_basis=pl.lit("unknown"))
    still = still_air(shots)
    assert set(still["still_basis"]) == {FLIGHT_UNKNOWN}
    effect = np.abs(truth.carry_m - shots["carry_m"].to_numpy())
    assert np.all(still["still_se_m"].to_numpy() > 0.5 * effect)


def test_no_carry_gives_nulls_and_a_putt_stays() -> None:
    shots, _ = windy_shots(3)
    odd = shots.with_columns(
        carry_m=pl.Series([None, 2.0, shots["carry_m"][2]]),
        club=pl.Series(["driver", "putter", "sand-wedge"]),
    )
    still = still_air(odd)
    assert still["still_carry_m"].to_list()[:2] == [None, 2.0]
    assert still["still_se_m"].to_list()[:2] == [None, 0.0]
    assert still["still_basis"].to_list()[:2] == [AS_MEASURED, AS_MEASURED]
    assert set(still["still_basis"]) <= set(STILL_BASES)
    assert still_air(odd.head(0)).height == 0


def test_a_recovered_wind_is_used_where_none_was_stated() -> None:
    shots, _ = windy_shots(30)
    steady = shots.with_columns(wind_speed_mps=pl.lit(5.0), wind_from_deg=pl.lit(0.0))
    winds = pl.DataFrame(
        {
            "session_id": ["s"],
            "head_wind_mps": [5.0],
            "cross_wind_mps": [0.0],
            "head_wind_se_mps": [0.5],
            "cross_wind_se_mps": [0.5],
        }
    )
    silent = steady.drop("wind_speed_mps", "wind_from_deg")
    stated, recovered = still_air(steady), still_air(silent, session_wind=winds)
    np.testing.assert_allclose(recovered["still_carry_m"], stated["still_carry_m"], atol=1e-9)


def test_a_session_assumed_calm_is_left_alone_with_what_is_known_of_its_wind() -> None:
    shots, _ = windy_shots(6)
    bare = shots.drop("wind_speed_mps", "wind_from_deg", "air_temp_c", "altitude_m")
    calm = pl.DataFrame(
        {
            "session_id": ["s"],
            "head_wind_mps": [0.0],
            "cross_wind_mps": [0.0],
            "head_wind_se_mps": [0.4],
            "cross_wind_se_mps": [0.4],
        }
    )
    still = still_air(bare, session_wind=calm)
    assert set(still["still_basis"]) == {AS_MEASURED}
    assert (still["still_se_m"] < still_air(bare)["still_se_m"]).all()
