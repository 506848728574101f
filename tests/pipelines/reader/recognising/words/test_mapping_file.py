"""Mapping files: proposed, edited, read back and used."""

from __future__ import annotations

from pathlib import Path

import pytest
from rangeledger.pipelines.reader.recognising.words.mapping_file import (
    plain_form,
    read_mapping,
    read_mappings,
)
from rangeledger.schemas.columns import CONDITIONS
from rangeledger.schemas.errors import ExportError, NoteError

from tests.exports_text import MAPPING
from tests.pipelines.reader.recognising.writing import prepared

TEXT = "Aa,Bb,Cc,Dd\n7 Iron,48.0,17.5,137.9\n7 Iron,47.2,18.0,135.0\n"


@pytest.fixture
def mappings(tmp_path: Path) -> Path:
    folder = tmp_path / "mappings"
    folder.mkdir()
    return folder


def test_a_mapping_settles_headings_that_nobody_knows(tmp_path: Path, mappings: Path) -> None:
    with pytest.raises(ExportError) as refusal:
        prepared(tmp_path, TEXT)
    assert '[columns."Bb"]' in (refusal.value.mapping or "")
    (mappings / "mine.toml").write_text(MAPPING)
    export = prepared(tmp_path, TEXT, mappings_dir=mappings)
    assert export.mapping_name == "mine.toml"
    assert export.shots["carry_m"].to_list() == pytest.approx([137.9 * 0.9144, 135.0 * 0.9144])
    assert export.shots["ball"].unique().to_list() == ["range"]


def test_a_proposed_mapping_is_used_after_an_edit(tmp_path: Path, mappings: Path) -> None:
    text = "Club,Carry\nDriver,230\nDriver,221\nDriver,228\n"
    with pytest.raises(ExportError) as refusal:
        prepared(tmp_path, text)
    assert "CHECK" in (refusal.value.mapping or "")
    edited = (refusal.value.mapping or "").replace(
        'column = "carry_m"', 'column = "carry_m"\nunit = "m"'
    )
    (mappings / "carry.toml").write_text(edited)
    assert prepared(tmp_path, text, mappings_dir=mappings).shots["carry_m"][0] == 230.0


def test_another_set_of_headings_is_left_alone(tmp_path: Path, mappings: Path) -> None:
    (mappings / "mine.toml").write_text(MAPPING)
    text = (
        TEXT.replace("Dd", "Carry (m)")
        .replace("Cc", "Launch angle")
        .replace("Bb", "Ball speed (m/s)")
    )
    assert (
        prepared(tmp_path, text.replace("Aa", "Club"), mappings_dir=mappings).mapping_name is None
    )


def test_left_and_straight_can_be_stated(tmp_path: Path, mappings: Path) -> None:
    text = "Club,Ww,Xx\nDriver,200,56\nDriver,190,-20\n"
    (mappings / "m.toml").write_text(
        '[match]\nheadings = ["Club", "Ww", "Xx"]\n[columns."Ww"]\ncolumn = "carry_m"\nunit = "m"\n'
        'measured = "straight"\n[columns."Xx"]\ncolumn = "carry_side_m"\nunit = "m"\n'
        'positive = "left"\n'
    )
    shots = prepared(tmp_path, text, mappings_dir=mappings).shots
    # 56-192-200 is eight times the triangle 7-24-25.
    assert (shots["carry_m"][0], shots["carry_side_m"][0]) == (pytest.approx(192.0), -56.0)


def test_a_broken_mapping_does_not_stop_other_exports(tmp_path: Path, mappings: Path) -> None:
    (mappings / "broken.toml").write_text("no [toml")
    text = "Club,Carry (m)\nDriver,230\nDriver,221\n"
    export = prepared(tmp_path, text, mappings_dir=mappings)
    assert any("broken.toml" in remark for remark in export.recognition.remarks)
    assert read_mappings(None) == ([], [])


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('"carry_m"', '"carrry_m"'), ('unit = "yd"', 'unit = "rpm"'),
        ('ball = "range"', 'moon = "full"'), ("headings =", "heads ="),
        ('unit = "deg"', 'positive = "north"'), ("[constants]", "[constant]"),
    ],
)  # fmt: skip
def test_what_a_mapping_cant_say_is_told(mappings: Path, old: str, new: str) -> None:
    path = mappings / "mine.toml"
    path.write_text(MAPPING.replace(old, new))
    with pytest.raises(NoteError, match=r"mine\.toml") as refusal:
        read_mapping(path)
    assert refusal.value.code == "bad-mapping"


def test_headings_are_matched_whatever_their_dress() -> None:
    assert plain_form("  Ball-Speed (MPH) ") == plain_form("ball speed mph")


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('"carry_m"', '"carrry_m"', "column = 'carrry_m' .* no canonical column"),
        ('ball = "range"', 'moon = "full"', "'moon' is not known; known keys are player, club"),
        ('ball = "range"', "air_temp_c = true", "write a number without quotes"),
        ('ball = "range"', 'wind_height = "roof"', "use one of 'weather', 'player' or 'ball'"),
        ("[constants]", "[constant]", "did you mean constants"),
    ],
)
def test_a_mapping_names_line_key_and_what_is_allowed(
    mappings: Path, old: str, new: str, message: str
) -> None:
    path = mappings / "mine.toml"
    path.write_text(MAPPING.replace(old, new))
    with pytest.raises(NoteError, match=rf"mine\.toml, line \d+: .*{message}"):
        read_mapping(path)


@pytest.mark.parametrize("name", CONDITIONS)
def test_a_mapping_may_state_every_condition(mappings: Path, name: str) -> None:
    path = mappings / "mine.toml"
    path.write_text(MAPPING.replace('ball = "range"', f"{name} = 7"))
    assert read_mapping(path).constants == {name: 7.0}
