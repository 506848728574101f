"""A whole preparation: ids, sessions, rejects, timings, and no wrong value on random exports."""

from __future__ import annotations

import hashlib
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from rangeledger.pipelines.reader.prepare import prepare_export
from rangeledger.pipelines.reader.prepared_export import RefusedExportError
from rangeledger.schemas.arrow import shots_polars_schema
from rangeledger.schemas.errors import ExportError

from tests.pipelines.reader.recognising.writing import prepared

BERLIN = ZoneInfo("Europe/Berlin")
TIMED = (
    "Golfer,When,Stick,Ball velocity (m/s),Take-off angle (°),Flown (m)\n"
    "Bo Ek,2026-05-02 09:00:00,7i,48.0,17.5,137.9\n"
    "Ann Breck,2026-05-02 09:00:30,7i,46.0,18.5,130.9\n"
    "Bo Ek,2026-05-02 09:01:00,7i,47.2,18.0,135.0\n"
    "Bo Ek,2026-05-02 12:01:00,7i,48.9,17.0,141.0\n"
    "Ann Breck,2026-05-03 09:00:30,7i,45.5,18.1,129.0\n"
)


def test_shots_come_in_the_schema_of_the_lake(tmp_path: Path) -> None:
    export = prepared(tmp_path, TIMED, zone=BERLIN)
    assert export.shots.schema == shots_polars_schema()
    assert export.source_file == hashlib.sha256(TIMED.encode()).hexdigest()
    assert set(export.timings) == {"read", "recognise", "normalise", "screen"}
    # 09:00 in Berlin in May is 07:00 UTC (CEST, UTC+2).
    assert export.shots["struck_at"][0].isoformat() == "2026-05-02T07:00:00+00:00"


def test_a_gap_of_three_hours_or_a_new_date_starts_a_session(tmp_path: Path) -> None:
    shots = prepared(tmp_path, TIMED, zone=BERLIN).shots
    sessions = shots.group_by("session_id", maintain_order=True).agg("player", "shot_number")
    assert sessions["player"].list.first().to_list() == ["Bo Ek", "Ann Breck", "Bo Ek", "Ann Breck"]
    assert sessions["shot_number"].to_list() == [[1, 2], [1], [1], [1]]


def test_the_same_row_of_the_same_file_always_gets_the_same_id(tmp_path: Path) -> None:
    first = prepared(tmp_path, TIMED, zone=BERLIN).shots
    again = prepared(tmp_path, TIMED, name="copy.csv", zone=BERLIN).shots
    assert first["shot_id"].to_list() == again["shot_id"].to_list()
    assert first["session_id"].to_list() == again["session_id"].to_list()
    assert first["shot_id"].n_unique() == first.height


def test_impossible_rows_are_rejected_with_column_and_value(tmp_path: Path) -> None:
    text = TIMED + "Bo Ek,2026-05-02 12:02:00,7i,148.0,17.0,141.0\n"
    rejected = prepared(tmp_path, text, zone=BERLIN).rejected
    assert rejected["source_row"].to_list() == [7]
    assert rejected["reason_code"].to_list() == ["out-of-range"]
    assert "ball_speed_mps is 148 m/s" in rejected["reason"][0]
    assert rejected["raw_text"][0] == text.splitlines()[6]


def test_unknown_columns_are_kept_beside_the_shots(tmp_path: Path) -> None:
    lines = TIMED.splitlines()
    text = "\n".join([lines[0] + ",Mood", *(line + ",=1+1" for line in lines[1:])]) + "\n"
    shots = prepared(tmp_path, text, zone=BERLIN).shots
    assert shots["extras"].unique().to_list() == ['{"Mood":"=1+1"}']


def test_hostile_text_stays_text(tmp_path: Path) -> None:
    name = "<b>../../Bo</b>"
    shots = prepared(tmp_path, TIMED.replace("Bo Ek", name), zone=BERLIN).shots
    assert shots["player"][0] == name


def test_a_note_beside_the_export_speaks_for_it(tmp_path: Path) -> None:
    (tmp_path / "visit.toml").write_text('ball = "range"\nair_temp_c = 12.5\nwind_from_deg = 45\n')
    shots = prepared(tmp_path, TIMED, zone=BERLIN).shots
    assert shots.select("ball", "air_temp_c", "wind_from_deg").unique().rows() == [
        ("range", 12.5, 45.0)
    ]


def test_a_column_of_clubs_is_known_by_its_cells(tmp_path: Path) -> None:
    export = prepared(tmp_path, TIMED.replace("Stick", "Zwqx"), zone=BERLIN)
    assert export.shots["club"].unique().to_list() == ["7-iron"]
    assert any("Zwqx" in remark for remark in export.recognition.remarks)


def test_a_half_understood_heading_counts_only_if_its_numbers_fit(tmp_path: Path) -> None:
    head = "Club,Ball speed (m/s),Launch angle (°),Carry (m),Total zwqx (m)\n"
    rows = [
        ("7i", 48.0, 17.5, 137.9),
        ("7i", 44.0, 18.0, 124.0),
        ("4i", 54.0, 13.5, 163.0),
        ("4i", 52.5, 14.0, 158.0),
        ("Driver", 66.0, 11.0, 207.0),
        ("Driver", 64.0, 11.5, 201.0),
    ]
    text = head + "".join(f"{c},{v},{a},{d},{d + 8}\n" for c, v, a, d in rows)
    assert prepared(tmp_path, text).shots["total_m"][0] == pytest.approx(145.9)
    flat = head + "".join(f"{c},{v},{a},{d},98\n" for c, v, a, d in rows)
    assert prepared(tmp_path, flat).shots["total_m"].null_count() == len(rows)


def test_a_refusal_carries_what_was_understood(tmp_path: Path) -> None:
    with pytest.raises(RefusedExportError) as refusal:
        prepared(tmp_path, "Club,Carry\nDriver,230\nDriver,221\nDriver,228\n")
    assert refusal.value.code == "unclear-units"
    assert [report.column for report in refusal.value.recognition.columns] == ["club", "carry_m"]


@pytest.mark.parametrize("folder", [True, False])
def test_no_file_is_refused_in_a_sentence(tmp_path: Path, folder: bool) -> None:
    with pytest.raises(ExportError) as refusal:
        prepare_export(tmp_path if folder else tmp_path / "gone.csv")
    assert refusal.value.code == "not-a-file"
