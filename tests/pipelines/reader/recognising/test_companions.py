"""Columns that say something only together, read through whole exports."""

from __future__ import annotations

from pathlib import Path

import pytest
from rangeledger.pipelines.reader.prepare import prepare_export
from rangeledger.pipelines.reader.prepared_export import PreparedExport
from rangeledger.schemas.errors import ExportError

from tests.pipelines.reader.recognising.writing import clubs, launches, prepared, table

FLIGHTS = ("108.1,17.5,6100,149.2", "109.6,16.8,5900,151.8", "106.9,18.2,6300,147.0")
HEAD = "Club,Ball speed (mph),Launch angle (deg),Spin (rpm),Carry (yd)"


def read(folder: Path, lines: list[str]) -> PreparedExport:
    """An export of these lines, read."""
    path = folder / "visit.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return prepare_export(path)


def rows(*tails: str) -> list[str]:
    """Seven iron shots with something behind each."""
    return [f"7 iron,{flight},{tail}" for flight, tail in zip(FLIGHTS, tails, strict=True)]


def test_a_column_of_left_and_right_gives_the_side_of_the_column_before_it(tmp_path: Path) -> None:
    lines = [f"{HEAD},Miss (yd),Miss side", *rows("5.0,L", "2.0,R", "0.0,-")]
    export = read(tmp_path, lines)
    # 5 yd is 4.572 m by the definition of the yard (NIST SP 811).
    assert export.shots["carry_side_m"].to_list() == pytest.approx([-4.572, 1.8288, 0.0])
    assert any("on which side" in remark for remark in export.recognition.remarks)


def test_a_column_of_hands_gives_no_side(tmp_path: Path) -> None:
    lines = [f"{HEAD},Side (yd),Hand", *rows("5.0,L", "2.0,L", "1.0,L")]
    assert (read(tmp_path, lines).shots["carry_side_m"] > 0).all()


def test_first_and_last_name_make_one_player(tmp_path: Path) -> None:
    lines = [f"{HEAD},First name,Last name", *rows(*["Runa,Wexcombe"] * 3)]
    assert read(tmp_path, lines).shots["player"].unique().to_list() == ["Runa Wexcombe"]


def test_a_name_in_capitals_is_the_same_player(tmp_path: Path) -> None:
    lines = [f"{HEAD},Player", *rows("Runa Wexcombe", "RUNA WEXCOMBE", "runa wexcombe")]
    export = read(tmp_path, lines)
    assert export.shots["player"].unique().to_list() == ["Runa Wexcombe"]
    assert export.shots["session_id"].n_unique() == 1


def test_path_words_are_read_for_a_right_handed_player_with_a_remark(tmp_path: Path) -> None:
    lines = [f"{HEAD},Club path (deg)", *rows("3.0 in-out", "1.5 out-in", "0.0")]
    export = read(tmp_path, lines)
    assert export.shots["club_path_deg"].to_list() == [3.0, -1.5, 0.0]
    assert any("right-handed" in remark for remark in export.recognition.remarks)
    (tmp_path / "visit.toml").write_text('hand = "left"\n', encoding="utf-8")
    assert read(tmp_path, lines).shots["club_path_deg"].to_list() == [-3.0, 1.5, 0.0]


def test_a_column_of_unreadable_cells_is_left_aside_and_the_shots_are_kept(tmp_path: Path) -> None:
    lines = [f"{HEAD},Side (yd)", *rows("3 zork", "4 zork", "5 blim")]
    export = read(tmp_path, lines)
    assert export.shots.height == 3
    assert export.shots["carry_side_m"].null_count() == 3
    assert any("no numbers of its kind" in remark for remark in export.recognition.remarks)


def test_a_far_negative_placeholder_is_a_missing_value(tmp_path: Path) -> None:
    lines = [f"{HEAD},Side (yd)", *rows("-999", "4.0", "-5.0")]
    assert read(tmp_path, lines).shots["carry_side_m"].is_null().to_list() == [True, False, False]


def test_an_offline_angle_is_no_start_direction(tmp_path: Path) -> None:
    lines = [f"{HEAD},Offline angle (deg)", *rows("1.0", "4.0", "-5.0")]
    assert read(tmp_path, lines).shots["launch_direction_deg"].null_count() == 3


def test_a_single_club_named_on_the_first_line_holds_until_the_next(tmp_path: Path) -> None:
    head = "Ball speed (mph),Launch angle (deg),Spin (rpm),Carry (yd)"
    lines = ["7 iron", head, *FLIGHTS, "", "8 iron", head, *FLIGHTS[:2]]
    assert read(tmp_path, lines).shots["club"].to_list() == ["7-iron"] * 3 + ["8-iron"] * 2


def test_a_small_table_above_states_what_holds_for_all(tmp_path: Path) -> None:
    lines = ["Player,Date,Temp (C)", "Oriel Hask,2024-05-18,17.0", "", HEAD]
    export = read(tmp_path, [*lines, *(f"7 iron,{flight}" for flight in FLIGHTS)])
    assert export.shots["player"].to_list() == ["Oriel Hask"] * 3
    assert export.shots["air_temp_c"].to_list() == [17.0] * 3


def test_sizes_without_a_side_are_left_out_where_the_flights_show_both_sides(
    tmp_path: Path,
) -> None:
    # Start lines of 1 to 4 degrees at 140 m carry to 2 to 10 m beside the line.
    starts = (-4.0, 2.0, -1.0, 3.0, -3.0, 1.5, -2.0, 4.0)
    head = f"{HEAD},Launch direction (deg),Distance off line (yd)"
    shots = [f"7 iron,{FLIGHTS[0]},{s},{abs(s) * 2.6:.1f}" for s in starts]
    export = read(tmp_path, [head, *shots])
    assert export.shots["carry_side_m"].null_count() == len(starts)
    assert any("which way is positive" in remark for remark in export.recognition.remarks)
    signed = [f"7 iron,{FLIGHTS[0]},{s},{s * 2.6:.1f}" for s in starts]
    kept = read(tmp_path, [head, *signed]).shots["carry_side_m"]
    assert (kept < 0).to_list() == [s < 0 for s in starts]


@pytest.mark.parametrize("heading", ["Start (deg, negative = left)", "Start (deg)"])
def test_a_column_that_tells_left_from_right_is_a_direction(tmp_path: Path, heading: str) -> None:
    cells = ("1.4 R", "0.6 L", "2.0 L") if heading == "Start (deg)" else ("1.4", "-0.6", "-2.0")
    export = read(tmp_path, [f'{HEAD},"{heading}"', *rows(*cells)])
    assert export.shots["launch_direction_deg"].to_list() == [1.4, -0.6, -2.0]
    assert export.shots["launch_angle_deg"].to_list() == [17.5, 16.8, 18.2]


def test_a_start_on_both_sides_of_zero_beside_a_launch_is_the_direction(tmp_path: Path) -> None:
    export = read(tmp_path, [f"{HEAD},Start (deg)", *rows("1.4", "-0.6", "-2.0")])
    assert export.shots["launch_direction_deg"].to_list() == [1.4, -0.6, -2.0]


def test_a_landing_with_left_and_right_in_its_cells_is_a_side(tmp_path: Path) -> None:
    head = f"{HEAD},Landing (yd)"
    sides = read(tmp_path, [head, *rows("6.1 L", "2.0 R", "0.4 L")]).shots["carry_side_m"]
    assert sides.to_list() == pytest.approx([-6.1 * 0.9144, 2.0 * 0.9144, -0.4 * 0.9144])


@pytest.mark.parametrize("head", ["Iron no.", "Eisen Nr.", "Fer n°"])
def test_a_heading_may_say_the_kind_of_all_clubs(tmp_path: Path, head: str) -> None:
    lines = [
        head + HEAD.removeprefix("Club"),
        *(f"{n},{f}" for n, f in zip("579", FLIGHTS, strict=True)),
    ]
    assert read(tmp_path, lines).shots["club"].to_list() == ["5-iron", "7-iron", "9-iron"]


@pytest.mark.parametrize(
    ("heading", "column", "sign"),
    [
        ("Club path (+ = in-out) (deg)", "club_path_deg", 1.0),
        ("Path, out-in positive (deg)", "club_path_deg", -1.0),
        ("Face (deg; closed +)", "face_angle_deg", -1.0),
        ("Spin axis (deg, fade + / draw -)", "spin_axis_deg", 1.0),
    ],
)
@pytest.mark.parametrize("hand", ["right", "left"])
def test_a_heading_that_counts_open_or_in_out_as_positive_follows_the_hand(
    tmp_path: Path, heading: str, column: str, sign: float, hand: str
) -> None:
    lines = [f"Hand: {hand}", "", f'{HEAD},"{heading}"', *rows("3.0", "-1.5", "0.5")]
    turned = -sign if hand == "left" else sign
    values = read(tmp_path, lines).shots[column].to_list()
    assert values == [turned * 3.0, turned * -1.5, turned * 0.5]


def test_a_sign_stated_for_one_column_is_not_that_of_another(tmp_path: Path) -> None:
    head = f"{HEAD},Start direction (deg),Side (yd)"
    lines = ["Side: right is positive", "Start direction: left is positive", "", head]
    shots = read(tmp_path, [*lines, *rows("1.0,-3.0", "-2.0,6.0", "0.5,-1.0")]).shots
    assert shots["launch_direction_deg"].to_list() == [-1.0, 2.0, -0.5]
    assert (shots["carry_side_m"] > 0).to_list() == [False, True, False]
    all_left = ["All directions: left positive", "", head, *rows("1.0,3.0", "-2.0,-6.0", "0.5,1.0")]
    shots = read(tmp_path, all_left).shots
    assert shots["launch_direction_deg"].to_list() == [-1.0, 2.0, -0.5]
    assert (shots["carry_side_m"] > 0).to_list() == [False, True, False]


@pytest.mark.parametrize("line", ["Handedness: right", "Handedness: left"])
def test_push_and_pull_follow_the_hand(tmp_path: Path, line: str) -> None:
    lines = [line, "", f"{HEAD},Start line (deg)", *rows("3.0 push", "1.5 pull", "0.0")]
    sign = -1.0 if line.endswith("left") else 1.0
    values = read(tmp_path, lines).shots["launch_direction_deg"].to_list()
    assert values == [sign * 3.0, -sign * 1.5, 0.0]


@pytest.mark.parametrize(
    "line",
    ["Player: Runa Wexcombe (left-handed)", "Handedness: left", "Händigkeit: Linkshänder"],
)
def test_a_hand_above_the_table_says_which_side_open_and_closed_are(
    tmp_path: Path, line: str
) -> None:
    lines = [line, "", f"{HEAD},Club path (deg)", *rows("3.0 in-out", "1.5 out-in", "0.0")]
    export = read(tmp_path, lines)
    assert export.shots["club_path_deg"].to_list() == [-3.0, 1.5, 0.0]
    assert set(export.shots["player"]) <= {"Runa Wexcombe", "unknown"}


def test_a_hand_in_the_rows_holds_for_its_row(tmp_path: Path) -> None:
    lines = [f"{HEAD},Face (deg),Hand", *rows("3.0 open,L", "1.5 open,R", "0.5 closed,L")]
    assert read(tmp_path, lines).shots["face_angle_deg"].to_list() == [-3.0, 1.5, 0.5]


def test_cells_in_another_unit_than_the_heading_keep_theirs(tmp_path: Path) -> None:
    lines = [f"{HEAD},Side (yd)", *rows("5.0", "-2.0 m", "1.0")]
    # 1 yd is 0.9144 m by its definition (NIST SP 811).
    sides = read(tmp_path, lines).shots["carry_side_m"].to_list()
    assert sides == pytest.approx([4.572, -2.0, 0.9144])


def test_a_club_speed_that_outruns_the_ball_is_in_another_unit(tmp_path: Path) -> None:
    lines = [f"{HEAD},Club speed", *rows("129", "131", "128")]
    assert read(tmp_path, lines).shots["clubhead_speed_mps"].null_count() == 3


def test_a_row_of_zeros_is_no_shot(tmp_path: Path) -> None:
    head, *shots = [HEAD, *rows("", "", "")]
    zeros = ",".join(["7 iron", *["0"] * (head.count(","))])
    export = read(tmp_path, [head, *(shot.rstrip(",") for shot in shots), zeros])
    assert export.rejected["reason_code"].to_list() == ["no-measurement"]


def test_a_clock_that_passes_midnight_goes_on_to_the_day_after_the_one_above(
    tmp_path: Path,
) -> None:
    clocks = rows("23:58:00", "23:59:30", "00:01:00")
    export = read(tmp_path, ["Date: 2026-03-04", "", f"{HEAD},Time", *clocks])
    assert export.shots["struck_at"].diff().dt.total_seconds().to_list()[1:] == [90, 90]
    assert export.shots["session_id"].n_unique() <= 2


def test_number_and_kind_of_a_club_may_stand_in_two_columns(tmp_path: Path) -> None:
    head = HEAD.replace("Club", "No.,Type")
    pairs = ["7,Iron", "7,Iron", ",Driver"]
    shots = [f"{pair},{flight}" for pair, flight in zip(pairs, FLIGHTS, strict=True)]
    clubs = read(tmp_path, [head, *shots]).shots["club"].to_list()
    assert clubs == ["7-iron", "7-iron", "driver"]


def test_a_number_that_counts_the_shots_is_none_of_a_club(tmp_path: Path) -> None:
    head = HEAD.replace("Club", "No.,Club")
    shots = [f"{k},Iron,{flight}" for k, flight in enumerate(FLIGHTS, 5)]
    assert set(read(tmp_path, [head, *shots]).shots["club"]) == {"iron"}


def test_a_wind_with_its_side_in_every_row(tmp_path: Path) -> None:
    lines = [f"{HEAD},Wind", *rows("8 mph headwind", "3 m/s from the left", "calm")]
    shots = read(tmp_path, lines).shots
    # 1 mph is 0.44704 m/s exactly (NIST SP 811).
    assert shots["wind_speed_mps"].to_list() == pytest.approx([3.57632, 3.0, 0.0])
    assert shots["wind_from_deg"].to_list() == [0.0, 270.0, None]


@pytest.mark.parametrize("above", [[], ["UTC offset: -05:00", ""]])
def test_an_offset_from_utc_beside_the_times_holds_for_them(
    tmp_path: Path, above: list[str]
) -> None:
    cells = [f"2026-03-04,10:0{k}:00{'' if above else ',-05:00'}" for k in range(3)]
    head = f"{HEAD},Date,Time{'' if above else ',UTC offset'}"
    struck = read(tmp_path, [*above, head, *rows(*cells)]).shots["struck_at"]
    assert struck.dt.hour().to_list() == [15, 15, 15]


@pytest.mark.parametrize(
    ("above", "heading", "hour"),
    [
        ("Time zone: America/New_York", "Time", 15),  # UTC-5 in winter, tz database
        ("All times are UTC", "Time", 10),
        ("Zeiten in UTC+1", "Time", 9),
        ("Visit", "Time (UTC)", 10),
        ("Visit", "Time (CET)", 9),  # an hour before UTC, tz database
    ],
)
def test_a_zone_that_the_export_states_holds_for_its_times(
    tmp_path: Path, above: str, heading: str, hour: int
) -> None:
    cells = [f"2026-03-04,10:0{k}:00" for k in range(3)]
    lines = [above, "", f"{HEAD},Date,{heading}", *rows(*cells)]
    assert read(tmp_path, lines).shots["struck_at"].dt.hour().to_list() == [hour] * 3


def test_a_list_of_clubs_is_none_of_shots(tmp_path: Path) -> None:
    lines = ["Club,Loft (deg),Carry (yd)", "Driver,10.5,240", "7 Iron,32,155", "PW,45,120"]
    with pytest.raises(ExportError) as refused:
        read(tmp_path, lines)
    assert refused.value.code == "averages-only"


@pytest.mark.parametrize(
    ("heading", "cell", "day"),
    [
        ("Date (dd/mm/yyyy)", "03/04/2026", "2026-04-03"),
        ("Date (MM/DD/YYYY)", "03/04/2026", "2026-03-04"),
        ("Datum (TT.MM.JJ)", "03.04.26", "2026-04-03"),
        ("UTC", "2026-03-04 10:00:00", "2026-03-04"),
    ],
)
def test_a_heading_says_how_its_dates_are_written(
    tmp_path: Path, heading: str, cell: str, day: str
) -> None:
    export = read(tmp_path, [f"{HEAD},{heading}", *rows(*[cell] * 3)])
    assert export.shots["struck_at"].dt.date().to_list()[0].isoformat() == day
    assert export.shots["swing"].to_list() == ["full"] * 3


def test_the_names_of_tables_are_no_words_of_headings(tmp_path: Path) -> None:
    flights = launches(14)
    text = table({
        "p.full_name": ["Tamsin Orrelle"] * 7 + ["Wendel Askby"] * 7, "c.label": clubs(14),
        "m.ball_speed_mps": flights["ball_speed_mps"],
        "m.launch_angle_deg": flights["launch_angle_deg"], "m.carry_m": flights["carry_m"],
    })  # fmt: skip
    export = prepared(tmp_path, text)
    assert export.shots.height == 14
    for name in ("ball_speed_mps", "launch_angle_deg", "carry_m"):
        assert export.shots[name].null_count() == 0
    assert export.shots["player"].n_unique() == 2


def test_two_names_in_turn_above_shots_are_the_players(tmp_path: Path) -> None:
    flights = launches(14)
    lines = table({
        "club": clubs(14), "ball speed (m/s)": flights["ball_speed_mps"],
        "launch (deg)": flights["launch_angle_deg"], "carry (m)": flights["carry_m"],
    }).splitlines()  # fmt: skip
    named = [lines[0], "Tamsin Orrelle", *lines[1:8], "Wendel Askby", *lines[8:]]
    export = prepared(tmp_path, "\n".join(named) + "\n")
    assert export.shots["player"].to_list() == ["Tamsin Orrelle"] * 7 + ["Wendel Askby"] * 7
    alone = [lines[0], *lines[1:8], "Tamsin Orrelle", *lines[8:]]
    assert set(prepared(tmp_path, "\n".join(alone) + "\n").shots["player"]) == {"unknown"}


def test_a_lone_mark_of_quotation_repeats_the_club_above(tmp_path: Path) -> None:
    flights = launches(14)
    text = table({
        "club": [c if k in (0, 7) else '"' for k, c in enumerate(clubs(14))],
        "ball speed (m/s)": flights["ball_speed_mps"],
        "launch (deg)": flights["launch_angle_deg"], "carry (m)": flights["carry_m"],
    }, delimiter="\t")  # fmt: skip
    export = prepared(tmp_path, text)
    assert export.shots["club"].to_list() == ["7-iron"] * 7 + ["driver"] * 7
    assert export.shots["carry_m"].to_list() == pytest.approx(flights["carry_m"].tolist(), abs=0.01)
