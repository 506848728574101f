"""The polynomial of wind and air against the full flight, and evaluated as SQL would."""

from __future__ import annotations

import itertools

import duckdb
import numpy as np
import polars as pl
import pytest
from rangeledger.models.air.air_conditions import air_density_of
from rangeledger.models.air.wind_profile import speed_and_from
from rangeledger.models.calibration.launch_filling import typical_launches
from rangeledger.models.calibration.measurement_noise import LAUNCH
from rangeledger.models.calibration.wind_response import (
    POWERS,
    QUANTITIES,
    response_in,
    wind_response,
)
from rangeledger.models.flight.trajectory import fly

REFERENCE_TEMP = (75.0 - 32.0) / 1.8
YARD = 0.9144
# club: speed, launch, direction, spin, axis: long, short, curved and lofted
STOCK = {
    "driver": (74.5, 11.0, 1.0, 2700.0, 4.0),
    "3-wood": (80.0, 14.0, -2.0, 3500.0, -12.0),
    "5-wood": (50.0, 14.0, 0.0, 3200.0, 15.0),
    "7-iron": (53.5, 16.5, 0.0, 7000.0, 3.0),
    "sand-wedge": (42.5, 26.0, 0.0, 9500.0, -3.0),
    "lob-wedge": (33.0, 34.0, 2.0, 10500.0, 5.0),
    "60-wedge": (21.0, 34.0, 0.0, 6000.0, 0.0),
}
LAUNCHES = pl.DataFrame(
    [
        {"player": "p", "club": club, "swing": "full", **dict(zip(LAUNCH, shot, strict=True))}
        for club, shot in STOCK.items()
    ]
)


@pytest.fixture(scope="module")
def response() -> pl.DataFrame:
    return wind_response(LAUNCHES)


def summed(rows: pl.DataFrame, quantity: str, head, cross, temp, altitude):
    """Sum of coefficient times monomial, in plain arithmetic as a query would do it."""
    total = np.zeros_like(head)
    for row in rows.iter_rows(named=True):
        total += (
            row[quantity]
            * head ** row["head_wind_power"]
            * cross ** row["cross_wind_power"]
            * (temp - REFERENCE_TEMP) ** row["air_temp_power"]
            * altitude ** row["altitude_power"]
        )
    return total


@pytest.mark.parametrize("club", STOCK)
def test_within_a_yard_of_the_full_flight(response, club) -> None:
    # The bar is 1 yd anywhere within +-12 m/s head and cross together, -5 to 40 degC and 0 to
    # 2,500 m; at 2,000 random conditions and every corner we find at most 0.4 yd.
    random = np.random.default_rng(1)
    low, high = np.array([-12.0, -12.0, -5.0, 0.0]), np.array([12.0, 12.0, 40.0, 2500.0])
    corners = np.array(list(itertools.product(*zip(low, high, strict=True))))
    head, cross, temp, altitude = np.vstack([random.uniform(low, high, (2000, 4)), corners]).T
    speed, origin = speed_and_from(head, cross)
    density = air_density_of(temp, np.nan, 50.0, altitude).air_density_kgm3
    day = fly(*STOCK[club], air_density_kgm3=density, wind_speed_mps=speed, wind_from_deg=origin)
    still = fly(*STOCK[club])
    rows = response.filter(pl.col("club") == club)
    for quantity, field, bar in (
        ("carry_change_m", "carry_m", 0.6),
        ("side_change_m", "carry_side_m", 0.4),
        ("apex_change_m", "apex_m", 0.4),
    ):
        change = getattr(day, field) - getattr(still, field)
        ours = summed(rows, quantity, head, cross, temp, altitude)
        assert np.abs(ours - change).max() < bar * YARD


def test_still_reference_air_changes_nothing_exactly(response) -> None:
    still = response_in(response)
    for quantity in QUANTITIES:
        assert still[quantity].to_list() == [0.0] * len(STOCK)
    assert not (response.select(POWERS).sum_horizontal() == 0).any()


def test_python_and_plain_sums_agree(response) -> None:
    evaluated = response_in(response, 4.0, -3.0, 10.0, 800.0)
    assert evaluated.height == response["club"].n_unique() > 1
    for row in evaluated.iter_rows(named=True):
        rows = response.filter(pl.col("club") == row["club"])
        args = (np.array(4.0), np.array(-3.0), np.array(10.0), np.array(800.0))
        for quantity in QUANTITIES:
            assert row[quantity] == pytest.approx(float(summed(rows, quantity, *args)), abs=1e-9)


def test_a_database_sums_to_the_same(response) -> None:
    connection = duckdb.connect()
    connection.register("wind_response", response)
    found = connection.execute(
        """
        SELECT club, sum(carry_change_m
            * pow(5.0, head_wind_power) * pow(-4.0, cross_wind_power)
            * pow(8.0 - 215.0 / 9.0, air_temp_power) * pow(1200.0, altitude_power))
        FROM wind_response GROUP BY club
        """
    ).fetchall()
    ours = response_in(response, 5.0, -4.0, 8.0, 1200.0)
    expected = dict(ours.select("club", "carry_change_m").rows())
    assert dict(found) == pytest.approx(expected, abs=1e-9)


def test_conditions_beyond_the_range_are_held(response) -> None:
    far = response_in(response, 40.0, 0.0, 60.0, 9000.0)
    assert far.equals(response_in(response, 12.0, 0.0, 40.0, 2500.0))


def test_spread_changes_as_flown_shots_spread(response) -> None:
    # Monte Carlo: 4,000 shots of the default launch spread in calm and in 8 m/s against; a ratio
    # of two standard deviations of the same shots is good to 1 %.
    random = np.random.default_rng(2)
    stock = np.array(STOCK["7-iron"])
    sd = np.array([0.02 * stock[0], 1.2, 2.5, 0.07 * stock[3], 4.0])
    shots = stock[:, None] + sd[:, None] * random.normal(size=(5, 4000))
    calm, windy = fly(*shots), fly(*shots, wind_speed_mps=8.0)
    change = response_in(response, 8.0).filter(pl.col("club") == "7-iron").row(0, named=True)
    for quantity, field in (("carry_sd_change", "carry_m"), ("side_sd_change", "carry_side_m")):
        simulated = np.std(getattr(windy, field)) / np.std(getattr(calm, field))
        assert 1.0 + change[quantity] == pytest.approx(simulated, abs=0.05)


def test_signs(response) -> None:
    against, helping = response_in(response, 5.0), response_in(response, -5.0)
    right = response_in(response, 0.0, 5.0)
    warm, high = response_in(response, air_temp_c=35.0), response_in(response, altitude_m=1500.0)
    assert (against["carry_change_m"] < 0).all()
    assert (helping["carry_change_m"] > 0).all()
    assert (helping["carry_change_m"] < -against["carry_change_m"]).all()
    assert (right["side_change_m"] > 0).all()
    assert (warm["carry_change_m"] > 0).all()
    assert (high["carry_change_m"] > 0).all()


def test_keys_are_the_callers_and_gaps_are_filled_or_left_out() -> None:
    shots = pl.DataFrame(
        {
            "player": ["p"] * 6,
            "club": ["7-iron"] * 3 + ["5-iron"] * 2 + ["putter"],
            "swing": "full",
            "ball": "premium",
            "ball_speed_mps": [52.0, 53.0, 54.0, None, None, None],
            "launch_angle_deg": [17.0, 17.0, 18.0, None, None, None],
            "spin_rate_rpm": [7000.0, 7000.0, 7100.0, None, None, None],
            "carry_m": [150.0, 151.0, 152.0, 165.0, 167.0, None],
        }
    )
    keys = ["player", "club", "swing", "ball"]
    found = wind_response(typical_launches(shots, keys), keys=keys)
    assert found.select(keys).unique(maintain_order=True)["club"].to_list() == ["7-iron", "5-iron"]
    basis = dict(found.select("club", "launch_basis").unique().rows())
    assert basis == {"7-iron": "typical-launch", "5-iron": "assumed-launch"}


def test_scales_of_the_ball_are_used() -> None:
    scaled = LAUNCHES.with_columns(drag_scale=pl.lit(1.2), lift_scale=pl.lit(0.9))
    change = response_in(wind_response(scaled), 0.0, 6.0)["side_change_m"]
    for k, shot in enumerate(STOCK.values()):
        ball = {"drag_scale": 1.2, "lift_scale": 0.9}
        still = fly(*shot, **ball).carry_side_m
        drift = fly(*shot, wind_speed_mps=6.0, wind_from_deg=270.0, **ball).carry_side_m - still
        assert change[k] == pytest.approx(drift, abs=0.3)
