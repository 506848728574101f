from __future__ import annotations

from pathlib import Path

import polars as pl
import pytest
from rangeledger.pipelines.reader.prepare import prepare_export
from rangeledger.pipelines.reader.visit_words import layout_signature, monitor_named
from rangeledger.schemas.arrow import shots_polars_schema
from rangeledger.schemas.errors import NoteError

from tests.exports_text import seven_irons

WORDS = ["wind_height", "monitor", "site"]


@pytest.fixture
def export(tmp_path: Path) -> Path:
    path = tmp_path / "bay-b-2026-05-02.csv"
    path.write_text(seven_irons())
    return path


def note(export: Path, text: str) -> None:
    export.with_suffix(".toml").write_text(text)


def words(shots: pl.DataFrame) -> list[tuple[str | None, ...]]:
    return shots.select(WORDS).unique().rows()


def test_nothing_said_is_unknown_and_a_height_belongs_to_a_wind(export: Path) -> None:
    assert words(prepare_export(export).shots) == [(None, "unknown", None)]
    note(export, "wind_speed_mps = 3\nwind_from_deg = 90")
    assert words(prepare_export(export).shots) == [("weather", "unknown", None)]


def test_a_note_goes_before_the_settings(export: Path) -> None:
    settings = {"wind_height": "ball", "site": "North", "monitors": [("*.csv", "bay A")]}
    note(export, "wind_speed_mps = 3")
    assert words(prepare_export(export, **settings).shots) == [("ball", "bay A", "North")]
    note(export, 'wind_speed_mps = 3\nwind_height = "player"\nmonitor = "bay B"\nsite = "South"')
    assert words(prepare_export(export, **settings).shots) == [("player", "bay B", "South")]


def test_a_note_that_the_export_overrules_is_told_of(export: Path) -> None:
    note(export, 'player = "Mia Sander"')
    read = prepare_export(export)
    assert read.shots["player"].unique().to_list() == ["Ada Brook"]
    assert [str(remark) for remark in read.remarks if "note says" in str(remark)] == [
        "The note says player 'Mia Sander', but the export itself says 'Ada Brook' in 6 rows, and "
        "that counts."
    ]
    note(export, 'player = "ada brook"\nsite = "North"')
    assert not any("note says" in str(remark) for remark in prepare_export(export).remarks)


def test_a_note_with_another_height_is_refused(export: Path) -> None:
    note(export, 'wind_height = "roof"')
    with pytest.raises(NoteError, match=r"line 1: .* expected weather or player or ball"):
        prepare_export(export)


def test_settings_name_a_monitor_by_file_or_by_layout(export: Path) -> None:
    signature = prepare_export(export).recognition.signature
    for pattern in ("bay-b-*", "BAY-B-2026-05-02.CSV", signature):
        shots = prepare_export(export, monitors=[("bay-a-*", "A"), (pattern, "B")]).shots
        assert words(shots) == [(None, "B", None)]
    assert monitor_named([("bay-a-*", "A")], export.name, signature) is None


def test_a_layout_is_its_headings_whatever_case_order_and_punctuation() -> None:
    assert layout_signature(["Carry (yd)", "Club"]) == layout_signature(["CLUB", "carry yd", ""])
    assert layout_signature(["Carry (yd)", "Club"]) != layout_signature(["Carry (m)", "Club"])


def test_a_mapping_names_their_columns_or_says_them_once(export: Path, tmp_path: Path) -> None:
    lines = export.read_text().splitlines()
    lines = [
        f"{lines[0]},Box,Gusts",
        *(f"{line},bay {n % 2},4" for n, line in enumerate(lines[1:])),
    ]
    export.write_text("\n".join(lines))
    headings = ", ".join(f'"{h}"' for h in lines[0].split(","))
    (tmp_path / "m").mkdir()
    (tmp_path / "m" / "bays.toml").write_text(
        f'[match]\nheadings = [{headings}]\n[columns."Box"]\ncolumn = "monitor"\n'
        '[columns."Gusts"]\ncolumn = "wind_speed_mps"\nunit = "m/s"\n'
        '[constants]\nwind_height = "player"\nsite = "West"\n'
    )
    shots = prepare_export(export, mappings_dir=tmp_path / "m").shots
    assert shots["monitor"].to_list() == ["bay 0", "bay 1"] * 3
    assert words(shots.head(1)) == [("player", "bay 0", "West")]


def test_shots_written_under_their_canonical_names_are_read_back(
    export: Path, tmp_path: Path
) -> None:
    note(export, "wind_speed_mps = 3\nwind_from_deg = 90")
    shots = prepare_export(export).shots.with_columns(
        clubhead_speed_mps=pl.col("ball_speed_mps") / 1.33, angle_of_attack_deg=pl.lit(-3.5)
    )
    names = [n for n in shots_polars_schema() if n not in ("shot_id", "session_id", "extras")]
    shots.select(names).write_csv(tmp_path / "again.csv")
    again = prepare_export(tmp_path / "again.csv").shots
    for name in ("clubhead_speed_mps", "angle_of_attack_deg", "ball_speed_mps", "carry_m"):
        assert again[name].to_list() == pytest.approx(shots[name].to_list())
