"""Lines that are no shots, columns that are left out, and what a refusal offers, in whole files."""

from __future__ import annotations

from pathlib import Path
from zoneinfo import ZoneInfo

import polars as pl
import pytest
from rangeledger.pipelines.reader.prepare import prepare_export
from rangeledger.pipelines.reader.prepared_export import PreparedExport
from rangeledger.schemas.errors import ExportError

from tests.pipelines.reader.recognising.writing import clubs, launches, prepared, table

HEAD = "Club,Ball speed (mph),Launch angle (deg),Spin (rpm),Carry (yd)"
FLIGHTS = (
    "108.1,17.5,6100,149.2",
    "109.6,16.8,5900,151.8",
    "106.9,18.2,6300,147.0",
    "107.4,17.1,6000,148.3",
)
SHOTS = [f"7 iron,{flight}" for flight in FLIGHTS]


def read(folder: Path, lines: list[str]) -> PreparedExport:
    """An export of these lines, read."""
    path = folder / "visit.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return prepare_export(path, zone=ZoneInfo("Europe/Berlin"))


def local_day(struck: pl.Series) -> str:
    """The day of the first shot where it was struck."""
    return str(struck.dt.convert_time_zone("Europe/Berlin").dt.date()[0])


@pytest.mark.parametrize(
    "row",
    [
        "Slowest,106.9,16.8,5900,147.0",  # the least of each column
        "Quickest,109.6,18.2,6300,151.8",  # the greatest
        "Central,107.75,17.30,6050,148.75",  # the median
        "Wobble,1.17,0.61,170.8,2.03",  # the deviation with n - 1
    ],
)
def test_a_row_under_an_unknown_label_that_is_a_statistic_is_no_shot(
    tmp_path: Path, row: str
) -> None:
    export = read(tmp_path, [HEAD, *SHOTS, row])
    assert export.shots.height == 4
    assert export.other_lines["taken_for"][-1] == "summary"


@pytest.mark.parametrize("own", ["ginty", "stock", "mallet", "practice club"])
def test_an_own_club_name_in_a_single_row_stays_a_shot(tmp_path: Path, own: str) -> None:
    export = read(tmp_path, [HEAD, *SHOTS, f"{own},120.3,14.2,4800,170.1"])
    assert export.shots["club"].to_list()[-1] == own


@pytest.mark.parametrize(
    "label",
    [
        "7 iron SD",
        "Kleinster Wert",
        "plus grande valeur",
        "P90",
        "7 iron (n=4) std dev",
        "All clubs",
        "Target",
        "Goal",
        "Ziel",
        "Tour reference",
        "Session best",
        "Previous session",
    ],
)
def test_words_for_statistics_are_known(tmp_path: Path, label: str) -> None:
    assert read(tmp_path, [HEAD, *SHOTS, f"{label},1,2,3,4"]).shots.height == 4


@pytest.mark.parametrize(
    ("heads", "row", "tail"),
    [
        (",Remark", "thin, low, ok", ""),  # a remark in the last column that holds the delimiter
        (",", "ok", ""),  # a last column without a heading
    ],
)
def test_what_stands_behind_the_measured_columns_costs_no_shot(
    tmp_path: Path, heads: str, row: str, tail: str
) -> None:
    shots = [f"{shot},{row}" for shot in SHOTS]
    export = read(tmp_path, [f"{HEAD}{heads}", *shots, tail])
    assert (export.shots.height, export.rejected.height) == (4, 0)


def test_a_remark_that_is_a_number_shows_that_the_row_slipped(tmp_path: Path) -> None:
    slipped = "7 iron,108,1,17.5,6100,149.2,thin"
    export = read(tmp_path, [f"{HEAD},Remark", *(f"{shot},ok" for shot in SHOTS), slipped, ""])
    assert export.rejected["source_row"].to_list() == [6]


def test_a_sign_stated_below_the_shots_holds_for_them(tmp_path: Path) -> None:
    shots = [f"{shot},{side}" for shot, side in zip(SHOTS, (3.1, -2.0, 4.4, -6.0), strict=True)]
    lines = [f"{HEAD},Side (yd)", *shots, "", "Sides: positive = left of target"]
    sides = read(tmp_path, lines).shots["carry_side_m"]
    assert (sides < 0).to_list() == [True, False, True, False]


def test_a_heading_may_begin_with_the_time_in_utc(tmp_path: Path) -> None:
    lines = [f"Time (UTC),{HEAD}", *(f"2025-01-28 19:4{k}:00,{s}" for k, s in enumerate(SHOTS))]
    assert str(read(tmp_path, lines).shots["struck_at"][0]) == "2025-01-28 19:40:00+00:00"


@pytest.mark.parametrize(
    ("head", "cells", "first"),
    [
        ("Date,Time", [f"20250614,14300{k}" for k in range(4)], "2025-06-14 12:30:00+00:00"),
        ("Date,Time", [f"20250614,9300{k}" for k in range(4)], "2025-06-14 07:30:00+00:00"),
        ("Date,Klockan", [f"2025-03-27,9.0{k}" for k in range(4)], "2025-03-27 08:00:00+00:00"),
        ("t_unix", [str(1733043600 + 45 * k) for k in range(4)], "2024-12-01 09:00:00+00:00"),
        ("Date serial", [f"45903.{k}" for k in range(5, 9)], "2025-09-03 10:00:00+00:00"),
    ],
)
def test_times_without_marks(tmp_path: Path, head: str, cells: list[str], first: str) -> None:
    lines = [f"{head},{HEAD}", *(f"{c},{s}" for c, s in zip(cells, SHOTS, strict=True))]
    assert str(read(tmp_path, lines).shots["struck_at"][0]) == first


@pytest.mark.parametrize("line", ["Date of birth: 1984-04-02", "Report date: 2025-07-01"])
def test_another_date_above_the_table_is_not_that_of_the_shots(tmp_path: Path, line: str) -> None:
    assert read(tmp_path, [line, "", HEAD, *SHOTS]).shots["struck_at"].null_count() == 4


def test_of_a_local_time_and_the_same_in_utc_the_latter_holds(tmp_path: Path) -> None:
    times = [f"2025-03-27 22:0{k}:00,2025-03-27 13:0{k}:00" for k in range(4)]
    rows = [f"{time},{shot}" for time, shot in zip(times, SHOTS, strict=True)]
    shots = read(tmp_path, [f"Local time,UTC time,{HEAD}", *rows]).shots
    assert str(shots["struck_at"][0]) == "2025-03-27 13:00:00+00:00"


def test_clubs_below_the_shots_are_no_shots(tmp_path: Path) -> None:
    clubs = ["", "Club,Loft (deg),Length (in)", "Driver,10.5,45.5", "7 iron,33,37"]
    assert read(tmp_path, [HEAD, *SHOTS, *clubs]).shots.height == 4


def test_two_tables_of_the_same_shots_are_not_twice_as_many(tmp_path: Path) -> None:
    clubs = [f"{k},7 iron,{80 + k},-3.{k},1.{k}" for k in range(1, 5)]
    balls = [f"{k},{shot}" for k, shot in enumerate(SHOTS, 1)]
    head = "Shot,Club,Club speed (mph),Attack angle (deg),Club path (deg)"
    with pytest.raises(ExportError, match="same shots"):
        read(tmp_path, [head, *clubs, "", f"Shot,{HEAD}", *balls])


def test_signs_that_change_from_block_to_block_are_asked_about(tmp_path: Path) -> None:
    first = [f"{shot},{side}" for shot, side in zip(SHOTS, (3, -2, 5, -1), strict=True)]
    head = f"{HEAD},Side (yd)"
    with pytest.raises(ExportError, match="contradict each other"):
        read(tmp_path, ["Left positive", head, *first, "", "Right positive", *first])


def test_a_club_much_faster_than_its_ball_is_left_out(tmp_path: Path) -> None:
    shots = [f"{shot},{150 + k}" for k, shot in enumerate(SHOTS)]
    export = read(tmp_path, [f"{HEAD},Club speed (mph)", *shots])
    assert export.shots.height == 4
    assert export.shots["clubhead_speed_mps"].null_count() == 4


@pytest.mark.parametrize("mark", ["”", "ditto", "〃"])
def test_a_ditto_stands_for_the_club_above(tmp_path: Path, mark: str) -> None:
    rows = [SHOTS[0], *(f"{mark},{flight}" for flight in FLIGHTS[1:])]
    assert set(read(tmp_path, [HEAD, *rows]).shots["club"]) == {"7-iron"}


def test_numbers_that_count_on_by_one_are_no_times(tmp_path: Path) -> None:
    lines = [f"Batch,{HEAD}", *(f"{1733043600 + k},{s}" for k, s in enumerate(SHOTS))]
    assert read(tmp_path, lines).shots["struck_at"].null_count() == 4


def test_decimal_numbers_are_no_players(tmp_path: Path) -> None:
    shots = [f"{shot},{k}.25" for k, shot in enumerate(SHOTS)]
    assert set(read(tmp_path, [f"{HEAD},Elev", *shots]).shots["player"]) == {"unknown"}


def test_a_row_without_numbers_among_shots_is_rejected_with_a_reason(tmp_path: Path) -> None:
    export = read(tmp_path, [HEAD, *SHOTS[:2], "@@@,???,,,", *SHOTS[2:]])
    assert export.rejected["source_row"].to_list() == [4]
    assert export.rejected["reason_code"].to_list() == ["not-a-shot"]


def test_a_wind_without_a_unit_is_left_out_with_a_remark(tmp_path: Path) -> None:
    export = read(tmp_path, [f"{HEAD},Wind", *(f"{shot},5" for shot in SHOTS)])
    assert export.shots["wind_speed_mps"].null_count() == 4
    assert any("its unit can't be told" in remark for remark in export.recognition.remarks)
    assert export.shots["extras"][0] == '{"Wind":"5"}'


def test_a_future_date_is_remarked_on(tmp_path: Path) -> None:
    export = read(tmp_path, [f"{HEAD},Date", *(f"{shot},2099-04-20" for shot in SHOTS)])
    assert any("2099-04-20" in remark for remark in export.recognition.remarks)


def _refusal(folder: Path, lines: list[str]) -> ExportError:
    with pytest.raises(ExportError) as refusal:
        read(folder, lines)
    return refusal.value


def test_a_table_of_averages_is_called_so(tmp_path: Path) -> None:
    lines = ["Club,Shots,Average carry (yd),Spread of carry (yd)", "Driver,96,268.1,9.7"]
    assert _refusal(tmp_path, lines).code == "averages-only"


def test_two_columns_get_a_mapping_to_fill_in(tmp_path: Path) -> None:
    mapping = _refusal(tmp_path, ["Club,Distance", "7 Iron,150", "Driver,230"]).mapping
    assert mapping is not None
    assert 'column = "carry_m"' in mapping
    assert "yd, m, ft" in mapping


def test_a_proposal_names_the_unit_that_fits_best(tmp_path: Path) -> None:
    shots = [f"7 iron,{flight.replace(',', ';')}".replace(",", ";") for flight in FLIGHTS]
    head = "Schläger;Ballgeschwindigkeit;Abflugwinkel;Spin;Carry"
    mapping = _refusal(tmp_path, [head, *shots]).mapping
    assert mapping is not None
    assert 'unit = "yd"' in mapping or 'unit = "m"' in mapping


@pytest.mark.parametrize(
    ("title", "day"),
    [
        ("Practice visit of 18 May 2024", "2024-05-18"),
        ("Séance du 06/06/2024", "2024-06-06"),
        ("Report printed on 18 May 2024", None),
    ],
)
def test_a_title_that_names_a_visit_gives_its_day(
    tmp_path: Path, title: str, day: str | None
) -> None:
    struck = read(tmp_path, [title, "", HEAD, *SHOTS]).shots["struck_at"]
    assert struck.null_count() == (4 if day is None else 0)
    assert day is None or local_day(struck) == day


def test_headings_may_be_numbered(tmp_path: Path) -> None:
    head = "1 Club,2 Ball speed (mph),3 Launch angle (deg),4 Spin (rpm),5 Carry (yd)"
    # 149.2 yd is 136.42848 m by the definition of the yard (NIST SP 811).
    assert read(tmp_path, [head, *SHOTS]).shots["carry_m"][0] == pytest.approx(136.42848)


def test_a_deviation_under_an_odd_label_where_shots_are_numbered_is_no_shot(
    tmp_path: Path,
) -> None:
    head = "Nr.,Ball speed (mph),Launch angle (deg),Spin (rpm),Carry (yd)"
    numbered = [f"{k},{flight}" for k, flight in enumerate(FLIGHTS, 1)]
    lines = ["Schläger: Eisen 7", head, *numbered, "s,1.17,0.61,170.8,2.03"]
    assert read(tmp_path, lines).shots.height == 4


@pytest.mark.parametrize(
    ("heading", "cells"),
    [
        ("Valid", ["yes", "no", "yes", "yes"]),
        ("Gelöscht", ["nein", "ja", "nein", "nein"]),
        ("Deleted", ["", "x", "", ""]),
        ("Giltig", ["1", "0", "1", "1"]),
        ("Status", ["ok", "deleted", "ok", "ok"]),
    ],
)
def test_a_shot_that_the_export_marks_as_not_counting_is_rejected(
    tmp_path: Path, heading: str, cells: list[str]
) -> None:
    rows = [f"{shot},{cell}" for shot, cell in zip(SHOTS, cells, strict=True)]
    export = read(tmp_path, [f"{HEAD},{heading}", *rows])
    assert export.rejected["source_row"].to_list() == [3]
    assert heading in export.rejected["reason"][0]


def test_a_mark_on_every_shot_drops_none(tmp_path: Path) -> None:
    export = read(tmp_path, [f"{HEAD},Valid", *(f"{shot},0" for shot in SHOTS)])
    assert export.shots.height == 4


def test_only_summary_rows_are_averages(tmp_path: Path) -> None:
    with pytest.raises(ExportError) as refused:
        read(tmp_path, [HEAD, "Average,108.0,17.4,6075,149.1", "SD,1.2,0.6,170.8,2.0"])
    assert refused.value.code == "averages-only"


@pytest.mark.parametrize(
    "below",
    [
        ["Club,Shots,Average carry (yd)", "7 iron,4,149.1", "Driver,9,230.0"],
        ["Summary", HEAD, "7 iron,108.0,17.4,6075,149.1", "Driver,150.1,11.0,2400,231.0"],
        ["Putts", "Length (ft),Ball speed (mph)", "5,3.1", "8,4.0", "12,4.9"],
    ],
)
def test_a_table_without_shots_below_them_keeps_none_from_loading(
    tmp_path: Path, below: list[str]
) -> None:
    assert read(tmp_path, [HEAD, *SHOTS, "", *below]).shots.height == 4


def test_an_angle_without_further_words_is_the_launch_where_the_carries_follow_from_it(
    tmp_path: Path,
) -> None:
    drives = ["Driver,150.2,10.9,2500,235.1", "Driver,148.0,11.8,2600,231.0"]
    lines = [HEAD.replace("Launch angle", "Angle"), *SHOTS, *drives]
    assert read(tmp_path, lines).shots["launch_angle_deg"].to_list()[:2] == [17.5, 16.8]
    steep = [",".join([*row.split(",")[:2], "47.1", *row.split(",")[3:]]) for row in lines[1:]]
    assert read(tmp_path, [lines[0], *steep]).shots["launch_angle_deg"].null_count() == 6


@pytest.mark.parametrize(
    ("line", "column", "value"),
    [
        # 1 ft is 0.3048 m exactly (NIST SP 811); 72 °F is (72 - 32) / 1.8 °C.
        ("Altitude: 1,250 ft", "altitude_m", 381.0),
        ("Altitude (ft),1,250", "altitude_m", 381.0),
        ("Altitude: 1.250 m", "altitude_m", 1250.0),
        ("Air: 72 F", "air_temp_c", 22.2222),
        ("Temperatur: 14 grader", "air_temp_c", 14.0),
        ("Temperature: 17,5 °C", "air_temp_c", 17.5),
        ("Temperature: 61 degrees", "air_temp_c", None),
    ],
)
def test_numbers_above_a_table_are_read_as_people_write_them(
    tmp_path: Path, line: str, column: str, value: float | None
) -> None:
    found = read(tmp_path, [line, "", HEAD, *SHOTS]).shots[column][0]
    assert found == (None if value is None else pytest.approx(value, abs=1e-4))


@pytest.mark.parametrize(
    ("heading", "cell", "degrees"),
    [
        ("Wind from", "ahead", 0.0),
        ("Wind from", "left", 270.0),
        ("Wind direction", "helping", 180.0),
        ("Wind direction", "left", None),
    ],
)
def test_a_column_says_in_words_where_the_wind_comes_from(
    tmp_path: Path, heading: str, cell: str, degrees: float | None
) -> None:
    export = read(tmp_path, [f"{HEAD},Wind (mph),{heading}", *(f"{s},8,{cell}" for s in SHOTS)])
    assert export.shots["wind_from_deg"][0] == degrees


@pytest.mark.parametrize(
    ("cell", "day"), [("04.03.26", "2026-03-04"), ("2026-W14-6", "2026-04-04")]
)
def test_short_dates_and_dates_of_the_week_are_days(tmp_path: Path, cell: str, day: str) -> None:
    export = read(tmp_path, [f"{HEAD},Date", *(f"{shot},{cell}" for shot in SHOTS)])
    assert local_day(export.shots["struck_at"]) == day


def test_a_player_named_once_above_the_shots_holds_for_all(tmp_path: Path) -> None:
    players = ["Ada Brook", "", "Bo Dahl", ""]
    rows = [f"{shot},{player}" for shot, player in zip(SHOTS, players, strict=True)]
    export = read(tmp_path, [f"{HEAD},Player", *rows])
    assert export.shots["player"].to_list() == ["Ada Brook", "Ada Brook", "Bo Dahl", "Bo Dahl"]


def test_a_mean_is_found_where_units_stand_in_the_cells(tmp_path: Path) -> None:
    head = "Club,Ball speed,Launch angle,Spin,Carry"
    cells = [flight.split(",") for flight in FLIGHTS]
    shots = [f"7 iron,{b} mph,{a} deg,{s} rpm,{c} yd" for b, a, s, c in cells]
    assert read(tmp_path, [head, *shots, "Central,108.00,17.40,6075,149.08"]).shots.height == 4


def test_the_hours_of_swings_say_nothing_about_the_decimal_mark(tmp_path: Path) -> None:
    head = "Klubba;Armläge;Bollhastighet (km/h);Startvinkel (grader);Spinn (rpm);Carry (m)"
    shots = ["Järn 7;kl 7.30;120,5;18,2;4.567;75,5", "Järn 7;kl 9;150,5;17,2;5.567;105,5"]
    export = read(tmp_path, [head, *shots])
    assert export.shots["spin_rate_rpm"].to_list() == [4567.0, 5567.0]
    assert export.shots["swing"].to_list() == ["7:30", "9:00"]


@pytest.mark.parametrize(
    "lines",
    [
        ["Averages per club", "", HEAD, SHOTS[0], "Driver,150.1,11.0,2400,231.0"],
        [HEAD, "Mittelwerte je Schläger", SHOTS[0], "Driver,150.1,11.0,2400,231.0"],
    ],
)
def test_a_title_of_averages_over_a_row_a_club_is_believed(
    tmp_path: Path, lines: list[str]
) -> None:
    with pytest.raises(ExportError) as refused:
        read(tmp_path, lines)
    assert refused.value.code == "averages-only"


def test_shots_of_one_club_under_such_a_title_stay_shots(tmp_path: Path) -> None:
    assert read(tmp_path, ["Session summary", "", HEAD, *SHOTS]).shots.height == 4


def test_means_below_a_line_that_says_so_without_a_heading_are_no_shots(tmp_path: Path) -> None:
    below = ["Club,Mean,,,", "7 iron,108.0,17.4,6075,149.1", "Driver,150.1,11.0,2400,231.0"]
    assert read(tmp_path, [HEAD, *SHOTS, *below]).shots.height == 4


def test_three_carries_that_differ_are_asked_about(tmp_path: Path) -> None:
    lines = ["Club,Carry (yd),Carry (yd),Carry (yd)", "Driver,230,231,230", "7 iron,148,149,151"]
    assert _refusal(tmp_path, lines).code == "unclear-columns"


def test_a_carry_told_twice_in_two_units_is_one(tmp_path: Path) -> None:
    # 149.2 yd is 136.4 m by the definition of the yard (NIST SP 811).
    metres = ("136.4", "138.8", "134.4", "135.6")
    rows = [f"{shot},{m}" for shot, m in zip(SHOTS, metres, strict=True)]
    assert read(tmp_path, [f"{HEAD},Carry (m)", *rows]).shots.height == 4


@pytest.mark.parametrize(
    "title",
    [
        "Training auf der Übungswiese, Eisen 7", "Allenamento in campo pratica, Ferro 7",
        "Treino de Leonor Sardoal, ferro 7", "Träning på rangen, järn 7",
        "Bay 3 - 7 iron - 12 shots", "Club under test: 7 iron", "Entraînement au fer 7",
        "7 iron fitting - all shots with the 7 iron",
    ],
)  # fmt: skip
def test_a_title_names_the_club_of_shots_that_name_none(tmp_path: Path, title: str) -> None:
    flights = launches()
    text = table({
        "Ball speed (m/s)": flights["ball_speed_mps"][:7],
        "Launch (deg)": flights["launch_angle_deg"][:7],
        "Spin (rpm)": flights["spin_rate_rpm"][:7], "Carry (m)": flights["carry_m"][:7],
    }, delimiter="\t")  # fmt: skip
    assert set(prepared(tmp_path, f"{title}\n\n{text}").shots["club"]) == {"7-iron"}


@pytest.mark.parametrize(
    "title", ["Comparison 7 iron vs 8 iron", "Range, 7 iron, 8 iron", "Best of 7", "Next, 7 iron"]
)
def test_a_title_of_two_clubs_or_of_another_day_names_none(tmp_path: Path, title: str) -> None:
    flights = launches()
    text = table({
        "Ball speed (m/s)": flights["ball_speed_mps"][:7],
        "Launch (deg)": flights["launch_angle_deg"][:7], "Carry (m)": flights["carry_m"][:7],
    }, delimiter="\t")  # fmt: skip
    with pytest.raises(ExportError, match="which club"):
        prepared(tmp_path, f"{title}\n\n{text}")


def test_that_a_title_names_the_club_is_told(tmp_path: Path) -> None:
    flights = launches()
    text = table({
        "Ball speed (m/s)": flights["ball_speed_mps"][:7],
        "Launch (deg)": flights["launch_angle_deg"][:7], "Carry (m)": flights["carry_m"][:7],
    }, delimiter="\t")  # fmt: skip
    export = prepared(tmp_path, f"Training on the range, 7 iron\n\n{text}")
    assert "7 iron" in str(export.recognition.constants.get("club"))


def test_symbols_explained_in_one_line_head_no_table(tmp_path: Path) -> None:
    flights = launches()
    text = table({
        "club": clubs(), "v [m/s]": flights["ball_speed_mps"],
        "a [deg]": flights["launch_angle_deg"],
        "s [rpm]": flights["spin_rate_rpm"], "R [m]": flights["carry_m"],
    })  # fmt: skip
    line = "v = ball speed,a = launch angle,s = total spin,R = carry"
    assert prepared(tmp_path, f"{line}\n{text}").shots["carry_m"].null_count() == 0
