"""Rows that a column of words calls no shots, and tables whose rows count shots."""

from __future__ import annotations

from pathlib import Path

import pytest
from rangeledger.schemas.errors import ExportError

from tests.pipelines.reader.recognising.writing import clubs, launches, prepared, table

HEAD = "Club,Club speed (mph),Ball speed (mph),Launch angle (deg),Spin (rpm),Carry (yd)"
FLIGHTS = ("79.1,108.1,17.5,6100,149.2", "80.0,109.6,16.8,5900,151.8", "78.2,106.9,18.2,6300,147.0")
SHOTS = [f"7 iron,{flight}" for flight in FLIGHTS]


@pytest.mark.parametrize(
    ("heading", "words"),
    [
        ("Type", ["shot", "practice swing", "shot"]),
        ("Art", ["Schlag", "Probeschwung", "Schlag"]),
        ("Kind", ["measured", "normalised", "measured"]),
        ("Row", ["shot", "ideal", "shot"]),
        ("Status", ["ok", "void", "mishit"]),
        ("Removed by player", ["false", "true", "false"]),
        ("Statut", ["ok", "annulé", "top"]),
        ("Type", ["ball", "practice swing (no ball)", "ball"]),
        ("Origin", ["player", "simulated (demo mode)", "player"]),
        ("Herkunft", ["Spieler", "simuliert", "Spieler"]),
        ("Quelle", ["Schlag", "Demomodus", "Schlag"]),
        ("Source", ["coup", "simulé", "coup"]),
        ("Origen", ["golpe", "modo demo", "golpe"]),
        ("Tipo", ["colpo", "swing a vuoto", "colpo"]),
        ("Bron", ["slag", "gesimuleerd", "slag"]),
        ("Tipo", ["tacada", "swing sem bola", "tacada"]),
        ("Typ", ["slag", "torrsving", "slag"]),
        ("Type", ["slag", "simuleret", "slag"]),
    ],
)
def test_a_row_that_is_called_no_shot_is_rejected(
    tmp_path: Path, heading: str, words: list[str]
) -> None:
    lines = [
        f"{HEAD},{heading}",
        *(f"{shot},{word}" for shot, word in zip(SHOTS, words, strict=True)),
    ]
    export = prepared(tmp_path, "\n".join(lines))
    assert export.shots["source_row"].to_list() == [2, 4]
    assert words[1] in export.rejected["reason"][0]


def test_normalised_shots_alone_are_what_the_export_has(tmp_path: Path) -> None:
    lines = [f"{HEAD},Kind", *(f"{shot},normalised" for shot in SHOTS)]
    assert prepared(tmp_path, "\n".join(lines)).shots.height == 3


@pytest.mark.parametrize("counts", [(25, 31, 20), (15, 15, 12)])
@pytest.mark.parametrize("heading", ["Shots", "n", "Schläge"])
def test_rows_that_stand_for_many_shots_are_averages(
    tmp_path: Path, heading: str, counts: tuple[int, ...]
) -> None:
    lines = [f"{HEAD},{heading}", *(f"{s},{n}" for s, n in zip(SHOTS, counts, strict=True))]
    with pytest.raises(ExportError) as refused:
        prepared(tmp_path, "\n".join(lines))
    assert refused.value.code == "averages-only"


@pytest.mark.parametrize("counts", [(1, 2, 3), (3, 3, 3), (41, 42, 43)])
def test_a_running_count_or_that_of_the_visit_keeps_the_shots(
    tmp_path: Path, counts: tuple[int, ...]
) -> None:
    lines = [f"{HEAD},Shots", *(f"{s},{n}" for s, n in zip(SHOTS, counts, strict=True))]
    assert prepared(tmp_path, "\n".join(lines)).shots.height == 3


@pytest.mark.parametrize("label", ["Target", "Objetivo", "Soll", "Mål", "med"])
def test_a_label_where_shots_bear_their_number_is_no_shot(tmp_path: Path, label: str) -> None:
    rows = [f"{label},7 iron,79.0,108.3,17.4,6050,149.9"]
    rows += [f"{k},{shot}" for k, shot in enumerate(SHOTS, 1)]
    assert prepared(tmp_path, "\n".join([f"Shot,{HEAD}", *rows])).shots.height == 3


@pytest.mark.parametrize("club", ["7 iron (deleted)", "7 iron [Probeschwung]"])
def test_a_club_may_say_in_brackets_that_the_shot_does_not_count(tmp_path: Path, club: str) -> None:
    lines = [HEAD, SHOTS[0], f"{club},{FLIGHTS[1]}", SHOTS[2]]
    assert prepared(tmp_path, "\n".join(lines)).shots["source_row"].to_list() == [2, 4]


def test_headings_may_be_names_with_a_number(tmp_path: Path) -> None:
    names = ",".join(f"A{k}" for k in range(1, 8))
    lines = [f"{HEAD},{names}", *(f"{shot},1,2,3,4,5,6,7" for shot in SHOTS)]
    assert prepared(tmp_path, "\n".join(lines)).shots.height == 3


def test_a_day_that_stands_once_holds_for_the_times_below_it(tmp_path: Path) -> None:
    days = ["30 Jul 2024", "", "31 Jul 2024"]
    lines = [f"Date,Time,{HEAD}"]
    lines += [f"{d},18:0{k}:00,{s}" for k, (d, s) in enumerate(zip(days, SHOTS, strict=True))]
    lines.insert(3, f",18:09:00,{SHOTS[0]}")
    shots = prepared(tmp_path, "\n".join(lines)).shots
    assert [t.day for t in shots["struck_at"]] == [30, 30, 30, 31]


def metric_twin(kmh_a_mph: float) -> list[str]:
    """The shots, and the same in metric units; a yard is 0.9144 m (NIST SP 811)."""
    again = ["Carry (m),Spin (rpm),Ball speed (km/h),Launch angle (deg),Club"]
    for shot in SHOTS:
        club, _, ball, launch, spin, carry = shot.split(",")
        metric = f"{float(carry) * 0.9144:.1f},{spin},{float(ball) * kmh_a_mph:.1f}"
        again.append(f"{metric},{launch},{club}")
    return [HEAD, *SHOTS, "", "The same in metric units", *again]


def test_a_table_that_gives_the_shots_again_in_other_units_adds_none(tmp_path: Path) -> None:
    # A mile is 1.609344 km (NIST SP 811).
    assert prepared(tmp_path, "\n".join(metric_twin(1.609344))).shots.height == 3


def test_the_shots_again_with_another_speed_are_refused(tmp_path: Path) -> None:
    with pytest.raises(ExportError, match="with other values for ball_speed_mps"):
        prepared(tmp_path, "\n".join(metric_twin(1.7)))


@pytest.mark.parametrize("heads", ["Carry from (yd),Carry to (yd)", "Carry von (m),Carry bis (m)"])
def test_bands_of_distances_are_no_shots(tmp_path: Path, heads: str) -> None:
    lines = [f"Club,{heads},Share (%)", "7 iron,140,145,12", "7 iron,145,150,31"]
    with pytest.raises(ExportError) as refused:
        prepared(tmp_path, "\n".join(lines))
    assert refused.value.code == "averages-only"


def test_a_reckoned_row_beside_the_measured_one_is_no_shot_of_its_own(tmp_path: Path) -> None:
    twins = [f"{shot},{word}" for shot in SHOTS for word in ("measured", "simulated")]
    shots = prepared(tmp_path, "\n".join([f"{HEAD},Source", *twins])).shots
    assert shots["source_row"].to_list() == [2, 4, 6]


def test_the_best_shot_of_each_day_is_no_list_of_shots(tmp_path: Path) -> None:
    lines = ["Day,Club,Longest carry (yd),Ball speed of it (mph)"]
    lines += ["2025-05-01,Driver,251,151.2", "2025-05-02,Driver,247,150.1"]
    with pytest.raises(ExportError) as refused:
        prepared(tmp_path, "\n".join(lines))
    assert refused.value.code == "averages-only"


@pytest.mark.parametrize(
    "title",
    [
        "Model table: usual carries (computed by simulation; no ball was hit)",
        "DEMO MODE - simulated shots, no ball struck",
        "Monte Carlo draws for one player. Simulated, not measured.",
    ],
)
def test_a_clause_of_a_title_may_say_that_nobody_struck_a_ball(tmp_path: Path, title: str) -> None:
    with pytest.raises(ExportError) as refused:
        prepared(tmp_path, "\n".join([title, HEAD, *SHOTS]))
    assert refused.value.code == "no-shots"


def test_a_word_for_simulated_in_each_row_leaves_no_shot(tmp_path: Path) -> None:
    with pytest.raises(ExportError) as refused:
        prepared(tmp_path, "\n".join([f"{HEAD},Origin", *(f"{s},simulated" for s in SHOTS)]))
    assert refused.value.code == "all-rejected"


def test_simulated_flights_of_balls_that_were_struck_stay(tmp_path: Path) -> None:
    lines = [f"{HEAD},Carry source", *(f"{shot},simulated" for shot in SHOTS)]
    assert prepared(tmp_path, "\n".join(lines)).shots.height == 3


def test_headings_that_call_the_launch_simulated_head_no_shots(tmp_path: Path) -> None:
    head = HEAD.replace("Ball", "Simulated ball").replace("Launch", "Simulated launch")
    with pytest.raises(ExportError) as refused:
        prepared(tmp_path, "\n".join([head, *SHOTS]))
    assert refused.value.code == "no-shots"


def test_a_plan_without_results_holds_no_shots(tmp_path: Path) -> None:
    lines = ["Order,Club,Ball speed (m/s),Launch angle (deg),Carry (m)"]
    lines += [f"{k},{club},,," for k, club in enumerate(("driver", "7 iron", "driver"), 1)]
    with pytest.raises(ExportError) as refused:
        prepared(tmp_path, "\n".join(lines))
    assert refused.value.code == "no-shots"


def test_statistics_in_a_column_that_counts_shots_are_no_shots(tmp_path: Path) -> None:
    head = "Ball,Club,Replicate,Ball speed (m/s),Launch angle (deg),Spin (rpm),Carry (m)"
    rows = ["43.1,21.6,7090,118.8", "42.1,22.8,7350,114.3", "43.5,24.0,7490,119.9"]
    lines = [f"range,9 iron,{k},{row}" for k, row in enumerate(rows, 1)]
    lines += ["range,9 iron,mean,42.9,22.8,7310,117.7", "range,9 iron,SD,0.7,1.2,203,3.0",
             "range,9 iron,n,3,3,3,3"]  # fmt: skip
    assert prepared(tmp_path, "\n".join([head, *lines])).shots.height == 3


def test_percentiles_of_each_club_are_averages(tmp_path: Path) -> None:
    rows = [
        f"{club},{p},{base + k}.0,{100 + k}.5"
        for club, base in (("7 iron", 140), ("9 iron", 120))
        for k, p in enumerate(("P10", "P50", "P90"))
    ]
    with pytest.raises(ExportError) as refused:
        prepared(tmp_path, "\n".join(["Club,Percentile,Carry (yd),Ball speed (mph)", *rows]))
    assert refused.value.code == "averages-only"


@pytest.mark.parametrize(
    ("heading", "line"),
    [
        ("Mark", "Mark x = false trigger (a bird flew by), not a shot"),
        ("Flag", "Flag * = ghost shot: ignore"),
        ("Zeichen", "Zeichen x = Fehlmessung, nicht werten"),
        ("Marque", "Marque x = fausse mesure"),
        ("Nota", "Nota x = falsa lettura"),
        ("Nota", "Nota x = lectura falsa"),
        ("Nota", "Nota x = leitura falsa"),
        ("Teken", "Teken x = valse meting"),
        ("Märke", "Märke x = felmätning"),
        ("Tegn", "Tegn x = fejlmåling"),
        ("", "x in the first column = crossed out, not a valid shot (club hit the mat)"),
        ("", "x vor der Nummer = gestrichen"),
        ("", "* devant le coup = pas un coup valide"),
    ],
)
def test_a_code_for_a_false_reading_rejects_its_rows(
    tmp_path: Path, heading: str, line: str
) -> None:
    code = next(word for word in line.split(" = ")[0].split() if word in ("x", "*"))
    marks = ("", code, "")
    rows = [f"{mark},{shot}" for mark, shot in zip(marks, SHOTS, strict=True)]
    export = prepared(tmp_path, "\n".join([line, f"{heading},{HEAD}", *rows]))
    assert export.shots["source_row"].to_list() == [3, 5]
    assert export.rejected["source_row"].to_list() == [4]


@pytest.mark.parametrize("word", ["false reading", "double trigger", "Doppelauslösung"])
def test_a_false_reading_may_be_told_in_the_row_itself(tmp_path: Path, word: str) -> None:
    rows = [f"{shot},{mark}" for shot, mark in zip(SHOTS, ("", word, ""), strict=True)]
    export = prepared(tmp_path, "\n".join([f"{HEAD},Remark", *rows]))
    assert export.shots["source_row"].to_list() == [2, 4]


@pytest.mark.parametrize(
    ("line", "heading", "marks"),
    [
        ("use: 1 = good reading, 0 = misread, not a valid shot", "use", ("1", "0")),
        ("x in the first column = crossed out, not a valid shot", "", ("", "x")),
    ],
)
def test_marks_that_a_line_explains_take_their_rows_out(
    tmp_path: Path, line: str, heading: str, marks: tuple[str, str]
) -> None:
    launches = (17.5, 16.2, 18.8, 17.1, 16.6, 18.1)
    rows = [f"{marks[k == 3]},7 iron,48.{k * k},{x},13{k}.2" for k, x in enumerate(launches)]
    head = f"{heading},Club,Ball speed (m/s),Launch (deg),Carry (m)"
    found = prepared(tmp_path, "\n".join([f"# {line}", head, *rows]) + "\n")
    assert found.shots["carry_m"].to_list() == [130.2, 131.2, 132.2, 134.2, 135.2]


@pytest.mark.parametrize(
    ("heading", "line"),
    [
        ("use", "# use: 1 = good reading, 0 = misread by the monitor, not a valid shot"),
        ("gewertet", "# gewertet: 1 = gut, 0 = Netz getroffen, nicht gewertet"),
        ("valide", "# valide: 1 = bonne mesure, 0 = pas un coup valide"),
        ("giltig", "# giltig: 1 = bra, 0 = inte ett giltigt slag"),
    ],
)
def test_a_legend_may_say_which_readings_do_not_count(
    tmp_path: Path, heading: str, line: str
) -> None:
    rows = [f"{shot},{mark}" for shot, mark in zip(SHOTS, (1, 0, 1), strict=True)]
    export = prepared(tmp_path, "\n".join([line, f"{HEAD},{heading}", *rows]))
    assert export.shots["source_row"].to_list() == [3, 5]
    assert export.rejected["source_row"].to_list() == [4]


@pytest.mark.parametrize("remark", ["could not keep it left", "not the usual strike", "no good"])
def test_a_remark_with_a_denial_rejects_nothing(tmp_path: Path, remark: str) -> None:
    rows = [f"{shot},{mark}" for shot, mark in zip(SHOTS, ("", remark, ""), strict=True)]
    export = prepared(tmp_path, "\n".join([f"{HEAD},Remark", *rows]))
    assert export.shots.height == 3


def test_a_code_that_a_line_calls_no_shot_rejects_its_rows(tmp_path: Path) -> None:
    flights = launches(14)
    names = ["SELFTEST", *clubs(14)[1:]]
    text = table({
        "club": names, "ball speed (m/s)": flights["ball_speed_mps"],
        "launch (deg)": flights["launch_angle_deg"], "carry (m)": flights["carry_m"],
    })  # fmt: skip
    line = "# club SELFTEST = pendulum with a metal ball, not a golf shot\n"
    export = prepared(tmp_path, line + text)
    assert export.rejected["source_row"].to_list() == [3]
    assert export.shots.height == 13


def test_rows_behind_a_number_sign_are_out_of_the_table(tmp_path: Path) -> None:
    flights = launches(14)
    text = table({
        "nr": [str(k + 1) for k in range(14)], "club": clubs(14),
        "ball speed (m/s)": flights["ball_speed_mps"],
        "launch (deg)": flights["launch_angle_deg"], "carry (m)": flights["carry_m"],
    })  # fmt: skip
    lines = text.splitlines()
    lines[4], lines[5] = f"# {lines[4]}", f"#{lines[5]}"
    export = prepared(tmp_path, "\n".join(lines) + "\n")
    assert export.shots.height == 12
    kinds = dict(
        zip(export.other_lines["source_row"], export.other_lines["taken_for"], strict=True)
    )
    assert kinds == {1: "heading", 5: "commented-out", 6: "commented-out"}
    assert any("left out (line 5, 6)" in str(remark) for remark in export.remarks)


def test_numbers_with_a_number_sign_stay_shots(tmp_path: Path) -> None:
    flights = launches(14)
    text = table({
        "nr": [f"#{k + 1}" for k in range(14)], "club": clubs(14),
        "ball speed (m/s)": flights["ball_speed_mps"],
        "launch (deg)": flights["launch_angle_deg"], "carry (m)": flights["carry_m"],
    })  # fmt: skip
    assert prepared(tmp_path, text).shots.height == 14


@pytest.mark.parametrize(
    ("line", "mark"),
    [
        ("Balls with a w in the first column are warm-up and do NOT count", "w"),
        ("Zeilen mit x zählen nicht", "x"),
        ("Les coups marqués * ne comptent pas", "*"),
    ],
)
def test_a_sentence_says_which_mark_does_not_count(tmp_path: Path, line: str, mark: str) -> None:
    flights = launches(14)
    text = table({
        "mark": [mark if k in (2, 9) else "" for k in range(14)], "club": clubs(14),
        "ball speed (m/s)": flights["ball_speed_mps"],
        "launch (deg)": flights["launch_angle_deg"], "carry (m)": flights["carry_m"],
    })  # fmt: skip
    export = prepared(tmp_path, f"{line}\n{text}")
    assert export.rejected["source_row"].to_list() == [5, 12]
    assert set(export.rejected["reason_code"]) == {"not-a-shot"}


@pytest.mark.parametrize(
    "title", ["Warm-up, does not count", "Riscaldamento (non conta)", "Aufwärmen - zählt nicht"]
)
def test_rows_under_a_title_that_says_so_do_not_count(tmp_path: Path, title: str) -> None:
    flights = launches(14)
    lines = table({
        "club": clubs(14), "ball speed (m/s)": flights["ball_speed_mps"],
        "launch (deg)": flights["launch_angle_deg"], "carry (m)": flights["carry_m"],
    }).splitlines()  # fmt: skip
    text = "\n".join([lines[0], f'"{title}"', *lines[1:4], "Practice", *lines[4:]]) + "\n"
    export = prepared(tmp_path, text)
    assert export.rejected["source_row"].to_list() == [3, 4, 5]
    assert export.shots.height == 11


def test_that_some_rows_do_not_count_leaves_the_others(tmp_path: Path) -> None:
    flights = launches(14)
    text = table({
        "club": clubs(14), "ball speed (m/s)": flights["ball_speed_mps"],
        "launch (deg)": flights["launch_angle_deg"], "carry (m)": flights["carry_m"],
    })  # fmt: skip
    assert prepared(tmp_path, f"Shots marked w do not count\n{text}").shots.height == 14


def test_a_heading_that_begins_with_a_number_sign_is_no_row_taken_out(tmp_path: Path) -> None:
    flights = launches(14)
    text = table({
        "#": [str(k + 1) for k in range(14)], "Club": clubs(14),
        "Speed (m/s)": flights["ball_speed_mps"], "Launch (deg)": flights["launch_angle_deg"],
        "Carry (m)": flights["carry_m"],
    })  # fmt: skip
    export = prepared(tmp_path, f",,Ball,Ball,Flight\n{text}")
    assert export.shots.height == 14
    assert export.shots["launch_angle_deg"].null_count() == 0


@pytest.mark.parametrize(
    ("mark", "line"),
    [
        ("*", "* Fehlmessung des Geräts, zählt nicht"), ("*", "* fejlmåling"),
        ("*", "* lectura errónea del sensor"), ("†", "† misread by the sensor"),
        ("*", "* mauvaise lecture, à écarter"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("heading", ["Club", "No."])
def test_a_mark_behind_a_cell_is_what_the_footnote_says(
    tmp_path: Path, mark: str, line: str, heading: str
) -> None:
    flights = launches()
    columns: dict[str, object] = {
        "No.": [str(k + 1) for k in range(14)], "Club": clubs(),
        "Ball speed (m/s)": flights["ball_speed_mps"], "Launch (deg)": flights["launch_angle_deg"],
        "Carry (m)": flights["carry_m"],
    }  # fmt: skip
    cells = list(columns[heading])  # type: ignore[call-overload]
    cells[3] = f"{cells[3]}{mark}"
    columns[heading] = cells
    text = table(columns, delimiter=";")  # type: ignore[arg-type]
    export = prepared(tmp_path, f"{text}\n{line}\n")
    assert export.rejected["source_row"].to_list() == [5]
    assert export.rejected["reason_code"].to_list() == ["not-a-shot"]


def test_a_word_for_a_misreading_takes_its_row_out(tmp_path: Path) -> None:
    flights = launches()
    text = table({
        "Club": clubs(), "Ball speed (m/s)": flights["ball_speed_mps"],
        "Launch (deg)": flights["launch_angle_deg"], "Carry (m)": flights["carry_m"],
        "Reading": ["misread" if k == 3 else "ok" for k in range(14)],
    })  # fmt: skip
    assert prepared(tmp_path, text).rejected["source_row"].to_list() == [5]
