"""Columns that tell something of others' cells."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.pipelines.reader.recognising.writing import FOOT_M, YARD_M, prepared

HEAD = "Club,Ball speed (mph),Launch angle (deg),Spin (rpm)"
SHOTS = [f"7 iron,{f}" for f in ("108.1,17.5,6100", "109.6,16.8,5900", "106.9,18.2,6300")]


def _shots(folder: Path, heads: str, cells: list[str]) -> dict[str, list[object]]:
    lines = [f"{HEAD},{heads}", *(f"{s},{c}" for s, c in zip(SHOTS, cells, strict=True))]
    return prepared(folder, "\n".join(lines)).shots.to_dict(as_series=False)


@pytest.mark.parametrize("heading", ["Distance unit", "Einheit der Weiten", "Unité"])
def test_a_column_of_units_holds_for_the_bare_distances_of_its_row(
    tmp_path: Path, heading: str
) -> None:
    shots = _shots(tmp_path, f"{heading},Carry", ["yd,149.2", "yd,151.8", "m,134.4"])
    assert shots["carry_m"] == pytest.approx([149.2 * YARD_M, 151.8 * YARD_M, 134.4])


@pytest.mark.parametrize(
    ("heads", "cells"),
    [
        ("Carry (yd),Missed left (yd),Missed right (yd)", ["149,3.1,", "151,,2.0", "147,0,1.5"]),
        ("Carry (yd),Side right (yd),Side left (yd)", ["149,,3.1", "151,2.0,0.0", "147,1.5,"]),
    ],
)
def test_a_left_and_a_right_are_one_side(tmp_path: Path, heads: str, cells: list[str]) -> None:
    shots = _shots(tmp_path, heads, cells)
    assert shots["carry_side_m"] == pytest.approx([-3.1 * YARD_M, 2.0 * YARD_M, 1.5 * YARD_M])


def test_feet_and_inches_may_bear_a_side(tmp_path: Path) -> None:
    cells = ['149,"14\' 6"" L"', '151,"2\' 3"" R"', '147,"0\' 9"" R"']
    shots = _shots(tmp_path, '"Carry (yd)","Side (ft, in)"', cells)
    assert shots["carry_side_m"] == pytest.approx([-14.5 * FOOT_M, 2.25 * FOOT_M, 0.75 * FOOT_M])


@pytest.mark.parametrize(
    ("heading", "cells", "expected"),
    [
        ("Attack angle (down positive)", ["3.1", "2.8", "3.4"], [-3.1, -2.8, -3.4]),
        ("Angle d'attaque (vers le bas positif)", ["3.1", "2.8", "3.4"], [-3.1, -2.8, -3.4]),
    ],
)
def test_an_attack_may_count_down_as_positive(
    tmp_path: Path, heading: str, cells: list[str], expected: list[float]
) -> None:
    shots = _shots(tmp_path, f"Carry (yd),{heading}", [f"14{k},{c}" for k, c in enumerate(cells)])
    assert shots["angle_of_attack_deg"] == pytest.approx(expected)


@pytest.mark.parametrize(
    ("heads", "cells", "column", "expected"),
    [
        ("Rel. humidity (0-1)", "0.41", "humidity_pct", 41.0),
        ("Mean wind (m/s)", "3.5", "wind_speed_mps", 3.5),
        ("Headwind (+) / tailwind (-) (m/s)", "-2.0", "wind_from_deg", 180.0),
        ("Tailwind (+) / headwind (-) (m/s)", "-2.0", "wind_from_deg", None),
        ("Wind towards (° clockwise from target)", "45", "wind_from_deg", 225.0),
        ("Wind towards (°)", "45", "wind_from_deg", None),
    ],
)
def test_air_and_wind_are_taken_only_where_their_words_are_plain(
    tmp_path: Path, heads: str, cells: str, column: str, expected: float | None
) -> None:
    shots = _shots(tmp_path, f"Carry (yd),{heads}", [f"14{k},{cells}" for k in range(3)])
    assert shots[column] == pytest.approx([expected] * 3)


def test_a_sentence_may_count_one_column_the_other_way(tmp_path: Path) -> None:
    line = '"Side: left of target is positive. Spin axis: positive curves right."\n\n'
    lines = [f"{HEAD},Carry (yd),Side (yd),Spin axis (deg)"]
    lines += [f"{s},14{k},-2.0,1.5" for k, s in enumerate(SHOTS)]
    shots = prepared(tmp_path, line + "\n".join(lines)).shots
    assert shots["carry_side_m"].to_list() == pytest.approx([2.0 * YARD_M] * 3)
    assert shots["spin_axis_deg"].to_list() == [1.5] * 3


def test_a_column_of_units_for_each_of_two_quantities(tmp_path: Path) -> None:
    rows = ["108.1,mph,17.5,6100,149.2,yd", "176.4,km/h,16.8,5900,138.8,m"]
    head = "Club,Ball speed,Speed unit,Launch angle,Spin,Carry,Distance unit"
    shots = prepared(tmp_path, "\n".join([head, *(f"7 iron,{row}" for row in rows)])).shots
    assert shots["ball_speed_mps"].to_list() == pytest.approx([108.1 * 0.44704, 49.0])
    assert shots["carry_m"].to_list() == pytest.approx([149.2 * YARD_M, 138.8])


def test_quotes_of_spreadsheet_formulas_are_taken_off(tmp_path: Path) -> None:
    rows = [f"{shot},149.2".split(",") for shot in SHOTS]
    lines = [f"{HEAD},Carry (yd)", *(",".join(f'="{cell}"' for cell in row) for row in rows)]
    shots = prepared(tmp_path, "\n".join(lines)).shots
    assert shots["club"].to_list() == ["7-iron"] * 3
    assert shots["carry_m"].to_list() == pytest.approx([149.2 * YARD_M] * 3)
