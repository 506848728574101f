"""The sample files are what their script prints, and as varied as they claim to be."""

from __future__ import annotations

import re
import tomllib

import pytest
from rangeledger.sample_exports import refused_files, sample_files, sample_folder
from rangeledger.sample_exports.layouts import LAYOUTS
from rangeledger.sample_exports.make_sample_exports import all_files
from rangeledger.sample_exports.players import PLAYERS
from rangeledger.sample_exports.printing import print_export
from rangeledger.sample_exports.scenario import EXPORTS
from rangeledger.schemas.columns import BY_NAME

from tests.sample_exports.truth import still_air_carry


@pytest.fixture(scope="module")
def made() -> dict[str, bytes]:
    return all_files()


def test_the_files_on_disk_are_what_the_script_prints(made):
    again = "run python -m rangeledger.sample_exports.make_sample_exports and look at what changed"
    for name, content in made.items():
        assert (sample_folder() / name).read_bytes() == content, f"{name}: {again}"


def test_no_export_or_note_lies_there_that_the_script_does_not_print(made):
    folder = sample_folder()
    there = {
        path.relative_to(folder).as_posix()
        for pattern in ("*.csv", "*.toml", "refused/*")
        for path in folder.glob(pattern)
        if path.name != "settings.toml"
    }
    assert there == set(made)


def test_another_run_prints_the_same_bytes(made):
    assert all_files() == made


def test_they_are_small_many_and_varied(made):
    used = [LAYOUTS[name] for name in dict.fromkeys(export.layout for export in EXPORTS)]
    assert sum(map(len, made.values())) < 5_000_000
    assert len(sample_files()) == len(EXPORTS) >= 14
    assert len(refused_files()) >= 2
    assert {layout.name for layout in used} == set(LAYOUTS)
    assert len(used) >= 8
    assert len({layout.delimiter for layout in used}) >= 4
    assert len({layout.encoding for layout in used}) >= 5
    assert {layout.decimal for layout in used} == {".", ","}
    assert len({layout.fields for layout in used}) == len(used)


def test_headings_differ_from_layout_to_layout():
    for layout in LAYOUTS.values():
        headings = [f.heading for f in layout.fields]
        assert len(set(headings)) == len(headings), layout.name


@pytest.mark.parametrize("export", EXPORTS, ids=lambda export: export.file_name)
def test_every_shot_stands_on_the_line_that_the_printer_remembers(export):
    layout = LAYOUTS[export.layout]
    printed = print_export(export, layout)
    lines = printed.content.decode(layout.encoding).split(layout.newline)
    columns = dict(zip(export.visits, printed.struck, strict=True))
    assert len(printed.shots) == sum(count for v in export.visits for _, _, count in v.plan)
    for shot in printed.shots:
        cells = [c.strip('"') for c in lines[shot.line - 1].split(layout.delimiter)]
        assert layout.club_word(columns[shot.visit]["club"][shot.number]) in cells


@pytest.mark.parametrize("export", [e for e in EXPORTS if e.note], ids=lambda e: e.file_name)
def test_notes_use_canonical_names(made, export):
    note = tomllib.loads(made[export.file_name.removesuffix(".csv") + ".toml"].decode())
    assert set(note) <= {*BY_NAME, "date"}
    assert note == export.note


def test_the_scenario_names_every_file_and_every_player():
    text = (sample_folder() / "SCENARIO.md").read_text(encoding="utf-8")
    for path in (*sample_files(), *refused_files()):
        stem = re.sub(r"-(april|may|marzo|abril|mayo)$", "", path.stem)
        assert stem in text, path.name
    assert all(player in text for player in PLAYERS)


def test_regression_the_scenario_states_the_true_carries():
    text = (sample_folder() / "SCENARIO.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| (\w+ [^|]+) \| ([^|]+) \| ([^|]+) \| (\w+) \| (\d+) \|", text, re.M)
    assert len(rows) >= 15
    for player, club, swing, ball, carry_yd in rows:
        true = still_air_carry(player, club, swing, ball).carry_m / 0.9144
        assert float(carry_yd) == pytest.approx(true, abs=0.51), (player, club, swing)
