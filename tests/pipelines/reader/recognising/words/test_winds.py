"""Wind in the words of an export."""

from __future__ import annotations

from pathlib import Path

import pytest
from rangeledger.pipelines.reader.prepare import prepare_export
from rangeledger.pipelines.reader.recognising.words.winds import parts_of_wind, wind_in

HEAD = "Club,Ball speed (mph),Launch angle (deg),Spin (rpm),Carry (yd)"
FLIGHTS = ("108.1,17.5,6100,149.2", "109.6,16.8,5900,151.8", "106.9,18.2,6300,147.0")


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("8 mph headwind", ("8 mph", "0")),
        ("3,5 m/s Rückenwind", ("3,5 m/s", "180")),
        ("12 km/h de la izquierda", ("12 km/h", "270")),
        ("5 mph (from the right)", ("5 mph", "90")),
        ("calm", ("0 m/s", None)),
        ("8 mph NW", ("8 mph", "NW")),
        ("8 mph", None),
        ("fresh", None),
    ],
)
def test_speed_and_direction_are_taken_apart(text: str, parts: object) -> None:
    assert parts_of_wind(text) == parts


def _shots(folder: Path, lines: list[str]) -> tuple[list[float | None], list[float | None], str]:
    path = folder / "visit.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    export = prepare_export(path)
    shots = export.shots
    remarks = " ".join(export.recognition.remarks)
    return shots["wind_speed_mps"].to_list(), shots["wind_from_deg"].to_list(), remarks


def test_a_head_wind_said_on_top_blows_into_the_face(tmp_path: Path) -> None:
    lines = ["Wind: 8 mph headwind", "", HEAD, *(f"7 iron,{f}" for f in FLIGHTS)]
    speed, origin, _ = _shots(tmp_path, lines)
    # 8 mph is 3.57632 m/s by the definition of the mile (NIST SP 811).
    assert speed == pytest.approx([3.57632] * 3)
    assert origin == [0.0] * 3


def test_a_compass_direction_is_left_out_with_a_remark(tmp_path: Path) -> None:
    lines = ["Wind: 8 mph NW", "", HEAD, *(f"7 iron,{f}" for f in FLIGHTS)]
    speed, origin, remarks = _shots(tmp_path, lines)
    assert speed == pytest.approx([3.57632] * 3)
    assert origin == [None] * 3
    assert "where the target lies" in remarks


@pytest.mark.parametrize(
    "across",
    ["Crosswind from right (m/s)", "Seitenwind von rechts (m/s)", "Vento da destra (m/s)"],
)
def test_parts_along_and_across_make_one_wind(tmp_path: Path, across: str) -> None:
    rows = [f"7 iron,{f},{w}" for f, w in zip(FLIGHTS, ("3,4", "3,-4", "0,0"), strict=True)]
    speed, origin, _ = _shots(tmp_path, [f"{HEAD},Headwind (m/s),{across}", *rows])
    # 3, 4 and 5 make a right-angled triangle; its angle at the 3 is atan(4 / 3) = 53.13 degrees.
    assert speed == pytest.approx([5.0, 5.0, 0.0])
    assert origin == [pytest.approx(53.1301), pytest.approx(306.8699), None]


def test_a_cross_wind_that_does_not_say_from_where_is_left_out(tmp_path: Path) -> None:
    rows = [f"7 iron,{f},3,4" for f in FLIGHTS]
    speed, origin, _ = _shots(tmp_path, [f"{HEAD},Headwind (m/s),Crosswind (m/s)", *rows])
    assert speed == origin == [None] * 3


@pytest.mark.parametrize(
    ("heading", "cells"),
    [
        ("Wind from (o'clock)", ("12", "2", "9")),
        ("Vind från (klockan)", ("12", "2", "9")),
        ("Wind from", ("12 o'clock", "2 o'clock", "9 o'clock")),
    ],
)
def test_hours_of_a_clock_say_where_the_wind_comes_from(
    tmp_path: Path, heading: str, cells: tuple[str, ...]
) -> None:
    rows = [f"7 iron,{f},{cell}" for f, cell in zip(FLIGHTS, cells, strict=True)]
    assert _shots(tmp_path, [f"{HEAD},{heading}", *rows])[1] == [0.0, 60.0, 270.0]


def test_a_column_of_head_wind_has_tail_wind_where_it_is_negative(tmp_path: Path) -> None:
    winds = ("2.0", "-1.5", "0.0")
    rows = [f"7 iron,{f},{w}" for f, w in zip(FLIGHTS, winds, strict=True)]
    lines = [f"{HEAD},Headwind (m/s)", *rows]
    speed, origin, _ = _shots(tmp_path, lines)
    assert speed == [2.0, 1.5, 0.0]
    assert origin == [0.0, 180.0, None]


def test_a_head_wind_beside_a_cross_wind_is_no_whole_wind(tmp_path: Path) -> None:
    lines = [f"{HEAD},Headwind (m/s),Crosswind (m/s)", *(f"7 iron,{f},2.0,1.0" for f in FLIGHTS)]
    speed, origin, _ = _shots(tmp_path, lines)
    assert speed == origin == [None] * 3


# Directions: the wind comes from; 0 straight into the face, 90 from the right. Common practice.
@pytest.mark.parametrize(
    ("text", "speed", "origin"),
    [
        ("Wind 4 m/s straight into the face all evening", "4 m/s", "0"),
        ("3 m/s a favor, por la espalda", "3 m/s", "180"),
        ("Vento contrario 3,5 m/s", "3,5 m/s", "0"),
        ("8 mph from the right, gusts 12 mph", "8 mph", "90"),
        ("10 miles per hour from behind", "10 miles per hour", "180"),
        ("4 m/s from left to right", "4 m/s", "270"),
        ("3 m/s into and from the left", "3 m/s", "315"),
        ("6 mph from 3 o'clock", "6 mph", "90"),
        ("8 mph", "8 mph", None),
        ("Headwind with 5 m/s, exactly from ahead", "5 m/s", "0"),
        ("Tailwind of 9 mph the whole session", "9 mph", "180"),
        ("5 m/s into the face for all shots", "5 m/s", "0"),
        ("Rückenwind mit 3 m/s, genau von hinten", "3 m/s", "180"),
        ("Seitenwind mit 3 m/s, genau von links", "3 m/s", "270"),
        ("Vent de 12 km/h venant de la droite", "12 km/h", "90"),
        ("Vent de face de 4 m/s", "4 m/s", "0"),
        ("Vento di 4 m/s proveniente da sinistra", "4 m/s", "270"),
        ("Viento de 4 m/s procedente de la izquierda", "4 m/s", "270"),
        ("Vento de 4 m/s vindo da direita", "4 m/s", "90"),
        ("Wind van 4 m/s, precies van rechts", "4 m/s", "90"),
        ("Vind med 4 m/s, exakt från vänster", "4 m/s", "270"),
        ("Vind på 4 m/s, præcis fra højre", "4 m/s", "90"),
    ],
)
def test_a_wind_is_read_in_the_words_of_a_sentence(
    text: str, speed: str, origin: str | None
) -> None:
    wind = wind_in(text)
    assert wind is not None
    assert (wind.speed, wind.origin) == (speed, origin)


@pytest.mark.parametrize("text", ["5 mph, quartering from left", "3 m/s from north-west"])
def test_a_direction_that_is_not_told_from_the_target_stays_open(text: str) -> None:
    wind = wind_in(text)
    assert wind is not None
    assert wind.origin is not None
    assert not wind.origin.isdigit()


def test_a_range_of_speeds_is_no_speed() -> None:
    assert wind_in("2-3 m/s headwind") is None
    assert wind_in("Wind picked up to 12 mph") is None


@pytest.mark.parametrize(
    ("text", "speed"),
    [
        ("Wind 8 mph (3.6 m/s)", "8 mph"),  # one speed in two units
        ("Wind 8 mph 3.6 m/s from the left", "8 mph"),
        ("Wind 3 m/s bis 5 m/s", None),
        ("Wind 5 m/s - 7 m/s", None),
        ("Vind från norr 4 m/s 4 m/s", "4 m/s"),
    ],
)
def test_two_speeds_without_a_mark_between_them_end_no_reading(
    text: str, speed: str | None
) -> None:
    wind = wind_in(text)
    assert (wind.speed if wind else None) == speed


@pytest.mark.parametrize(
    ("line", "origin"),
    [
        ("Wind from the left, 3 m/s", 270.0),
        ("Motvind 3 m/s, rakt emot. Lufttemperatur 12 °C.", 0.0),
        ("Vent : 3 m/s, de trois quarts arrière, venant de la gauche", 225.0),
        (
            "Wind: 3 m/s from 45 degrees (0 = in my face, 90 = from the right), hand anemometer",
            45.0,
        ),
        ("Wind 3 m/s aus 8 Uhr (12 Uhr = vom Ziel her, 3 Uhr = von rechts)", 240.0),
        ("Wind, from the weather report: 3 m/s headwind", 0.0),
        ("Vento 3 m/s, soffia da sinistra a destra, dal bollettino meteo (palo di 10 m)", 270.0),
        ("Tiempo: sol, 18 grados, viento de cara de 3 m/s", 0.0),
        ("Wind now: 3 m/s straight against", 0.0),
        ("Viento 3 m/s desde las 8 (las 12 = de cara), medido a mano en el tee", 240.0),
        ("Vento 3 m/s da ore 8 (ore 12 = in faccia)", 240.0),
        ("Vent 3 m/s venant de 50° (0° = de face, 90° = de la droite)", 50.0),
    ],
)
def test_a_line_tells_a_wind_whatever_else_it_says(
    tmp_path: Path, line: str, origin: float
) -> None:
    speeds, origins, _ = _shots(tmp_path, [line, "", HEAD, *(f"7 iron,{f}" for f in FLIGHTS)])
    assert speeds == [3.0] * len(FLIGHTS)
    assert origins == [origin] * len(FLIGHTS)


def test_half_from_behind_says_nothing_without_its_side(tmp_path: Path) -> None:
    path = tmp_path / "visit.csv"
    lines = ["Vent 3 m/s de trois quarts arrière", "", HEAD, *(f"7 iron,{f}" for f in FLIGHTS)]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    export = prepare_export(path)
    assert export.shots["wind_from_deg"].null_count() == len(FLIGHTS)
    assert any("de trois quarts" in str(remark) for remark in export.remarks)


def test_two_parts_of_one_speed_are_no_wind_in_two_units() -> None:
    wind = wind_in("Headwind 4 m/s, crosswind from the left 4 m/s")
    assert wind is not None
    assert float(wind.speed.split()[0]) == pytest.approx(4.0 * 2.0**0.5)
