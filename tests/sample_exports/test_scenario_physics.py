"""What is printed fits together: launch and flight, and the unusual days are unusual as told."""

from __future__ import annotations

import csv
import io

import numpy as np
import pytest
from rangeledger.models.air.air_density import REFERENCE_AIR_DENSITY_KGM3, air_density_kgm3
from rangeledger.models.air.standard_atmosphere import standard_pressure_hpa
from rangeledger.models.flight.trajectory import fly
from rangeledger.sample_exports import sample_folder
from rangeledger.sample_exports.players import PLAYERS
from rangeledger.sample_exports.scenario import (
    BRAM_VISITS,
    CARRY_SCALE,
    EXPORTS,
    JOAKIM,
    JOAKIM_VISITS,
    NURIA,
    NURIA_VISITS,
    PERRINE_VISITS,
    TAMSIN,
    TAMSIN_VISITS,
    Visit,
    datetime,
)
from rangeledger.sample_exports.swings import strike

from tests.sample_exports.truth import still_air_carry

YARD_M, MPH_MPS = 0.9144, 0.44704  # NIST SP 811
FULL_VISITS = [v for e in EXPORTS for v in e.visits if v.plan[0][0] != "putter"]


def residuals(visit: Visit) -> tuple[np.ndarray, np.ndarray]:
    """Read carry and side less what the read launch gives in the true mean wind and air."""
    shots, weather = strike(visit), visit.weather
    known = np.isfinite(shots["spin_rate_rpm"])
    density, wind = REFERENCE_AIR_DENSITY_KGM3, 0.0
    if visit.flight_basis == "measured":
        pressure = standard_pressure_hpa(weather.altitude_m)
        density = air_density_kgm3(weather.air_temp_c, pressure, weather.humidity_pct)
        wind = weather.wind_speed_mps
    flight = fly(
        shots["ball_speed_mps"][known],
        shots["launch_angle_deg"][known],
        shots["launch_direction_deg"][known],
        shots["spin_rate_rpm"][known],
        shots["spin_axis_deg"][known],
        air_density_kgm3=density,
        wind_speed_mps=wind,
        wind_from_deg=weather.wind_from_deg,
    )
    scale = visit.distance_factor * (
        CARRY_SCALE[visit.ball] if visit.flight_basis == "measured" else 1.0
    )
    return (
        shots["carry_m"][known] - scale * flight.carry_m,
        shots["carry_side_m"][known] - scale * flight.carry_side_m,
    )


@pytest.mark.parametrize("visit", FULL_VISITS, ids=lambda visit: visit.key)
def test_the_read_flight_fits_the_read_launch_in_the_true_conditions(visit):
    carry, side = residuals(visit)
    if visit.flight_basis == "modelled":
        # The samples are flown by their own solver; the project's states 0.01 m.
        assert np.abs(carry).max() < 0.01
        assert np.abs(side).max() < 0.01
        return
    # Reading noise and gusts leave at most 3 m a shot; their mean is within four standard errors.
    assert carry.std() < 4.0
    assert abs(carry.mean()) < 4.0 * carry.std() / np.sqrt(len(carry))
    assert abs(side.mean()) < 4.0 * side.std() / np.sqrt(len(side))


@pytest.mark.parametrize("visit", FULL_VISITS, ids=lambda visit: visit.key)
def test_quantities_keep_their_order(visit):
    shots = strike(visit)
    assert (shots["carry_m"] > 0.0).all()
    assert (shots["total_m"] > shots["carry_m"]).all()
    assert (shots["apex_m"] < shots["carry_m"]).all()
    # Common practice: no club gives a ball more than 1.52 times its own speed.
    assert (shots["ball_speed_mps"] / shots["clubhead_speed_mps"] < 1.52).all()


def test_printed_numbers_are_the_struck_ones_in_yards_and_miles_an_hour():
    text = (sample_folder() / "bag-check-2026-03-14.csv").read_text(encoding="utf-8")
    table = "".join(line for line in text.splitlines(True) if not line.startswith("#"))
    rows = list(csv.DictReader(io.StringIO(table)))
    shots = strike(TAMSIN_VISITS["mats"])
    carry_m = np.array([float(row["Carry, yd"]) for row in rows]) * YARD_M
    speed_mps = np.array([float(row["Ball speed, mph"]) for row in rows]) * MPH_MPS
    assert carry_m == pytest.approx(shots["carry_m"], abs=0.051 * YARD_M)
    assert speed_mps == pytest.approx(shots["ball_speed_mps"], abs=0.051 * MPH_MPS)


def test_about_eight_strikes_in_a_hundred_are_mishits():
    struck = np.concatenate([strike(visit)["mishit"] for visit in FULL_VISITS])
    assert 0.06 < struck.mean() < 0.10


def test_wedges_miss_longer_than_across_and_more_so_than_a_seven_iron():
    # Sixteen pre-elite players: spread in distance over spread in direction 4.5 for a 70 m wedge
    # and 1.7 for a 7-iron, wedge carry spread 9 % (abstract, Halmstad thesis, DiVA hh-25320). The
    # abstract does not define its lateral index, so only the order is asked for.
    wedge = still_air_carry(TAMSIN, "54-wedge", "9:00")
    iron = still_air_carry(TAMSIN, "7-iron")
    assert 0.05 < wedge.carry_sd_m / wedge.carry_m < 0.11
    assert wedge.carry_sd_m > 2.0 * wedge.carry_side_sd_m
    assert wedge.carry_sd_m / wedge.carry_side_sd_m > iron.carry_sd_m / iron.carry_side_sd_m


def test_drive_directions_spread_as_golfers_do():
    # About 3.4 degrees on tour and 6.5 for a 90-shooter (Broadie 2014, from memory).
    for player, low, high in ((TAMSIN, 2.5, 4.5), (JOAKIM, 3.0, 6.5)):
        drive = still_air_carry(player, "driver")
        spread = np.degrees(np.arctan(drive.carry_side_sd_m / drive.carry_m))
        assert low < spread < high


def mean_of(visit: Visit, name: str, club: str) -> float:
    shots = strike(visit)
    rows = (np.array(shots["club"]) == club) & ~shots["mishit"]
    return float(shots[name][rows].mean())


def test_the_bad_day_is_slower_with_every_club():
    bad, usual = BRAM_VISITS["bad day"], BRAM_VISITS["reference"]
    for club, _, _ in bad.plan:
        speeds = [mean_of(visit, "ball_speed_mps", club) for visit in (bad, usual)]
        assert speeds[0] / speeds[1] == pytest.approx(0.94, abs=0.04), club


def test_the_wrong_unit_day_prints_metres_under_a_yards_heading():
    visit = TAMSIN_VISITS["wrong unit"]
    assert visit.distance_factor == pytest.approx(YARD_M)
    assert mean_of(visit, "carry_m", "7-iron") < 0.95 * mean_of(
        TAMSIN_VISITS["late May"], "carry_m", "7-iron"
    )
    assert mean_of(visit, "apex_m", "7-iron") > 25.0


def test_the_face_was_open_on_the_outlier_day():
    shift = mean_of(JOAKIM_VISITS["off line"], "launch_direction_deg", "pitching-wedge") - mean_of(
        JOAKIM_VISITS["april"], "launch_direction_deg", "pitching-wedge"
    )
    assert 1.5 < shift < 5.0


def test_the_left_handed_fade_goes_left():
    assert still_air_carry(JOAKIM, "driver").carry_side_m < -3.0
    assert PLAYERS[JOAKIM].hand == -1


def test_carry_grows_over_the_spring_for_the_player_who_trains_speed():
    first, last = NURIA_VISITS["march"][0], NURIA_VISITS["may"][-1]
    ball = {"ball": "range"}
    gain = (
        still_air_carry(NURIA, "driver", on=last.started_at, **ball).carry_m
        / still_air_carry(NURIA, "driver", on=first.started_at, **ball).carry_m
    )
    weeks = (last.started_at - first.started_at).days / 7.0
    # 0.32 % a week of ball speed; a drive's carry changes 1.2 to 2 times as much in relation.
    assert 1.2 < (gain - 1.0) / (0.0032 * weeks) < 2.0


def test_wind_from_the_right_pushes_left_and_thin_air_carries_farther():
    assert mean_of(BRAM_VISITS["crosswind"], "carry_side_m", "7-iron") < -8.0
    longer = mean_of(BRAM_VISITS["mountain"], "carry_m", "7-iron") / mean_of(
        BRAM_VISITS["reference"], "carry_m", "7-iron"
    )
    # Trade rule: 1.0 to 1.2 % per 1000 ft, common practice, no source; 1600 m are 5250 ft.
    assert 1.03 < longer < 1.12


def test_putts_start_as_straight_as_their_player():
    for visit, spread in ((TAMSIN_VISITS["putting"], 0.75), (PERRINE_VISITS["putting"][0], 1.75)):
        shots = strike(visit)
        # Standard error of a standard deviation of 30 putts: 13 %.
        assert shots["launch_direction_deg"].std() == pytest.approx(spread, rel=0.39)


def test_a_visit_does_not_depend_on_the_others():
    visit = TAMSIN_VISITS["windy"]
    other = Visit(visit.player, datetime(2026, 7, 1, 9), visit.plan, visit.weather)
    before = strike(visit)["carry_m"]
    strike(other)
    assert (strike(visit)["carry_m"] == before).all()
