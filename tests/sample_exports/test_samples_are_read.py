"""The reader finds in every sample export what the scenario printed into it."""

from __future__ import annotations

from datetime import UTC
from functools import cache
from zoneinfo import ZoneInfo

import numpy as np
import polars as pl
import pytest
from rangeledger.pipelines.reader.prepare import prepare_export
from rangeledger.pipelines.reader.prepared_export import PreparedExport
from rangeledger.sample_exports import refused_files, sample_folder
from rangeledger.sample_exports.layouts import LAYOUTS
from rangeledger.sample_exports.printing import UNIT_FACTORS, PrintedExport, print_export
from rangeledger.sample_exports.scenario import EXPORTS, Export, Visit
from rangeledger.schemas.columns import NUMBERS
from rangeledger.schemas.errors import ExportError

ACADEMY_ZONE = ZoneInfo("Europe/Stockholm")
WRONG_UNIT = "bag-check-2026-05-02.csv"
GOOD = [export for export in EXPORTS if export.file_name != WRONG_UNIT]

# What each layout says of a visit in the lines above its table.
ABOVE = {
    "hash-notes": {"ball", "surface", "flight_basis", "air_temp_c"},
    "units-below": {"player", "ball", "surface", "flight_basis", "air_temp_c", "wind"},
    "schlagliste": {"player", "ball", "surface", "flight_basis", "air_temp_c"},
    "feel-words": {"player", "ball", "surface", "flight_basis", "air_temp_c"},
    "seances": {"ball", "surface", "flight_basis"},
}
WEATHER_TOLERANCE = {"air_temp_c": 0.28, "wind_speed_mps": 0.051, "wind_from_deg": 0.51}


@cache
def read(file_name: str) -> PreparedExport:
    path = sample_folder() / file_name
    note = path.with_suffix(".toml")
    return prepare_export(
        path,
        mappings_dir=None,
        zone=ACADEMY_ZONE,
        note=note if note.exists() else None,
        file_name=file_name,
    )


@cache
def printed(file_name: str) -> PrintedExport:
    export = next(export for export in EXPORTS if export.file_name == file_name)
    return print_export(export, LAYOUTS[export.layout])


def shots_by_line(export: Export) -> pl.DataFrame:
    return read(export.file_name).shots.sort("source_row")


def said(export: Export) -> set[str]:
    """Columns that the export, its head lines or its note state."""
    names = {f.quantity for f in LAYOUTS[export.layout].fields} | set(export.note)
    names |= ABOVE.get(export.layout, set())
    if "wind" in export.states or "wind" in names:
        names |= {"wind_speed_mps", "wind_from_deg"}
    return names


def truth(export: Export, quantity: str) -> list[object]:
    """What the scenario says of each shot, in printed order."""
    sheet = printed(export.file_name)
    columns = dict(zip(export.visits, sheet.struck, strict=True))
    return [columns[shot.visit][quantity][shot.number] for shot in sheet.shots]


def of_visit(export: Export, name: str) -> list[object]:
    """A property of each shot's visit, in printed order."""
    return [_property(shot.visit, name) for shot in printed(export.file_name).shots]


def _property(visit: Visit, name: str) -> object:
    owner = visit.weather if hasattr(visit.weather, name) else visit
    return getattr(owner, name)


each_good = pytest.mark.parametrize("export", GOOD, ids=lambda export: export.file_name)


@each_good
def test_the_rows_are_the_shots_and_nothing_else(export):
    lines = [shot.line for shot in printed(export.file_name).shots]
    assert shots_by_line(export)["source_row"].to_list() == lines
    assert not set(read(export.file_name).rejected["source_row"]) & set(lines)


@each_good
def test_the_numbers_are_read_to_half_the_last_printed_digit(export):
    shots = shots_by_line(export)
    checked = 0
    for f in LAYOUTS[export.layout].fields:
        if f.quantity not in NUMBERS or not f.unit or f.quantity in WEATHER_TOLERANCE:
            continue
        expected = np.array(truth(export, f.quantity), dtype=float)
        got = shots[f.quantity].to_numpy().astype(float)
        tolerance = (0.5 * 10.0**-f.decimals + 1e-6) * UNIT_FACTORS[f.unit]
        assert (np.isnan(got) == np.isnan(expected)).all(), f.heading
        assert np.nanmax(np.abs(got - expected)) <= tolerance, f.heading
        checked += 1
    assert checked >= 3


@each_good
def test_columns_that_the_export_does_not_have_stay_empty(export):
    stated = said(export)
    shots = shots_by_line(export)
    for name in ("carry_m", "clubhead_speed_mps", "air_pressure_hpa", "wind_speed_mps"):
        if name not in stated:
            assert shots[name].null_count() == len(shots), name


@each_good
def test_clubs_and_swings_are_canonical(export):
    shots = shots_by_line(export)
    assert shots["club"].to_list() == truth(export, "club")
    assert shots["swing"].to_list() == truth(export, "swing")


@each_good
@pytest.mark.parametrize("name", ["player", "ball", "surface", "flight_basis"])
def test_words_are_read_where_the_export_says_them(export, name):
    got = shots_by_line(export)[name].to_list()
    if name in said(export):
        assert got == of_visit(export, name)
    else:
        assert set(got) == {"unknown"}


@each_good
@pytest.mark.parametrize("name", list(WEATHER_TOLERANCE))
def test_weather_is_read_where_the_export_says_it(export, name):
    if name in said(export):
        got = shots_by_line(export)[name].to_numpy().astype(float)
        expected = np.array(of_visit(export, name), dtype=float)
        assert np.abs(got - expected).max() <= WEATHER_TOLERANCE[name]


@each_good
def test_times_are_read_as_local_time_of_the_academy(export):
    stated = said(export)
    got = shots_by_line(export)["struck_at"].to_list()
    local = truth(export, "struck_at")
    if not stated & {"time", "instant"}:
        return
    clock_only_minutes = LAYOUTS[export.layout].time_format == "%H:%M"
    for moment, wall in zip(got, local, strict=True):
        expected = wall.replace(tzinfo=ACADEMY_ZONE).astimezone(UTC)
        seconds = (expected - moment.replace(tzinfo=UTC)).total_seconds()
        assert 0 <= seconds < (60 if clock_only_minutes and "instant" not in stated else 1)


@each_good
def test_each_visit_is_a_session(export):
    assert shots_by_line(export)["session_id"].n_unique() == len(export.visits)


def test_back_and_side_spin_become_spin_and_axis():
    export = next(e for e in EXPORTS if e.layout == "back-and-side-spin")
    shots = shots_by_line(export)
    spin = np.array(truth(export, "spin_rate_rpm"), dtype=float)
    axis = np.array(truth(export, "spin_axis_deg"), dtype=float)
    # Both components are printed to a whole turn a minute: 0.71 rpm and its angle at most.
    assert np.abs(shots["spin_rate_rpm"].to_numpy() - spin).max() < 0.75
    assert np.abs(shots["spin_axis_deg"].to_numpy() - axis).max() < np.degrees(0.75 / spin.min())


def _refusal_code(file_name: str) -> str | None:
    try:
        read(file_name)
    except ExportError as refusal:
        return refusal.code
    return None


def test_the_wrong_unit_day_is_refused_with_that_reason_or_read_as_labelled():
    code = _refusal_code(WRONG_UNIT)
    assert code in {None, "unclear-units", "all-rejected"}
    if code is None:
        export = next(e for e in EXPORTS if e.file_name == WRONG_UNIT)
        expected = np.array(truth(export, "carry_m"), dtype=float)
        got = shots_by_line(export)["carry_m"].to_numpy()
        assert np.abs(got - expected).max() <= 0.0501 * 0.9144


@pytest.mark.parametrize("path", refused_files(), ids=lambda path: path.name)
def test_files_without_shots_are_refused_with_what_to_do(path):
    with pytest.raises(ExportError) as refusal:
        prepare_export(path, mappings_dir=None, zone=ACADEMY_ZONE, note=None, file_name=path.name)
    # Each of these reasons tells the user that there are no single shots in the file.
    assert refusal.value.code in {"not-an-export", "averages-only", "no-shots"}
    assert len(str(refusal.value)) > 40
