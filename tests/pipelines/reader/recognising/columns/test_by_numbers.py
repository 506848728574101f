"""Columns whose words nobody knows, found by their numbers. Flights: the project's own solver."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from rangeledger.pipelines.reader.recognising.columns.by_numbers import FOUND
from rangeledger.pipelines.reader.recognising.columns.following import follows

from tests.pipelines.reader.recognising.writing import (
    FOOT_M,
    MPH_MPS,
    YARD_M,
    clubs,
    launches,
    prepared,
    table,
)

_HEADINGS = {
    "ball_speed_mps": ("Ball speed (mph)", MPH_MPS, "Zorp (mph)"),
    "launch_angle_deg": ("Launch angle (deg)", 1.0, "Zorp (deg)"),
    "spin_rate_rpm": ("Spin (rpm)", 1.0, "Zorp"),
    "carry_m": ("Carry (yd)", YARD_M, "Zorp (yd)"),
    "apex_m": ("Apex (ft)", FOOT_M, "Zorp (ft)"),
    "hang_time_s": ("Hang time (s)", 1.0, "Zorp"),
    "descent_angle_deg": ("Descent angle (deg)", 1.0, "Zorp (deg)"),
}


def _export(strange: str, numbers: np.ndarray | None = None) -> str:
    """A table in which the heading of one column is no word of any language."""
    flights, cells = launches(30), {"Club": clubs(30)}
    for name, (heading, unit, unknown) in _HEADINGS.items():
        values = flights[name] if numbers is None or name != strange else numbers
        cells[unknown if name == strange else heading] = values / unit
    return table(cells)


@pytest.mark.parametrize("strange", list(_HEADINGS))
def test_a_heading_in_unknown_words_is_found_by_its_numbers(tmp_path: Path, strange: str) -> None:
    export = prepared(tmp_path, _export(strange))
    assert export.shots[strange].to_numpy() == pytest.approx(launches(30)[strange], abs=0.6)
    assert any("its numbers follow the others" in remark for remark in export.recognition.remarks)


@pytest.mark.parametrize("strange", ["apex_m", "hang_time_s", "descent_angle_deg"])
def test_numbers_that_follow_nothing_are_left_alone(tmp_path: Path, strange: str) -> None:
    shuffled = np.random.default_rng(5).permutation(launches(30)[strange])
    export = prepared(tmp_path, _export(strange, shuffled))
    assert export.shots[strange].null_count() == 30


def test_a_number_in_a_heading_makes_another_quantity(tmp_path: Path) -> None:
    text = _export("apex_m").replace("Zorp (ft)", "Zorp at 100 (ft)")
    assert prepared(tmp_path, text).shots["apex_m"].null_count() == 30


@pytest.mark.parametrize(
    "heading", ["Carry P90 (yd)", "P10 carry (yd)", "Distance walked (yd)", "Gehstrecke (yd)"]
)
def test_a_percentile_or_a_walk_is_no_carry(tmp_path: Path, heading: str) -> None:
    """Headings: common practice, no source."""
    text = _export("carry_m").replace("Zorp (yd)", heading)
    assert prepared(tmp_path, text).shots["carry_m"].null_count() == 30


@pytest.mark.parametrize(
    "heading",
    [
        "Closure (deg)", "Camber (deg)", "Foot flare (deg)", "Hüftdrehung (deg)",
        "Schulterdrehung (deg)", "Fermeture (deg)", "Cierre (deg)", "Chiusura (deg)",
        "Fechamento (deg)", "Sluiting (deg)", "Stängning (deg)", "Lukning (deg)",
        "Höftrotation (deg)", "Hofterotation (deg)", "Heuprotatie (deg)",
    ],
)  # fmt: skip
def test_an_angle_of_club_sole_or_body_is_no_launch_angle(tmp_path: Path, heading: str) -> None:
    """Headings: common practice, no source."""
    text = _export("launch_angle_deg").replace("Zorp (deg)", heading)
    assert prepared(tmp_path, text).shots["launch_angle_deg"].null_count() == 30


def test_a_column_said_twice_in_two_units_is_no_other_quantity(tmp_path: Path) -> None:
    text = table({
        "Club": clubs(), "Ball speed (mph)": launches()["ball_speed_mps"] / MPH_MPS,
        "Launch angle (deg)": launches()["launch_angle_deg"],
        "Carry (yd)": launches()["carry_m"] / YARD_M, "Carry (m)": launches()["carry_m"],
    })  # fmt: skip
    assert prepared(tmp_path, text).shots["total_m"].null_count() == 14


def test_odds_rise_with_how_closely_numbers_follow() -> None:
    rng = np.random.default_rng(2)
    expected = rng.uniform(100.0, 220.0, 30)
    close = follows("carry_m", expected * np.exp(rng.normal(0, 0.01, 30)), expected)
    loose = follows("carry_m", expected * np.exp(rng.normal(0, 0.2, 30)), expected)
    assert close is not None
    assert loose is not None
    assert close > loose + 20.0
    assert follows("carry_m", 3.0 * expected, expected) == -np.inf
    assert follows("carry_m", expected[:3], expected[:3]) is None


@pytest.mark.parametrize(
    ("heading", "column"),
    [
        ("Gevlogen (m)", "carry_m"), ("Geflogen (m)", "carry_m"), ("Flög (m)", "carry_m"),
        ("Fløj (m)", "carry_m"), ("Volée (m)", "carry_m"), ("Voló (m)", "carry_m"),
        ("Volata (m)", "carry_m"), ("Voou (m)", "carry_m"), ("Flew (yd)", "carry_m"),
        ("Came to rest (yd)", "total_m"), ("Rollt aus bei (m)", "total_m"),
        ("Stannade (m)", "total_m"), ("Endte på (m)", "total_m"), ("Se paró a (m)", "total_m"),
        ("Si ferma a (m)", "total_m"), ("Parou em (m)", "total_m"), ("Lag op (m)", "total_m"),
        ("S'arrête à (m)", "total_m"), ("Angle down (°)", "descent_angle_deg"),
        ("Winkel nach unten (°)", "descent_angle_deg"), ("Hoek omlaag (°)", "descent_angle_deg"),
        ("Vinkel nedåt (°)", "descent_angle_deg"), ("Angle de chute (°)", "descent_angle_deg"),
        ("Ángulo de bajada (°)", "descent_angle_deg"),
        ("Angolo di caduta (°)", "descent_angle_deg"),
        ("Ângulo de queda (°)", "descent_angle_deg"), ("Up (°)", "launch_angle_deg"),
    ],
)  # fmt: skip
def test_plain_words_for_a_flight_are_known(tmp_path: Path, heading: str, column: str) -> None:
    flights = launches()
    values = {**flights, "total_m": flights["carry_m"] * 1.05}
    unit = YARD_M if "yd" in heading else 1.0
    cells = {"Club": clubs(), "Ball speed (mph)": flights["ball_speed_mps"] / MPH_MPS}
    cells |= {"Spin (rpm)": flights["spin_rate_rpm"], heading: values[column] / unit}
    others = {"Carry (m)": "carry_m", "Launch angle (deg)": "launch_angle_deg"}
    cells |= {name: values[key] for name, key in others.items() if key != column}
    export = prepared(tmp_path, table(cells))
    assert export.shots[column].to_numpy() == pytest.approx(values[column], abs=0.02)


def test_letters_for_sides_count_where_both_stand_in_a_column(tmp_path: Path) -> None:
    flights = launches()
    side = [f"{abs(s):.1f} {'D' if s > 0 else 'S'}" for s in flights["carry_side_m"]]
    cells = {"Bastone": clubs(), "Volo (m)": flights["carry_m"], "Scarto laterale (m)": side}
    shots = prepared(tmp_path, table(cells)).shots
    assert shots["carry_side_m"].to_numpy() == pytest.approx(flights["carry_side_m"], abs=0.06)


def test_sides_in_cells_seen_from_the_target_are_turned(tmp_path: Path) -> None:
    flights = launches()
    side = [f"{abs(s):.1f} {'L' if s > 0 else 'R'}" for s in flights["carry_side_m"]]
    cells = {"Club": clubs(), "Carry (m)": flights["carry_m"], "Wide (m)": side}
    text = "L and R are seen from the target looking back: his R is the player's left\n"
    shots = prepared(tmp_path, text + table(cells)).shots
    assert shots["carry_side_m"].to_numpy() == pytest.approx(flights["carry_side_m"], abs=0.06)


def test_every_column_that_numbers_may_find_has_its_terms() -> None:
    numbers = np.linspace(1.0, 2.0, 10)
    for name in FOUND:
        assert follows(name, numbers, numbers) is not None


def test_the_one_angle_of_a_table_is_that_of_the_launch(tmp_path: Path) -> None:
    flights = launches()
    text = table({
        "Palo": ["Hierro 7"] * 7 + ["Driver"] * 7,
        "Velocidad bola (m/s)": flights["ball_speed_mps"],
        "Ángulo (°)": flights["launch_angle_deg"],
        "Vuelo (m)": 0.97 * flights["carry_m"],
    })  # fmt: skip
    shots = prepared(tmp_path, text).shots
    assert shots["launch_angle_deg"].to_list() == pytest.approx(
        flights["launch_angle_deg"], abs=0.01
    )


def test_an_angle_beside_others_is_not_taken_for_the_launch(tmp_path: Path) -> None:
    flights = launches()
    loft = np.where(np.arange(14) < 7, 26.0, 13.0) + np.arange(14) % 3
    text = table({
        "Club": clubs(), "Ball speed (m/s)": flights["ball_speed_mps"], "Angle (deg)": loft,
        "Launch angle (deg)": flights["launch_angle_deg"], "Carry (m)": flights["carry_m"],
    })  # fmt: skip
    shots = prepared(tmp_path, text).shots
    assert shots["launch_angle_deg"].to_list() == pytest.approx(
        flights["launch_angle_deg"], abs=0.01
    )


def test_swings_that_count_on_are_numbers_of_shots(tmp_path: Path) -> None:
    flights = launches()
    text = table({
        "Swing": [str(k + 1) for k in range(14)], "Club": clubs(),
        "Ball speed (m/s)": flights["ball_speed_mps"], "Launch (deg)": flights["launch_angle_deg"],
        "Carry (m)": flights["carry_m"],
    })  # fmt: skip
    assert set(prepared(tmp_path, text).shots["swing"]) == {"full"}


@pytest.mark.parametrize("straight", [True, False])
def test_a_landing_told_by_distance_and_bearing_is_carry_and_side(
    tmp_path: Path, straight: bool
) -> None:
    flights = launches()
    along, side = flights["carry_m"], flights["carry_side_m"]
    bearing = np.degrees(np.arctan2(side, along))
    name = "Straight-line carry (m)" if straight else "Carry along the target line (m)"
    text = table({
        "Club": clubs(), "Ball speed (m/s)": flights["ball_speed_mps"],
        "Launch (deg)": flights["launch_angle_deg"],
        name: np.hypot(along, side) if straight else along,
        "Bearing of landing point (deg; + right)": [f"{x:.4f}" for x in bearing],
    })  # fmt: skip
    shots = prepared(tmp_path, text).shots
    assert shots["carry_m"].to_list() == pytest.approx(along, abs=0.02)
    assert shots["carry_side_m"].to_list() == pytest.approx(side, abs=0.03)


def test_that_the_one_angle_was_taken_for_the_launch_is_told(tmp_path: Path) -> None:
    flights = launches()
    text = table({
        "Club": clubs(), "Ball speed (m/s)": flights["ball_speed_mps"],
        "Angle (deg)": flights["launch_angle_deg"], "Carry (m)": flights["carry_m"],
    })  # fmt: skip
    export = prepared(tmp_path, text)
    assert export.shots["launch_angle_deg"].null_count() == 0
    assert any("'Angle (deg)'" in str(remark) for remark in export.remarks)
