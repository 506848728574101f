"""Wind recovered from shots: unbiased, near the best possible, with honest intervals."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from rangeledger.models.calibration.measurement_noise import (
    DEFAULT_NOISE,
    LAUNCH,
    WIND,
    covariance_of_slopes,
)
from rangeledger.models.calibration.session_winds import ASSUMED_CALM, RECORDED, RECOVERED
from rangeledger.models.calibration.still_air import (
    ADJUSTED,
    FLIGHT_UNKNOWN,
    MODELLED_FLIGHT,
    still_air,
)
from rangeledger.models.calibration.wind_recovery import recover_wind
from rangeledger.models.flight.aerodynamics import SETS
from rangeledger.models.flight.flight_sensitivity import FlightInputs, derivatives

from tests.models.flight_sessions import CLUBS, REFERENCE_DENSITY, sessions

SHAPE = ("carry_m", "carry_side_m", "apex_m", "descent_angle_deg", "hang_time_s")
PARTS = ("head_wind", "cross_wind")
# The law that the model flies is the law of these shots.
SURE_LAW = {"flight_law_sd": (0.0, 0.0)}


def split(random, sd, visits, clubs, shots, shared=0.7):
    """An error of each club in each session, part of it shared by the clubs of a session."""
    common = random.normal(0, sd * np.sqrt(shared), (visits, 1))
    own = random.normal(0, sd * np.sqrt(1 - shared), (visits, clubs))
    return (common + own)[:, np.arange(shots) % clubs].ravel()


def realistic(random, visits, shots, clubs, wind):
    """Sessions in unknown wind with all the errors a real one has."""
    return sessions(
        random,
        visits,
        shots,
        clubs=clubs,
        wind=wind,
        drag_log=split(random, np.hypot(0.05, 0.01), visits, len(clubs), shots),
        lift_log=split(random, np.hypot(0.08, 0.01), visits, len(clubs), shots),
        axis_offset=random.normal(0, 0.5, visits),
        density=REFERENCE_DENSITY * (1 + random.normal(0, 0.0054, visits)),
    )


def best_possible(clubs, shots):
    """Cramer-Rao bound of head and cross [m/s] for one session, written out independently.

    Residual covariance of all carries and sides of the session together: each shot's own noise,
    plus what its ball, air and device share with the others.
    """
    nominal = np.array([CLUBS[clubs[k % len(clubs)]] for k in range(shots)])
    zero = np.zeros(shots)
    inputs = FlightInputs(
        *nominal[:, :2].T, zero, nominal[:, 2], zero, zero + REFERENCE_DENSITY, *[zero] * 4
    )
    names = ["head_wind_mps", "cross_wind_mps", "drag_log", "lift_log", "spin_axis_deg"]
    slopes = derivatives(inputs, names)[:, :2].reshape(2 * shots, len(names))
    by_launch_and_wind = derivatives(inputs, (*LAUNCH, *WIND))
    own = covariance_of_slopes(by_launch_and_wind, DEFAULT_NOISE.of_launch(inputs))[:, :2, :2]
    total = np.zeros((2 * shots, 2 * shots))
    for k in range(shots):
        total[2 * k : 2 * k + 2, 2 * k : 2 * k + 2] = own[k]
    same = np.equal.outer(
        np.arange(2 * shots) // 2 % len(clubs), np.arange(2 * shots) // 2 % len(clubs)
    )
    for column, sd in ((2, np.hypot(0.05, 0.01)), (3, np.hypot(0.08, 0.01))):
        outer = np.outer(slopes[:, column], slopes[:, column]) * sd**2
        total += 0.7 * outer + 0.3 * outer * same
    both = slopes[:, 2] + slopes[:, 3]
    total += np.outer(both, both) * 0.0054**2 + np.outer(slopes[:, 4], slopes[:, 4]) * 0.5**2
    information = slopes[:, :2].T @ np.linalg.solve(total, slopes[:, :2])
    return np.sqrt(np.diag(np.linalg.inv(information)))


@pytest.mark.parametrize("shots", [10, 30, 100])
def test_unbiased_and_near_the_cramer_rao_bound(shots) -> None:
    # 60 sessions: the mean error has a standard error of rms / 7.7, three are allowed; the root
    # mean square itself is good to 9 %.
    random = np.random.default_rng(20 + shots)
    wind = random.uniform(-8, 8, (2, 60))
    fitted = recover_wind(realistic(random, 60, shots, tuple(CLUBS), wind), **SURE_LAW)
    bound = best_possible(tuple(CLUBS), shots)
    for k, part in enumerate(PARTS):
        error = fitted[f"{part}_estimate_mps"].to_numpy() - wind[k]
        rms = np.sqrt(np.mean(error**2))
        assert abs(error.mean()) < 3.0 * rms / np.sqrt(60)
        assert rms < 1.5 * bound[k]


def test_ninety_per_cent_intervals_hold_ninety_per_cent() -> None:
    # 2 x 400 intervals: standard error 1.1 points; 87 to 93 % is nearly three of them either way.
    random = np.random.default_rng(4)
    inside = []
    for clubs in (("driver",), ("7-iron",), tuple(CLUBS)):
        wind = random.uniform(-8, 8, (2, 134))
        fitted = recover_wind(realistic(random, 134, 12, clubs, wind), **SURE_LAW)
        for k, part in enumerate(PARTS):
            low, high = (fitted[f"{part}_{end}_mps"].to_numpy() for end in ("low", "high"))
            inside.append((low < wind[k]) & (wind[k] < high))
    assert 0.87 <= np.mean(inside) <= 0.93


@pytest.mark.slow
@pytest.mark.parametrize("clubs", [("driver",), ("pitching-wedge",), tuple(CLUBS)])
def test_intervals_hold_for_one_club_and_many_shots(clubs) -> None:
    random = np.random.default_rng(14)
    wind = random.uniform(-8, 8, (2, 300))
    fitted = recover_wind(realistic(random, 300, 40, clubs, wind), **SURE_LAW)
    for k, part in enumerate(PARTS):
        low, high = (fitted[f"{part}_{end}_mps"].to_numpy() for end in ("low", "high"))
        # 300 intervals: standard error 1.7 points.
        assert 0.85 <= np.mean((low < wind[k]) & (wind[k] < high)) <= 0.95


def test_a_calibrated_ball_makes_the_head_wind_sharper() -> None:
    random = np.random.default_rng(5)
    shots = sessions(random, 20, 20, clubs=("driver",), wind=(4.0, 0.0), drag_log=0.06)
    calibration = pl.DataFrame(
        {
            "player": ["p"],
            "club": ["driver"],
            "ball": ["premium"],
            "drag_scale": [float(np.exp(0.06))],
            "drag_scale_se": [0.01],
            "lift_scale": [1.0],
            "lift_scale_se": [0.01],
        }
    )
    plain, sharp = recover_wind(shots, **SURE_LAW), recover_wind(shots, calibration)
    name = "head_wind_estimate_mps"
    assert abs(sharp[name].mean() - 4.0) < 0.5 < abs(plain[name].mean() - 4.0)
    assert (sharp["head_wind_estimate_se_mps"] < 0.6 * plain["head_wind_estimate_se_mps"]).all()


def test_calm_sessions_are_mostly_assumed_calm() -> None:
    # A test at 5 %: of 100 calm sessions 5 should be called windy; 13 is the 99.9 % limit.
    random = np.random.default_rng(6)
    calm = np.zeros((2, 100))
    fitted = recover_wind(realistic(random, 100, 20, tuple(CLUBS), calm), **SURE_LAW)
    found = fitted["wind_source"] == RECOVERED
    assert found.sum() <= 13
    quiet = fitted.filter(~found)
    assert set(quiet["wind_source"]) == {ASSUMED_CALM}
    assert quiet["wind_speed_mps"].to_list() == [0.0] * quiet.height
    assert "no wind beyond chance" in quiet["wind_reason"][0]


def test_recovered_wind_comes_with_direction_and_reason() -> None:
    random = np.random.default_rng(7)
    row = recover_wind(sessions(random, 1, 40, wind=(-6.0, 4.0))).row(0, named=True)
    assert row["wind_source"] == RECOVERED
    assert row["wind_reason"].startswith("Recovered: head")
    assert row["shots_used"] == 40
    # Helping and from the left: between 180 and 270 degrees.
    assert 180.0 < row["wind_from_deg"] < 270.0
    assert row["head_wind_low_mps"] < row["head_wind_estimate_mps"] < row["head_wind_high_mps"]


def test_wild_readings_do_not_make_a_wind() -> None:
    random = np.random.default_rng(8)
    shots = sessions(random, 1, 40, clubs=("7-iron",))
    wild = shots.with_columns(
        carry_m=pl.when(pl.int_range(pl.len()) % 13 == 5).then(30.0).otherwise("carry_m")
    )
    moved = (
        recover_wind(wild, **SURE_LAW)["head_wind_estimate_mps"][0]
        - recover_wind(shots, **SURE_LAW)["head_wind_estimate_mps"][0]
    )
    assert abs(moved) < 0.5


def test_a_noted_wind_is_a_prior_where_flights_were_tracked() -> None:
    """Noted a third too strong and 20 deg off: the flights put it nearly right, and say so."""
    random = np.random.default_rng(9)
    shots = sessions(random, 20, 20, wind=(5.0, 0.0), shape_only=SHAPE).with_columns(
        wind_speed_mps=pl.lit(6.5), wind_from_deg=pl.lit(20.0), wind_height=pl.lit("ball")
    )
    found = recover_wind(shots)
    assert set(found["wind_source"]) == {RECORDED}
    noted = 6.5 * np.cos(np.radians(20.0)), -6.5 * np.sin(np.radians(20.0))
    for part, first, true in zip(PARTS, noted, (5.0, 0.0), strict=True):
        error = np.abs(found[f"{part}_mps"].to_numpy() - true)
        assert error.mean() < 0.5 * abs(first - true)
        assert (error < 2.5 * found[f"{part}_se_mps"].to_numpy()).all()
    assert "With what 16 tracked flights say" in found["wind_reason"][0]
    still = still_air(shots, session_wind=found)["still_carry_m"].mean()
    known = still_air(shots.with_columns(wind_speed_mps=pl.lit(5.0), wind_from_deg=pl.lit(0.0)))
    assert still == pytest.approx(known["still_carry_m"].mean(), rel=0.012)


def test_a_noted_wind_stays_where_the_device_computed_the_flights() -> None:
    random = np.random.default_rng(9)
    shots = sessions(random, 1, 20, wind=(5.0, 0.0)).with_columns(
        wind_speed_mps=pl.lit(4.0), wind_from_deg=pl.lit(90.0), flight_basis=pl.lit("modelled")
    )
    row = recover_wind(shots).row(0, named=True)
    assert row["wind_source"] == RECORDED
    assert row["cross_wind_mps"] == pytest.approx(-4.0)
    assert row["head_wind_estimate_mps"] is None


@pytest.mark.parametrize("law", ["spin-ratio-law", "bearman-harvey-1976", "smits-smith-1994"])
def test_calm_days_stay_calm_under_other_flight_laws(law: str) -> None:
    """At most one in ten of days without wind is called windy where no ball was fitted."""
    random = np.random.default_rng(21)
    balls = {"drag_log": random.normal(0, 0.04, 60), "lift_log": random.normal(0, 0.06, 60)}
    shots = sessions(random, 60, 30, aerodynamics=SETS[law], **balls)
    assert (recover_wind(shots)["wind_source"] == RECOVERED).sum() <= 6


def test_an_unstated_altitude_is_no_helping_wind() -> None:
    """Places 300 to 1,500 m up whose exports tell neither height nor pressure."""
    random = np.random.default_rng(22)
    thin = REFERENCE_DENSITY * np.exp(-random.uniform(300.0, 1500.0, 60) / 9500.0)
    shots = sessions(random, 60, 30, density=thin).drop("air_pressure_hpa")
    assert (recover_wind(shots)["wind_source"] == RECOVERED).sum() <= 6


def test_sessions_that_tell_nothing_say_why() -> None:
    random = np.random.default_rng(10)
    shots = sessions(random, 4, 12, wind=(6.0, 0.0))
    second, third, fourth = (pl.col("session_id") == f"s000{k}" for k in (1, 2, 3))
    shots = shots.with_columns(
        flight_basis=pl.when(second).then(pl.lit("modelled")).otherwise("flight_basis"),
        spin_rate_rpm=pl.when(~third).then("spin_rate_rpm"),
    ).filter(~fourth | (pl.int_range(pl.len()).over("session_id") < 3))
    fitted = recover_wind(shots)
    assert fitted["wind_source"].to_list() == [RECOVERED, *[ASSUMED_CALM] * 3]
    reasons = fitted["wind_reason"].to_list()
    assert "computed the flights in calm air" in reasons[1]
    assert "launch angle, start direction, spin" in reasons[2]
    assert "3 shots" in reasons[3]
    assert fitted["head_wind_se_mps"][1] == 0.0


def test_distances_on_a_wrong_scale_are_no_wind() -> None:
    # Carry, side and apex 10 % short while launch and time are right: a head wind would have
    # lifted the ball and kept it up longer.
    random = np.random.default_rng(13)
    shots = sessions(random, 1, 40, shape_only=SHAPE)
    scaled = shots.with_columns(pl.col("carry_m", "carry_side_m", "apex_m") * 0.90)
    row = recover_wind(scaled, **SURE_LAW).row(0, named=True)
    assert row["wind_source"] == ASSUMED_CALM
    assert "fit no wind" in row["wind_reason"]
    windy = recover_wind(sessions(random, 1, 40, wind=(6.0, 2.0), shape_only=SHAPE))
    assert windy["wind_source"][0] == RECOVERED


def test_fit_probability_is_uniform_where_the_priors_hold() -> None:
    # 150 sessions: a share of 10, 50 and 90 % has a standard error of 2.4, 4.1 and 2.4 points.
    random = np.random.default_rng(15)
    wind = random.uniform(-8, 8, (2, 150))
    fitted = recover_wind(realistic(random, 150, 20, tuple(CLUBS), wind), **SURE_LAW)
    probability = fitted["fit_probability"].to_numpy()
    for level, slack in ((0.1, 0.08), (0.5, 0.13), (0.9, 0.08)):
        assert np.mean(probability < level) == pytest.approx(level, abs=slack)


def test_flights_of_an_unknown_kind_show_whether_they_were_tracked() -> None:
    random = np.random.default_rng(16)
    tracked = sessions(random, 1, 30, wind=(9.0, 3.0))
    modelled = sessions(random, 1, 30).with_columns(session_id=pl.lit("m"))
    quiet = sessions(random, 1, 30).with_columns(session_id=pl.lit("q"))
    blowing = {"wind_speed_mps": np.hypot(9.0, 3.0), "wind_from_deg": 341.565}
    shots = pl.concat(
        [
            *(
                frame.with_columns(**{k: pl.lit(v) for k, v in blowing.items()})
                for frame in (tracked, modelled)
            ),
            quiet.with_columns(wind_speed_mps=pl.lit(0.5), wind_from_deg=pl.lit(0.0)),
        ]
    ).with_columns(flight_basis=pl.lit("unknown"))
    fitted = recover_wind(shots)
    assert fitted["wind_source"].to_list() == [RECORDED] * 3
    assert fitted["flights_tracked"].to_list() == [True, False, None]
    still = still_air(shots, session_wind=fitted)["still_basis"].unique(maintain_order=True)
    assert still.to_list() == [ADJUSTED, MODELLED_FLIGHT, FLIGHT_UNKNOWN]


def test_order_of_rows_does_not_matter() -> None:
    random = np.random.default_rng(12)
    shots = sessions(random, 3, 15, wind=(np.array([5.0, -3.0, 0.0]), np.array([1.0, 4.0, -6.0])))
    shuffled = shots.sample(fraction=1.0, shuffle=True, seed=3)
    first = recover_wind(shots).sort("session_id")
    other = recover_wind(shuffled).sort("session_id")
    name = "head_wind_estimate_mps"
    np.testing.assert_allclose(first[name], other[name], atol=1e-6)


def test_a_side_without_its_start_direction_tells_of_no_wind():
    random = np.random.default_rng(3)
    blown = sessions(random, 1, 20, clubs=("7-iron",), wind=np.array([[0.0], [5.0]]))
    assert recover_wind(blown)["wind_source"].item() == RECOVERED
    undirected = blown.with_columns(launch_direction_deg=pl.lit(None, pl.Float64))
    assert recover_wind(undirected)["wind_source"].item() == ASSUMED_CALM


def test_a_slice_without_a_measured_spin_axis_is_no_cross_wind() -> None:
    random = np.random.default_rng(17)
    slicing = np.tile([12.0, 7.0, 4.0], 40)[:40]  # deg, the longer club more; from memory
    sliced = sessions(random, 3, 40, tilt=np.tile(slicing, 3))
    unseen = sliced.with_columns(spin_axis_deg=pl.lit(None, pl.Float64))
    fitted = recover_wind(unseen)
    assert fitted["cross_wind_mps"].to_list() == [0.0] * 3
    # Tilts of 8 deg blow a ball as far aside as winds of several m/s: the error must say so.
    assert fitted["cross_wind_estimate_se_mps"].min() > 1.5
    gale = sessions(random, 1, 40, wind=(0.0, 11.0)).with_columns(
        spin_axis_deg=pl.lit(None, pl.Float64)
    )
    assert recover_wind(gale)["wind_source"].item() == RECOVERED
