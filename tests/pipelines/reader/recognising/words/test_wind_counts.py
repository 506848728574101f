"""How an export counts a wind's directions: meteorology counts otherwise than surveyors do."""

from __future__ import annotations

from pathlib import Path

import pytest
from rangeledger.pipelines.reader.recognising.words.heading import read_heading
from rangeledger.pipelines.reader.recognising.words.wind_counts import (
    UNCLEAR,
    WindCount,
    count_in_line,
    counted,
    counted_wind,
)
from rangeledger.pipelines.reader.recognising.words.winds import wind_of_parts

from tests.pipelines.reader.recognising.writing import clubs, launches, prepared, table

OURS, FROM_BEHIND = WindCount(0, 1), WindCount(180, 1)


@pytest.mark.parametrize(
    ("line", "count"),
    [
        ("Wind directions count clockwise from the target and 0 is in the face", OURS),
        ("Wind directions: 0 = tailwind, 90 = from the left", FROM_BEHIND),
        ("Wind angle counts anticlockwise from the target, 0 is in the face", WindCount(0, -1)),
        ("Wind: 90 = from the left, 0 = headwind", WindCount(0, -1)),
        ("Windrichtung: 0° = Gegenwind, 90° = von rechts", OURS),
        ("Windrichtung: 0° = Rückenwind, im Uhrzeigersinn", FROM_BEHIND),
        ("Vind: 0 grader är motvind, medurs", OURS),
        ("Le vent : 0 = vent de face, 90 = de droite", OURS),
    ],
)
def test_a_line_tells_what_zero_means_and_which_way_angles_turn(
    line: str, count: WindCount
) -> None:
    assert count_in_line(line) == str(count)
    assert WindCount.of(str(count)) == count


@pytest.mark.parametrize(
    "line",
    [
        "Wind direction is where the wind blows to, 0 = away from the golfer",
        "Wind: 0 = headwind, 90 = from the right, 45 = from the left",
        "Wind dir. 0=N",
    ],
)
def test_a_count_that_is_not_understood_or_contradicts_itself_is_called_unclear(line: str) -> None:
    assert count_in_line(line) == UNCLEAR


@pytest.mark.parametrize(
    "line",
    ["Wind: 3 m/s from the left", "Wind from 205 deg", "Wind 90 from the right", "0 = tailored"],
)
def test_a_line_that_states_a_wind_or_speaks_of_none_tells_no_count(line: str) -> None:
    assert count_in_line(line) is None


@pytest.mark.parametrize(
    ("heading", "count"),
    [
        ("Wind dir (deg, 0 = tailwind)", FROM_BEHIND),
        ("Wind from (deg; 0 in the face, 90 from the right)", OURS),
        ("Wind dir (0 = headwind, anticlockwise)", WindCount(0, -1)),
        ("wind_from_deg_0_is_headwind", OURS),
        ("Wind dir (deg; 0 = north)", None),
        ("Wind from (deg)", None),
    ],
)
def test_a_heading_tells_how_its_own_column_counts(heading: str, count: WindCount | None) -> None:
    assert counted(read_heading(heading))[1] == count


def test_an_angle_is_turned_from_its_zero() -> None:
    assert FROM_BEHIND.origin(205.0) == 25.0
    assert WindCount(0, -1).origin(90.0) == 270.0


@pytest.mark.parametrize(
    ("line", "origin"),
    [
        ("Wind 10 km/h from 150° (0° = from behind, 90° = from the left)", "330"),
        ("Vent 25 km/h venant de 50° (0° = de face, 90° = de la droite)", "50"),
        ("Wind 10 km/h aus 150° (0° = von hinten, 90° = von links)", "330"),
    ],
)
def test_an_angle_is_told_by_the_brackets_behind_it(line: str, origin: str) -> None:
    wind = counted_wind(line)
    assert wind is not None
    assert wind.origin == origin


@pytest.mark.parametrize(
    "line",
    [
        "Headwind 4 m/s, crosswind from the left 2 m/s",
        "Vent de face 4 m/s, vent latéral venant de la gauche 2 m/s",
        "Gegenwind 4 m/s, Seitenwind von links 2 m/s",
    ],
)
def test_a_wind_in_two_parts_is_their_sum(line: str) -> None:
    # The hypotenuse of 4 and 2, at arctan(1/2) to the left of straight ahead.
    wind = wind_of_parts(line)
    assert wind is not None
    assert float(wind.speed.split()[0]) == pytest.approx(20.0**0.5)
    assert float(str(wind.origin)) == pytest.approx(360.0 - 26.565051177)


def test_a_gust_is_no_second_part() -> None:
    assert wind_of_parts("Headwind 3 m/s on average, gusts up to 7 m/s") is None


@pytest.mark.parametrize(
    "lines",
    [
        ["Wind: 4 m/s, direction 90", "0 = from behind, 90 = from the left, 180 = in the face"],
        ["Vent : 4 m/s, secteur 90", "Secteur : 0 = dans le dos, 90 = de gauche, 180 = de face"],
        ["Vind 4 m/s från 90. Räknas så: 0 = medvind, 90 = från vänster, 180 = motvind"],
        ["Wind: 4 m/s, richting 90 (0 = mee, 90 = van links, 180 = tegen)"],
        ["Vento 4 m/s da 90", "0 = a favore, 90 = da sinistra, 180 = contrario"],
    ],
)
@pytest.mark.parametrize("below", [False, True])
def test_a_bare_angle_is_counted_as_another_line_says(
    tmp_path: Path, lines: list[str], below: bool
) -> None:
    flights = launches()
    text = table({
        "Club": clubs(), "Ball speed (m/s)": flights["ball_speed_mps"],
        "Launch (deg)": flights["launch_angle_deg"], "Carry (m)": flights["carry_m"],
    }, delimiter="\t")  # fmt: skip
    said = "\n".join(lines)
    shots = prepared(tmp_path, f"{text}\n{said}\n" if below else f"{said}\n\n{text}").shots
    assert set(shots["wind_from_deg"]) == {270.0}
    assert set(shots["wind_speed_mps"]) == {4.0}


def test_a_bare_angle_that_nothing_counts_is_left_out(tmp_path: Path) -> None:
    flights = launches()
    text = table({
        "Club": clubs(), "Ball speed (m/s)": flights["ball_speed_mps"],
        "Launch (deg)": flights["launch_angle_deg"], "Carry (m)": flights["carry_m"],
    }, delimiter="\t")  # fmt: skip
    export = prepared(tmp_path, f"Wind: 4 m/s, direction 90\n\n{text}")
    assert export.shots["wind_from_deg"].null_count() == 14
    assert any("wind_from_deg" in str(remark) for remark in export.remarks)
