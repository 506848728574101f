"""Where tables begin, and which lines are no shots."""

from __future__ import annotations

from pathlib import Path

import pytest
from rangeledger.pipelines.reader.recognising.words.facts import statements_in
from rangeledger.schemas.errors import ExportError

from tests.pipelines.reader.recognising.writing import clubs, launches, prepared, table

HEAD = ["Club", "Ball velocity (m/s)", "Take-off (°)", "Carry (m)"]
ROWS = ["7 Iron,48.0,17.5,137.9", "7 Iron,47.2,18.0,135.0", "7 Iron,48.9,17.0,141.0"]


def text_of(*lines: str) -> str:
    return "\n".join(lines) + "\n"


def test_lines_above_the_table_speak_for_all_shots(tmp_path: Path) -> None:
    text = text_of(
        "Practice sheet",
        "Golfer: Ann Breck",
        "Temperature: 59 °F",
        "Altitude: 817 m",
        "",
        ",".join(HEAD),
        *ROWS,
    )
    shots = prepared(tmp_path, text).shots
    assert shots["player"].unique().to_list() == ["Ann Breck"]
    assert shots["air_temp_c"][0] == pytest.approx(15.0)  # (59 - 32) / 1.8, NIST SP 811
    assert shots["altitude_m"].unique().to_list() == [817.0]
    assert shots["source_row"].to_list() == [7, 8, 9]


def test_the_height_of_the_place_says_nothing_about_the_columns(tmp_path: Path) -> None:
    text = text_of("Altitude 817 m", "Club,Carry", *(f"Driver,{c}" for c in (230.1, 225.4, 219.9)))
    with pytest.raises(ExportError) as refusal:
        prepared(tmp_path, text)
    assert refusal.value.code == "unclear-units"


def test_a_line_on_units_speaks_for_the_columns(tmp_path: Path) -> None:
    text = text_of(
        "Distances in yards", "Club,Carry", "Driver,230.1", "Driver,225.4", "Driver,219.9"
    )
    assert prepared(tmp_path, text).shots["carry_m"][0] == pytest.approx(230.1 * 0.9144)


def test_units_in_the_cells_of_a_line_are_no_heading(tmp_path: Path) -> None:
    text = text_of(
        "Units: speed m/s,distance m,angle deg", "Club,Ball velocity,Take-off,Carry", *ROWS
    )
    assert prepared(tmp_path, text).shots["carry_m"].to_list() == [137.9, 135.0, 141.0]


def test_what_has_no_unit_of_its_own_shares_the_next_one() -> None:
    stated = {(s.kind, s.unit) for s in statements_in("Distances and heights in metres", 1)}
    assert stated == {("length", "m"), ("height", "m")}


def test_feet_beside_yards_without_further_words_are_of_heights() -> None:
    stated = {(s.kind, s.unit) for s in statements_in("Units: imperial (mph, yards, feet)", 1)}
    assert stated == {("speed", "mph"), ("length", "yd"), ("height", "ft")}


def test_short_headings_are_read_by_the_legend_above_them(tmp_path: Path) -> None:
    text = text_of(
        "C = club; BS = ball speed (m/s)",
        "LA = launch angle (deg); CD = carry distance (m)",
        "C,BS,LA,CD",
        *ROWS,
    )
    assert prepared(tmp_path, text).shots["carry_m"].to_list() == [137.9, 135.0, 141.0]


def test_a_running_number_before_the_first_heading_moves_the_headings(tmp_path: Path) -> None:
    text = text_of(",".join(HEAD), *(f"{k},{row}" for k, row in enumerate(ROWS, 1)))
    shots = prepared(tmp_path, text).shots
    assert shots["carry_m"].to_list() == [137.9, 135.0, 141.0]
    assert shots["club"].unique().to_list() == ["7-iron"]
    numbered = text_of(",".join(["Shot", *HEAD]), *(f"{k},{r},ok" for k, r in enumerate(ROWS, 1)))
    with pytest.raises(ExportError, match="the rows below it don't"):
        prepared(tmp_path, numbered)


def test_group_lines_name_the_club_of_the_shots_below(tmp_path: Path) -> None:
    rows = [",".join(row.split(",")[1:]) for row in ROWS]
    text = text_of(
        ",".join(HEAD[1:]),
        "Club: 7 Iron",
        *rows,
        "",
        "Club: 8 Iron",
        *rows,
    )
    shots = prepared(tmp_path, text).shots
    assert shots["club"].to_list() == ["7-iron"] * 3 + ["8-iron"] * 3


def test_a_heading_repeated_midway_is_no_shot(tmp_path: Path) -> None:
    later = ["7 Iron,47.5,18.1,136.0", "7 Iron,46.4,17.9,132.0", "7 Iron,48.3,17.2,138.9"]
    text = text_of(",".join(HEAD), *ROWS, "", ",".join(HEAD), *later)
    export = prepared(tmp_path, text)
    assert export.shots["source_row"].to_list() == [2, 3, 4, 7, 8, 9]
    assert export.rejected.height == 0


def test_two_blocks_with_other_columns_are_both_read(tmp_path: Path) -> None:
    second = "Player,Club,Launch speed (mph),Vertical launch (°),Distance in the air (yd)"
    text = text_of(
        ",".join(HEAD), *ROWS, "", second, "Bo Ek,PW,88.0,25.0,111.0", "Bo Ek,PW,89.1,24.6,112.9"
    )
    shots = prepared(tmp_path, text).shots
    assert shots["player"].to_list() == ["unknown"] * 3 + ["Bo Ek"] * 2
    assert shots["ball_speed_mps"][3] == pytest.approx(88.0 * 0.44704)


@pytest.mark.parametrize("word", ["Average", "Mittelwert", "Moyenne", "Promedio", "Medel", "SD"])
def test_rows_that_sum_up_are_no_shots(tmp_path: Path, word: str) -> None:
    export = prepared(tmp_path, text_of(",".join(HEAD), *ROWS, f"{word},48.0,17.5,138.0"))
    assert export.shots.height == 3
    assert export.rejected.height == 0


def test_a_mean_without_a_word_is_found_by_arithmetic(tmp_path: Path) -> None:
    text = text_of(",".join(HEAD), *ROWS, ",48.0,17.5,138.0")
    export = prepared(tmp_path, text)
    assert export.shots.height == 3
    assert export.other_lines["taken_for"].to_list().count("summary") == 1


def test_a_row_with_too_few_or_too_many_cells_is_rejected(tmp_path: Path) -> None:
    text = text_of(
        ",".join(HEAD), *ROWS, "7 Iron,48.0", "7 Iron,48,0,17.5,138.0", ROWS[0].replace("48", "47")
    )
    export = prepared(tmp_path, text)
    assert export.rejected["source_row"].to_list() == [5, 6]
    assert set(export.rejected["reason_code"]) == {"ragged-row"}


def test_units_in_a_row_of_their_own(tmp_path: Path) -> None:
    text = text_of(
        "Stick,Ball speed,Launch angle,Flown",
        ",mph,deg,yards",
        "PW,88.0,25.0,111.0",
        "PW,89,24,112",
    )
    assert prepared(tmp_path, text).shots["carry_m"][0] == pytest.approx(111.0 * 0.9144)


def test_shots_that_stand_in_columns_are_turned(tmp_path: Path) -> None:
    rows = [["No.", *map(str, range(1, 4))]]
    rows += [list(column) for column in zip(HEAD, *(row.split(",") for row in ROWS), strict=True)]
    shots = prepared(tmp_path, text_of(*(";".join(row) for row in rows))).shots
    assert shots["carry_m"].to_list() == [137.9, 135.0, 141.0]
    assert shots["shot_id"].n_unique() == 3


def test_every_record_is_a_shot_a_reject_or_another_line(tmp_path: Path) -> None:
    flights = launches()
    text = table(
        {
            "Club": clubs(),
            "Ball speed (m/s)": flights["ball_speed_mps"],
            "Launch angle (°)": flights["launch_angle_deg"],
            "Spin (rpm)": flights["spin_rate_rpm"],
            "Carry (m)": flights["carry_m"],
        }
    )
    text += "Driver,999.0,11.0,2500,210\n\nMean,57,14,4300,180\nDriver,60\n"
    export = prepared(tmp_path, text)
    assert export.shots.height + export.rejected.height + export.other_lines.height == 19


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("Club,Ball speed (mph),Carry (yd)\n", "no-shots"),
        ("Fruit,Pieces,Price\npear,3,0.40\nplum,9,0.15\n", "not-an-export"),
        ("Club,Shots,Average carry (yd)\nPW,12,111.0\n8i,9,140.2\n", "averages-only"),
        ("Club,Shots,Carry (yd)\nPW,12,111.0\n8i,9,140.2\n", "averages-only"),
        ("Club,Ball speed (mph),Carry (yd)\n1,PW,88,111\n2,PW,89,112\n", "unclear-columns"),
        ("Ball speed (mph),Launch angle (°),Carry (yd)\n88,25,111\n89,24,112\n", "unclear-columns"),
    ],
)
def test_what_holds_no_shots_is_refused_with_its_reason(
    tmp_path: Path, text: str, code: str
) -> None:
    with pytest.raises(ExportError) as refusal:
        prepared(tmp_path, text)
    assert refusal.value.code == code
