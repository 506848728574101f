"""Numbers that stand for no measurement: stated, or written like it and far from the others."""

from __future__ import annotations

from pathlib import Path

import pytest
from rangeledger.pipelines.reader.prepared_export import PreparedExport
from rangeledger.pipelines.reader.recognising.columns.sentinels import stated_sentinels

from tests.pipelines.reader.recognising.writing import clubs, launches, prepared, table


def read(folder: Path, place: int, column: str, cell: str, above: str = "") -> PreparedExport:
    """An export of computed flights in which a cell was replaced."""
    flights = launches()
    columns = {
        "Club": clubs(),
        **{heading: [f"{x:.1f}" for x in flights[name]] for heading, name in (
            ("Ball speed (m/s)", "ball_speed_mps"), ("Launch angle (deg)", "launch_angle_deg"),
            ("Spin (rpm)", "spin_rate_rpm"), ("Carry (m)", "carry_m"),
            ("Apex (m)", "apex_m"), ("Hang time (s)", "hang_time_s"))},
    }  # fmt: skip
    columns[column][place] = cell
    return prepared(folder, f"{above}\n{table(columns)}" if above else table(columns))


@pytest.mark.parametrize("sentinel", ["-999", "9999", "65535", "-32768", "-9999.0"])
@pytest.mark.parametrize(
    ("heading", "column"),
    [("Spin (rpm)", "spin_rate_rpm"), ("Apex (m)", "apex_m"), ("Hang time (s)", "hang_time_s")],
)
def test_a_number_written_like_no_measurement_is_left_empty(
    tmp_path: Path, sentinel: str, heading: str, column: str
) -> None:
    export = read(tmp_path, 4, heading, sentinel)
    assert export.shots.height == 14
    assert export.shots[column].is_null().to_list() == [k == 4 for k in range(14)]
    assert any(remark.place == f"column {heading!r}" for remark in export.remarks)


def test_nines_among_values_like_them_are_a_measurement(tmp_path: Path) -> None:
    # A height in metres of 99 stands apart, a speed of 49.9 among speeds near 48 does not.
    export = read(tmp_path, 2, "Ball speed (m/s)", "49.9")
    assert export.shots["ball_speed_mps"].null_count() == 0


def test_a_line_may_say_which_number_means_no_measurement(tmp_path: Path) -> None:
    export = read(tmp_path, 3, "Apex (m)", "8.8", "Key: 8.8 = not measured")
    assert export.shots["apex_m"].is_null().to_list() == [k == 3 for k in range(14)]


def test_a_line_that_names_a_column_means_that_one(tmp_path: Path) -> None:
    export = read(tmp_path, 3, "Apex (m)", "9999", "Spin 9999 = no reading")
    assert "the export says so" not in " ".join(str(remark) for remark in export.remarks)


@pytest.mark.parametrize(
    "line",
    [
        "-999 = not measured", "-999: nicht gemessen", "-999 = non mesuré", "-999 = no medido",
        "-999 = non misurato", "-999 = ej mätt", "-999 = niet gemeten", "-999 = não medido",
        "-999 = ikke målt",
    ],
)  # fmt: skip
def test_all_languages_state_it(line: str) -> None:
    assert list(stated_sentinels([line])) == [-999.0]


@pytest.mark.parametrize(
    "line", ["Shot 4 was not measured", "12 balls, no reading for two", "Carry 150 m"]
)
def test_a_number_in_a_story_is_none(line: str) -> None:
    assert stated_sentinels([line]) == {}
