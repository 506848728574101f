"""Units and signs: said, proven by flights, or asked about. Flights: the project's own solver."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from rangeledger.schemas.errors import ExportError

from tests.pipelines.reader.recognising.writing import (
    FOOT_M,
    MPH_MPS,
    YARD_M,
    clubs,
    launches,
    prepared,
    table,
)


def columns(speed: float, length: float, height: float, **more: object) -> dict[str, object]:
    flights = launches()
    return {
        "Club": clubs(),
        "Ball speed": flights["ball_speed_mps"] / speed,
        "Launch angle": flights["launch_angle_deg"],
        "Spin": flights["spin_rate_rpm"],
        "Carry": flights["carry_m"] / length,
        "Apex": flights["apex_m"] / height,
        "Hang time": flights["hang_time_s"],
        **more,
    }


@pytest.mark.parametrize(
    ("speed", "length", "height"),
    [(1.0, 1.0, 1.0), (MPH_MPS, YARD_M, FOOT_M), (1 / 3.6, 1.0, 1.0)],
)
def test_unstated_units_are_proven_by_the_flights(
    tmp_path: Path, speed: float, length: float, height: float
) -> None:
    text = table(columns(speed, length, height))
    shots, truth = prepared(tmp_path, text).shots, launches()
    for name in ("ball_speed_mps", "carry_m", "apex_m"):
        assert shots[name].to_numpy() == pytest.approx(truth[name], abs=0.02)


def test_a_height_that_may_be_in_two_units_is_left_out_and_the_shots_are_kept(
    tmp_path: Path,
) -> None:
    # Halfway between yards and metres: neither fits better.
    flights = launches()
    cells = columns(MPH_MPS, YARD_M, 0.956) | {"Carry (yd)": flights["carry_m"] / YARD_M}
    del cells["Carry"]
    export = prepared(tmp_path, table(cells))
    assert export.shots["carry_m"].to_numpy() == pytest.approx(flights["carry_m"], abs=0.02)
    assert export.shots["apex_m"].null_count() == export.shots.height
    assert any("its unit can't be told" in remark for remark in export.recognition.remarks)


def test_units_that_flights_cant_tell_apart_are_asked_about(tmp_path: Path) -> None:
    # Halfway between yards and metres: neither fits.
    flights = launches()
    text = table(
        {
            "Club": clubs(),
            "Ball speed (mph)": flights["ball_speed_mps"] / MPH_MPS,
            "Launch angle": flights["launch_angle_deg"],
            "Carry": flights["carry_m"] * 1.07,
        }
    )
    with pytest.raises(ExportError) as refusal:
        prepared(tmp_path, text)
    assert refusal.value.code == "unclear-units"
    assert '[columns."Carry"]' in (refusal.value.mapping or "")


def test_a_unit_that_is_said_wrongly_is_refused(tmp_path: Path) -> None:
    flights = launches()
    text = table(
        {
            "Club": clubs(),
            "Ball speed (mph)": flights["ball_speed_mps"],
            "Launch angle (°)": flights["launch_angle_deg"],
            "Spin (rpm)": flights["spin_rate_rpm"],
            "Carry (m)": flights["carry_m"],
        }
    )
    with pytest.raises(ExportError, match="said to be in mph"):
        prepared(tmp_path, text)


def test_a_stated_yard_is_believed_whatever_the_weather(tmp_path: Path) -> None:
    flights = launches()
    text = table(
        {
            "Club": clubs(),
            "Ball speed (mph)": flights["ball_speed_mps"] / MPH_MPS,
            "Launch angle (°)": flights["launch_angle_deg"],
            "Spin (rpm)": flights["spin_rate_rpm"],
            "Carry (yd)": flights["carry_m"] / YARD_M * 0.91,
        }
    )
    shots = prepared(tmp_path, text).shots
    assert shots["carry_m"].to_numpy() == pytest.approx(flights["carry_m"] * 0.91, abs=0.02)


def test_each_cell_may_state_its_own_unit(tmp_path: Path) -> None:
    text = "Club,Ball speed,Launch angle,Carry\n" + "".join(
        f"PW,{speed},25 deg,{carry}\n"
        for speed, carry in [
            ("88.0 mph", "111 yd"),
            ("39.3 m/s", "101.5 m"),
            ("141.6 km/h", "111 yd"),
        ]
    )
    shots = prepared(tmp_path, text).shots
    assert shots["ball_speed_mps"].to_numpy() == pytest.approx([39.339, 39.3, 39.333], abs=0.001)
    assert shots["carry_m"].to_numpy() == pytest.approx([101.498, 101.5, 101.498], abs=0.001)


def sided(direction: np.ndarray, axis: np.ndarray, side: np.ndarray, note: str = "") -> str:
    flights = launches()
    return table(
        {
            "Club": clubs(),
            "Ball speed (m/s)": flights["ball_speed_mps"],
            "Launch angle (°)": flights["launch_angle_deg"],
            "Spin (rpm)": flights["spin_rate_rpm"],
            "Carry (m)": flights["carry_m"],
            "Start direction (°)": direction,
            "Axis (°)": axis,
            f"Side{note} (m)": side,
        }
    )


def test_signs_that_agree_are_taken_as_right_positive(tmp_path: Path) -> None:
    f = launches()
    shots = prepared(
        tmp_path, sided(f["launch_direction_deg"], f["spin_axis_deg"], f["carry_side_m"])
    ).shots
    assert shots["carry_side_m"].to_numpy() == pytest.approx(f["carry_side_m"], abs=0.006)


def test_one_stated_sign_settles_the_others(tmp_path: Path) -> None:
    f = launches()
    text = sided(
        -f["launch_direction_deg"], -f["spin_axis_deg"], -f["carry_side_m"], " left positive"
    )
    shots = prepared(tmp_path, text).shots
    for name in ("launch_direction_deg", "spin_axis_deg", "carry_side_m"):
        assert shots[name].to_numpy() == pytest.approx(f[name], abs=0.006)


@pytest.mark.parametrize("flipped", ["launch_direction_deg", "spin_axis_deg", "carry_side_m"])
def test_signs_that_disagree_are_asked_about(tmp_path: Path, flipped: str) -> None:
    f = launches()
    f[flipped] = -f[flipped]
    with pytest.raises(ExportError, match="opposite directions"):
        prepared(tmp_path, sided(f["launch_direction_deg"], f["spin_axis_deg"], f["carry_side_m"]))


def test_back_and_side_spin_become_total_and_axis(tmp_path: Path) -> None:
    text = (
        "Club,Ball speed (m/s),Launch angle (°),Back spin (rpm),Side spin (rpm),Carry (m)\n"
        "7i,48,17.5,3000,4000,138\n7i,47,17.9,6000,0,134\n"
    )
    shots = prepared(tmp_path, text).shots
    # The 3-4-5 triangle: 5000 rpm, atan(4/3) = 53.1301 degrees.
    assert shots["spin_rate_rpm"].to_list() == pytest.approx([5000.0, 6000.0])
    assert shots["spin_axis_deg"].to_list() == pytest.approx([53.1301024, 0.0])


def test_a_straight_carry_is_brought_along_the_line(tmp_path: Path) -> None:
    text = (
        'Club,Ball speed (m/s),Launch angle (°),"Carry, as the crow flies (m)",Side (m)\n'
        "Driver,62,11,200,-56\nDriver,62,11.2,195.5,0\nDriver,63,11,205,\n"
    )
    shots = prepared(tmp_path, text).shots
    # 56-192-200 is eight times the triangle 7-24-25.
    assert shots["carry_m"].to_list() == pytest.approx([192.0, 195.5, 205.0])


def test_a_negative_straight_carry_stays_impossible(tmp_path: Path) -> None:
    text = (
        'Club,Ball speed (m/s),Launch angle (°),"Carry, straight line (m)",Side (m)\n'
        "Driver,62,11,200,-56\nDriver,62,11.2,-195.5,3\nDriver,62,11.1,198,4\n"
    )
    assert prepared(tmp_path, text).rejected["source_row"].to_list() == [3]


@pytest.mark.parametrize("heading", ["Abweichung vom Ziel (m)", "Deviation from the target (m)"])
def test_a_carry_less_a_goal_is_no_side(tmp_path: Path, heading: str) -> None:
    carry = launches()["carry_m"]
    text = table({**columns(1.0, 1.0, 1.0), heading: carry - 160.0})
    assert prepared(tmp_path, text).shots["carry_side_m"].null_count() == len(carry)


def with_columns(flights: dict[str, np.ndarray], **more: object) -> dict[str, object]:
    return {
        "Club": clubs(),
        "Ball speed (mph)": flights["ball_speed_mps"] / MPH_MPS,
        "Launch angle (°)": flights["launch_angle_deg"],
        "Spin (rpm)": flights["spin_rate_rpm"],
        "Carry (yd)": flights["carry_m"] / YARD_M,
        **more,
    }


@pytest.mark.parametrize("heading", ["Side (yd)", "Distance from target line (yd)"])
def test_sizes_without_a_sign_are_no_sides(tmp_path: Path, heading: str) -> None:
    flights = launches()
    sizes = {heading: np.abs(flights["carry_side_m"]) / YARD_M}
    export = prepared(tmp_path, table(with_columns(flights, **sizes)))
    assert export.shots["carry_side_m"].null_count() == export.shots.height
    assert any(heading in str(remark) for remark in export.remarks)


def test_a_side_in_feet_beside_a_carry_in_yards_is_told_by_start_line_and_axis(
    tmp_path: Path,
) -> None:
    flights = launches()
    more = {
        "Start direction (°)": flights["launch_direction_deg"],
        "Spin axis (°)": flights["spin_axis_deg"],
    }
    feet = flights["carry_side_m"] / FOOT_M
    shots = prepared(tmp_path, table(with_columns(flights, **more, Side=feet))).shots
    assert shots["carry_side_m"].to_numpy() == pytest.approx(flights["carry_side_m"], abs=0.01)
    sided = prepared(tmp_path, table(with_columns(flights, **more, **{"Side (yd)": feet}))).shots
    assert sided["carry_side_m"].null_count() == sided.height


@pytest.mark.parametrize(
    ("line", "heading"),
    [
        ("Side: positive = left", "Side (yd; right positive)"),
        ("All distances in metres", "Side (yd)"),
    ],
)
def test_a_line_and_a_heading_that_contradict_each_other_are_asked_about(
    tmp_path: Path, line: str, heading: str
) -> None:
    flights = launches()
    text = table(with_columns(flights, **{heading: flights["carry_side_m"] / YARD_M}))
    with pytest.raises(ExportError, match="said twice") as refusal:
        prepared(tmp_path, f"{line}\n{text}")
    assert "line 1" in str(refusal.value)


@pytest.mark.parametrize(
    ("line", "sign"),
    [
        ("A minus in front of a side means the ball finished to the right.", -1.0),
        ("Side is positive to the right as seen from the target looking back.", -1.0),
        ("Directions as seen from behind the ball: right is positive", 1.0),
    ],
)
def test_a_sentence_above_the_table_says_which_side_is_positive(
    tmp_path: Path, line: str, sign: float
) -> None:
    flights = launches()
    text = table(with_columns(flights, **{"Side (yd)": sign * flights["carry_side_m"] / YARD_M}))
    shots = prepared(tmp_path, f"{line}\n{text}").shots
    assert shots["carry_side_m"].to_numpy() == pytest.approx(flights["carry_side_m"], abs=0.01)


def test_a_value_with_its_error_is_the_value(tmp_path: Path) -> None:
    flights = launches()
    cells = with_columns(flights)
    cells["Carry (yd)"] = [f"{carry / YARD_M:.2f} ± 0.4" for carry in flights["carry_m"]]
    shots = prepared(tmp_path, table(cells)).shots
    assert shots["carry_m"].to_numpy() == pytest.approx(flights["carry_m"], abs=0.01)


def test_a_side_as_large_as_the_flight_is_a_distance_and_left_out(tmp_path: Path) -> None:
    flights = launches()
    cells = columns(1.0, 1.0, 1.0) | {"Side (m)": -flights["carry_m"] + 0.3 * flights["apex_m"]}
    del cells["Apex"]
    shots = prepared(tmp_path, table(cells)).shots
    assert shots["carry_side_m"].null_count() == shots.height
    assert shots["carry_m"].to_numpy() == pytest.approx(flights["carry_m"], abs=0.02)


def test_a_wide_side_stays(tmp_path: Path) -> None:
    flights = launches()
    wide = 0.15 * flights["carry_m"] * np.where(np.arange(14) % 2, 1.0, -1.0)
    cells = columns(1.0, 1.0, 1.0) | {"Side (m, + = right)": wide}
    shots = prepared(tmp_path, table(cells, delimiter=";")).shots
    assert shots["carry_side_m"].to_numpy() == pytest.approx(wide, abs=0.02)


def test_a_line_turns_an_attack_angle(tmp_path: Path) -> None:
    steep = np.linspace(2.0, 6.0, 14)
    cells = table(columns(1.0, 1.0, 1.0) | {"Attack angle (deg)": steep})
    export = prepared(tmp_path, "Attack angle: positive = downward.\n" + cells)
    assert export.shots["angle_of_attack_deg"].to_numpy() == pytest.approx(-steep, abs=0.01)


@pytest.mark.parametrize("first", ["Head", "Club"])
def test_the_column_of_known_clubs_goes_before_one_of_heads(tmp_path: Path, first: str) -> None:
    cells = columns(1.0, 1.0, 1.0)
    names = cells.pop("Club")
    heads = ["prototype 9"] * 14
    both = {"Head": heads, "Club": names} if first == "Head" else {"Club": names, "Head": heads}
    shots = prepared(tmp_path, table(both | cells)).shots
    assert set(shots["club"]) == {"7-iron", "driver"}


def test_a_title_names_the_club_of_a_column_of_heads(tmp_path: Path) -> None:
    flights = {name: values[:7] for name, values in columns(1.0, 1.0, 1.0).items()}
    del flights["Club"]
    text = table({"Head": ["Head blue"] * 4 + ["Head grey"] * 3} | flights)
    shots = prepared(tmp_path, "2. Every shot (7 iron)\n" + text).shots
    assert set(shots["club"]) == {"7-iron"}


def test_a_straight_carry_to_a_pitch_mark_is_brought_along_the_line(tmp_path: Path) -> None:
    flights = launches()
    side = flights["carry_side_m"]
    cells = columns(1.0, 1.0, 1.0) | {"Pitch mark left(-)/right(+) of line (m)": side}
    del cells["Carry"]
    cells["Straight-line carry, tee to pitch mark (m)"] = np.hypot(flights["carry_m"], side)
    shots = prepared(tmp_path, table(cells, delimiter=";")).shots
    assert shots["carry_m"].to_numpy() == pytest.approx(flights["carry_m"], abs=0.03)


@pytest.mark.parametrize(
    "sentence",
    [
        "Some say that all distances were typed in yards",
        "Achtung: laut A sind alle Weiten in Yards eingetragen, laut B in Metern",
        "Appareil réglé en yards", "Device set to yards that day",
    ],
)  # fmt: skip
def test_a_sentence_that_may_say_another_unit_than_the_heading_asks(
    tmp_path: Path, sentence: str
) -> None:
    shots = "\n".join(f"7 iron;{140 + k}" for k in range(6))
    with pytest.raises(ExportError, match="said twice"):
        prepared(tmp_path, f"{sentence}\nClub;Carry (m)\n{shots}\n")
    heard = prepared(tmp_path, f"Converted from yards to metres\nClub;Carry (m)\n{shots}\n")
    assert heard.shots["carry_m"].to_list() == [140.0 + k for k in range(6)]


@pytest.mark.parametrize(
    ("heading", "cells", "expected"),
    [
        ("Carry (m)", ["145.59(15)", "146.10(9)"], [145.59, 146.10]),
        ("Carry", ["145,5 ± 0,4 m", "146,0 ± 0,4 m"], [145.5, 146.0]),
        ("Carry (m)", ["145½", "146 ½"], [145.5, 146.5]),
        ("carry_mm", ["145590", "146100"], [145.59, 146.10]),
    ],
)
def test_values_bear_errors_fractions_and_small_units(
    tmp_path: Path, heading: str, cells: list[str], expected: list[float]
) -> None:
    text = "\n".join([f"Club;{heading}", *(f"7 iron;{cell}" for cell in cells)]) + "\n"
    assert prepared(tmp_path, text).shots["carry_m"].to_list() == pytest.approx(expected)


@pytest.mark.parametrize(
    "line", ["Hinweis: alle Längen in Yards!", "All distances in yards!", "Alla längder i yards!"]
)
def test_a_unit_that_is_called_out_contradicts_a_heading_too(tmp_path: Path, line: str) -> None:
    shots = [f"7 iron,17.{k},142.{k}" for k in range(4)]
    with pytest.raises(ExportError, match="twice and differently"):
        prepared(tmp_path, "\n".join([line, "Club,Launch angle (deg),Carry (m)", *shots]))


def test_a_miss_in_distance_is_no_side(tmp_path: Path) -> None:
    flights = launches(14)
    called = np.where(np.arange(14) < 7, 135.0, 230.0)
    carry = flights["carry_m"].round(2)
    text = table({
        "Club": clubs(14), "Called (m)": called, "Ball speed (m/s)": flights["ball_speed_mps"],
        "Launch (deg)": flights["launch_angle_deg"], "Carry (m)": carry, "Miss (m)": carry - called,
    })  # fmt: skip
    export = prepared(tmp_path, text)
    assert export.shots["carry_side_m"].null_count() == 14
    assert any("less 'Called (m)'" in str(remark) for remark in export.remarks)
