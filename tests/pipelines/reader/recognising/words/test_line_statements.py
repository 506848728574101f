"""Lines beside a table in whole files: days, players, conditions, and what is not taken."""

from __future__ import annotations

from pathlib import Path

import pytest
from rangeledger.pipelines.reader.prepare import prepare_export
from rangeledger.pipelines.reader.recognising.words.conditions_in_text import club_in_title
from rangeledger.pipelines.reader.recognising.words.line_statements import statement_of_line
from rangeledger.schemas.clubs import club_of
from rangeledger.schemas.errors import ExportError

from tests.pipelines.reader.recognising.lines.test_lines_and_refusals import (
    HEAD,
    SHOTS,
    local_day,
    read,
)


@pytest.mark.parametrize(
    "line",
    [
        "Date: Monday, 18 May 2026", "Played on 18 May 2026", "Practice session, 18 May 2026",
        "18 May 2026", "Schläge vom 18. Mai 2026", "Datum: måndagen den 18 maj 2026",
        "Player: Ada Brook | Date: 18 May 2026",
    ],
)  # fmt: skip
def test_the_day_of_a_line_above_is_that_of_the_shots(tmp_path: Path, line: str) -> None:
    assert local_day(read(tmp_path, [line, "", HEAD, *SHOTS]).shots["struck_at"]) == "2026-05-18"


@pytest.mark.parametrize(
    "line",
    [
        "Printed 19 May 2026", "Exported on 2026-05-19", "Date of birth: 18 May 1986",
        "Next lesson: 25 May 2026", "Druckdatum: 19.05.2026", "Utskriven 2026-05-19",
        "Calibration date: 18 May 2026",
    ],
)  # fmt: skip
def test_another_day_is_not_that_of_the_shots(tmp_path: Path, line: str) -> None:
    assert read(tmp_path, [line, "", HEAD, *SHOTS]).shots["struck_at"].null_count() == 4


@pytest.mark.parametrize(
    "line", ["Session 18-20 May 2026", "Practice of 18 May", "Bay hire: 18 May 2026"]
)
def test_a_day_that_is_not_understood_is_told(tmp_path: Path, line: str) -> None:
    export = read(tmp_path, [line, "", HEAD, *SHOTS])
    assert export.shots["struck_at"].null_count() == 4
    assert any("Line 1" in remark for remark in export.recognition.remarks)


def test_two_keys_with_two_days_are_refused_with_both_places(tmp_path: Path) -> None:
    lines = ["Date: 18 May 2026", "Session date: 19 May 2026", "", HEAD, *SHOTS]
    with pytest.raises(ExportError, match=r"line 1.*line 2") as refused:
        read(tmp_path, lines)
    assert refused.value.code == "unclear-times"


def test_each_section_has_its_day_and_its_player(tmp_path: Path) -> None:
    lines = [HEAD, "Ada Brook's session, 18 May 2026", *SHOTS[:2]]
    lines += ["Bram Ostervik's session, 19 May 2026", *SHOTS[2:]]
    shots = read(tmp_path, lines).shots
    assert shots["player"].to_list() == ["Ada Brook", "Ada Brook", "Bram Ostervik", "Bram Ostervik"]
    assert shots["struck_at"].dt.day().to_list() == [18, 18, 19, 19]


@pytest.mark.parametrize(
    ("lines", "column", "value"),
    [
        (["Off the mat"], "surface", "mat"),
        (["All shots with range balls"], "ball", "range"),
        (["9 o'clock swings"], "swing", "9:00"),
        (["Swing: 9:00"], "swing", "9:00"),
        (["Weather: sunny, 17 °C"], "air_temp_c", 17.0),
        (["No wind"], "wind_speed_mps", 0.0),
    ],
)
def test_words_without_a_key_state_what_they_say(
    tmp_path: Path, lines: list[str], column: str, value: str | float
) -> None:
    assert read(tmp_path, [*lines, "", HEAD, *SHOTS]).shots[column].to_list() == [value] * 4


@pytest.mark.parametrize("line", ["Practice", "Fairway", "Tee", "Range", "Premium range, Alder"])
def test_a_title_that_may_mean_other_things_states_nothing(tmp_path: Path, line: str) -> None:
    shots = read(tmp_path, [line, "", HEAD, *SHOTS]).shots
    assert set(shots["ball"]) | set(shots["surface"]) == {"unknown"}


def test_a_key_goes_before_words_without_one() -> None:
    statement = statement_of_line(["Player: Ada Brook / Coach: Bram Ostervik"], 3)
    assert [(f.column, f.text) for f in statement.facts] == [("player", "Ada Brook")]
    statement = statement_of_line(["Date: 18 May 2026", "14:30"], 3)
    assert [f.text for f in statement.facts] == ["2026-05-18", "14:30"]


@pytest.mark.parametrize(
    ("line", "stated"),
    [
        (
            "Vento contrario 3,5 m/s; aria 14 °C; tappetino; palline da campo pratica",
            {"wind_speed_mps": "3,5 m/s", "wind_from_deg": "0", "air_temp_c": "14 °C",
             "surface": "mat", "ball": "range"},
        ),
        ("Range balls. Wind 6 mph from 3 o'clock; 12 o'clock would be in the player's face.",
         {"ball": "range", "wind_speed_mps": "6 mph", "wind_from_deg": "90"}),
        ("Short game corner: off the grass, with our premium balls",
         {"surface": "grass", "ball": "premium"}),
        ("Off: mat", {"surface": "mat"}),
        ("Bälle: Rangebälle ab Matte", {"ball": "Rangebälle ab Matte", "surface": "mat"}),
        ("Bay diary. Player: Ada Brook", {"player": "Ada Brook"}),
        ("BAY 3 - Ada Brook", {"player": "Ada Brook"}),
        ("Bahn 12: Ada Brook", {"player": "Ada Brook"}),
        ("Customer: Ada Brook", {"player": "Ada Brook"}),
        ("Left-handed: his draw turns to the right", {"hand": "left"}),
        ("Pupil: Ada Brook (plays left-handed)",
         {"player": "Ada Brook (plays left-handed)", "hand": "left"}),
        ("Range balls for the warm-up, then premium balls", {}),
        ("Wind picked up to 12 mph", {}),
    ],
)  # fmt: skip
def test_a_line_states_players_balls_and_the_weather(line: str, stated: dict[str, str]) -> None:
    assert {fact.column: fact.text for fact in statement_of_line([line], 1).facts} == stated


# Station pressures and heights: SI and NIST SP 811 factors; wordings: common practice, no source.
@pytest.mark.parametrize(
    ("line", "column", "value"),
    [
        ("Temperature: about 17 °C", "air_temp_c", 17.0),
        ("Altitude: 350 m asl", "altitude_m", 350.0),
        ("Elevation: 1250 ft above sea level", "altitude_m", 381.0),
        ("Höhe über Meer: 350 m ü. M.", "altitude_m", 350.0),
        ("Humidity: 64", "humidity_pct", 64.0),
        ("Pressure: 29.92 in", "air_pressure_hpa", 29.92 * 33.86389),
        ("Lufttryck på platsen: 998 hPa", "air_pressure_hpa", 998.0),
        ("Pressure: 1013 hPa (sea level)", "air_pressure_hpa", None),
        ("MSL pressure: 1013 hPa", "air_pressure_hpa", None),
        ("Luftdruck (auf Meereshöhe): 1018 hPa", "air_pressure_hpa", None),
        ("QNH: 1013 hPa", "air_pressure_hpa", None),
        ("Wind from: left", "wind_from_deg", 270.0),
        ("Wind direction: from the right", "wind_from_deg", 90.0),
        ("Wind: 5 mph gusting 9 mph", "wind_speed_mps", 5 * 0.44704),
    ],
)
def test_the_air_is_read_as_people_write_it(
    tmp_path: Path, line: str, column: str, value: float | None
) -> None:
    found = read(tmp_path, [line, "", HEAD, *SHOTS]).shots[column].unique().to_list()
    assert found == [value if value is None else pytest.approx(value)]


def test_a_pressure_of_sea_level_is_told(tmp_path: Path) -> None:
    export = read(tmp_path, ["Pressure: 1013 hPa (QNH)", "", HEAD, *SHOTS])
    assert any("sea level" in str(remark) for remark in export.remarks)


@pytest.mark.parametrize(
    ("line", "monitor", "height"),
    [
        ("Measured with: overhead camera", "overhead camera", None),
        ("Device: BX-4", "BX-4", None),
        ("Wind at 2 m: 3 m/s from the left", "unknown", "player"),
        ("Wind (hand-held): 3 m/s headwind", "unknown", "player"),
        ("Wind: 3 m/s headwind, weather station", "unknown", "weather"),
        ("Bay: 4", "unknown", None),
    ],
)
def test_what_measured_is_read_from_a_line(
    tmp_path: Path, line: str, monitor: str, height: str | None
) -> None:
    shots = read(tmp_path, [line, "", HEAD, *SHOTS]).shots
    assert shots["monitor"].unique().to_list() == [monitor]
    assert shots["wind_height"].unique().to_list() == [height]


def test_a_heading_may_explain_how_a_wind_is_counted(tmp_path: Path) -> None:
    head = f'{HEAD},Wind speed (mph),"Wind from (deg; 0 in the face, 90 from the right)"'
    shots = read(tmp_path, [head, *(f"{shot},8,30" for shot in SHOTS)]).shots
    assert shots["wind_from_deg"].unique().to_list() == [30.0]
    other = head.replace("90 from the right", "90 from the left")
    shots = read(tmp_path, [other, *(f"{shot},8,30" for shot in SHOTS)]).shots
    assert shots["wind_from_deg"].unique().to_list() == [330.0]


def test_a_device_column_names_the_monitor(tmp_path: Path) -> None:
    shots = read(tmp_path, [f"{HEAD},Device", *(f"{shot},BX-4" for shot in SHOTS)]).shots
    assert shots["monitor"].unique().to_list() == ["BX-4"]


@pytest.mark.parametrize("straight", ["straight", "0 on line", "gerade", "0.0 recto"])
def test_a_ball_that_went_straight_lies_on_the_line(tmp_path: Path, straight: str) -> None:
    sides = ["3 right", straight, *(["2 left"] * (len(SHOTS) - 2))]
    rows = [f"{shot},{side}" for shot, side in zip(SHOTS, sides, strict=True)]
    export = read(tmp_path, [f"{HEAD},Side (yd)", *rows])
    assert export.rejected.height == 0
    assert export.shots["carry_side_m"][1] == 0.0


def test_a_title_parted_by_its_comma_is_no_heading(tmp_path: Path) -> None:
    line = "Short game corner: off the grass, with our premium balls"
    shots = read(tmp_path, [line, HEAD, *SHOTS]).shots
    assert shots.select("ball", "surface").unique().rows() == [("premium", "grass")]


GROUPED = ["{0},,", "1,150,110", "2,152,111", "3,149,109.5", "{1},,", "4,140,105", "5,142,106",
           "6,139,104.5"]  # fmt: skip


@pytest.mark.parametrize(
    ("title", "club"), [("Zwack 4", "zwack 4"), ("Set 2", "7-iron"), ("felt tired", "7-iron")]
)
def test_a_title_written_like_a_club_ends_the_club_before_it(
    tmp_path: Path, title: str, club: str
) -> None:
    rows = [row.format("7 iron", title) for row in GROUPED]
    shots = read(tmp_path, ["No,Carry (yd),Ball speed (mph)", *rows]).shots
    assert shots["club"].to_list() == ["7-iron"] * 3 + [club] * 3


@pytest.mark.parametrize("lines", [["Putting practice", ""], []])
def test_a_table_of_putts_is_of_the_putter(tmp_path: Path, lines: list[str]) -> None:
    head = "Putt,Distance (ft),Start direction (deg),Ball speed (mph)"
    rows = ["1,10,0.5,4.1", "2,10,-0.7,4.2", "3,12,0.2,4.6", "4,8,1.1,3.9"]
    shots = read(tmp_path, [*lines, head, *rows]).shots
    assert shots["club"].unique().to_list() == ["putter"]
    assert shots["carry_m"].null_count() == 4


@pytest.mark.parametrize("day", ["2026-05-18", "2026-05-19"])
def test_a_note_on_another_day_than_the_export_is_refused(tmp_path: Path, day: str) -> None:
    path = tmp_path / "visit.csv"
    path.write_text("\n".join(["Date: 18 May 2026", "", HEAD, *SHOTS]), encoding="utf-8")
    path.with_suffix(".toml").write_text(f"date = {day}\n", encoding="utf-8")
    if day == "2026-05-18":
        assert prepare_export(path).shots.height == len(SHOTS)
        return
    with pytest.raises(ExportError, match=r"2026-05-19.*line 1.*2026-05-18"):
        prepare_export(path)


@pytest.mark.parametrize(
    "line",
    [
        "Saturday, 8 November 2025: 9 °C, range balls",
        "Samstag, 8. November 2025: 9 °C, Rangebälle",
        "8 November 2025: range balls, 9 °C",
    ],
)  # fmt: skip
def test_a_day_may_stand_as_the_key_of_its_conditions(line: str) -> None:
    stated = {fact.column: fact.text for fact in statement_of_line([line], 1).facts}
    assert stated["date"] == "2025-11-08"
    assert "9" in stated["air_temp_c"]
    assert stated["ball"] == "range"


@pytest.mark.parametrize(
    "line",
    [
        "Sheet: 5 iron", "Page: 5-iron", "Tab: 5 iron", "Blatt: Eisen 5", "Tabelle: Eisen 5",
    ],
)  # fmt: skip
def test_a_sheet_may_bear_the_name_of_its_club(line: str) -> None:
    facts = [fact for fact in statement_of_line([line], 1).facts if fact.column == "club"]
    assert [club_of(fact.text).name for fact in facts] == ["5-iron"]


@pytest.mark.parametrize(
    "line",
    [
        "Course calibration of the wedges, 18 May 2026", "On-course calibration, 5th, 18 May 2026",
        "Kalibrierung auf dem Platz, 18. Mai 2026", "Étalonnage sur le parcours, 18 mai 2026",
        "Taratura sul campo, 18 maggio 2026", "Calibración en el campo, 18 de mayo de 2026",
        "Calibração no campo, 18 de maio de 2026", "Kalibratie op de baan, 18 mei 2026",
        "Kalibrering på banan, 18 maj 2026", "Kalibrering på banen 18. maj 2026",
        "Junior morning, bay 2, 18 May 2026", "Wedge ladder, Corin Vale, 18 May 2026",
    ],
)  # fmt: skip
@pytest.mark.parametrize("parted", [False, True])
def test_a_title_gives_its_day_whole_or_parted(line: str, parted: bool) -> None:
    cells = line.split(", ") if parted else [line]
    facts = {fact.column: fact.text for fact in statement_of_line(cells, 1).facts}
    assert facts == {"date": "2026-05-18"}


@pytest.mark.parametrize(
    "line",
    [
        "Converted 2024-11-02 from the old records", "imported on 2 November 2024",
        "konvertiert am 02.11.2024", "converti le 2 novembre 2024", "convertito il 2 novembre 2024",
        "convertido el 2 de noviembre de 2024", "convertido em 2 de novembro de 2024",
        "omgezet op 2 november 2024", "konverterad 2024-11-02", "konverteret 2. november 2024",
    ],
)  # fmt: skip
def test_the_day_of_a_conversion_is_not_that_of_the_shots(line: str) -> None:
    assert not statement_of_line([line], 1).facts


@pytest.mark.parametrize(
    ("value", "stated"),
    [
        ("5 m/s into the face, measured with the hand anemometer by the mat", "0"),
        ("5 m/s from the left, by hand", "270"),
        ("5 m/s from the left, by hand, later from the right", None),
    ],
)
def test_where_a_wind_was_measured_hides_no_direction(value: str, stated: str | None) -> None:
    facts = {fact.column: fact.text for fact in statement_of_line([f"Wind: {value}"], 1).facts}
    assert facts["wind_height"] == "player"
    origin = facts.get("wind_from_deg", "")
    assert origin == stated if stated else not origin.isdigit()


@pytest.mark.parametrize("swing", ["9:00", "10:30", "7:30"])
def test_a_clock_beside_the_word_for_a_swing_is_no_time_of_day(tmp_path: Path, swing: str) -> None:
    head = HEAD.partition(",")[2]
    rows = ["45.6,29.8,7420,39.5", "46.3,31.4,7356,41.4", "45.6,29.4,7091,39.3"]
    export = read(tmp_path, [head, f"52 degree wedge - {swing} swing", *rows])
    assert set(export.shots["swing"]) == {swing}
    assert set(export.shots["club"]) == {"52-wedge"}


@pytest.mark.parametrize("line", ["-- player says: feels lighter --", "Player felt: much better"])
def test_what_a_player_says_is_no_name(line: str) -> None:
    assert [fact for fact in statement_of_line([line], 1).facts if fact.column == "player"] == []


@pytest.mark.parametrize(
    ("line", "column", "value"),
    [
        ("Filter: Club = Driver", "club", "Driver"),
        ("Selection: Player = Tamsin Orrelle", "player", "Tamsin Orrelle"),
        ("Wind direction: 180° (helping)", "wind_from_deg", "180"),
        ("Wind direction: 0 deg, headwind", "wind_from_deg", "0"),
    ],
)
def test_what_stands_within_a_value_is_heard(line: str, column: str, value: str) -> None:
    stated = {fact.column: fact.text for fact in statement_of_line([line], 1).facts}
    assert stated.get(column) == value


def test_a_goal_of_another_pair_states_nothing() -> None:
    assert not statement_of_line(["Goal: Player = as calm as Ada"], 1).facts


@pytest.mark.parametrize(
    ("title", "club"),
    [
        ("7 iron, before and after the lesson", "7-iron"),
        ("7 iron, better than the 5 iron", None),
    ],
)
def test_a_title_names_the_club_that_stands_first_and_alone(title: str, club: str | None) -> None:
    named = club_in_title(title)
    assert (club_of(named).name if named else None) == club


def test_a_club_asks_for_no_club() -> None:
    assert not statement_of_line(["7 iron", "before the lesson"], 1).facts


def test_the_subject_of_a_letter_is_no_player() -> None:
    assert not statement_of_line(["Subject: my numbers from yesterday"], 1).facts
    named = statement_of_line(["Subject: Hedda Quillane"], 1).facts
    assert [fact.text for fact in named] == ["Hedda Quillane"]


@pytest.mark.parametrize(
    ("cells", "column", "text"),
    [
        (["Väder: -2 °C, medvind 4 m/s"], "air_temp_c", "-2 °C"),
        (["-3 °C"], "air_temp_c", "-3 °C"),
        (["Temperatura", "22,5", "°C"], "air_temp_c", "22,5 °C"),
        (["Altitud", "650", "m"], "altitude_m", "650 m"),
        (["Posição 7h30"], "swing", "7h30"),
        (["52°, Schwunglänge 9:00 Uhr"], "swing", "9:00"),
        (["Position 10:30"], "swing", "10:30"),
    ],
)
def test_signs_units_and_swings_of_a_line_are_kept(
    cells: list[str], column: str, text: str
) -> None:
    facts = {fact.column: fact.text for fact in statement_of_line(cells, 1).facts}
    assert facts.get(column) == text
