"""A left beside a right, and letters for sides behind a unit or in a column of their own."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import rangeledger as rl

from tests.pipelines.reader.recognising.writing import clubs, launches, prepared, table

HEAD = "Club;Ball speed (mph);Launch angle (deg);Spin (rpm);Carry (m);"
SHOT = "7 iron;118.2;17.{};6400;149.{};"


def sides(folder: Path, headings: str, cells: list[str]) -> list[float | None]:
    """Where shots with such last columns landed [m]."""
    export = folder / "range.csv"
    rows = [SHOT.format(k, k) + cell for k, cell in enumerate(cells)]
    export.write_text("\n".join([HEAD + headings, *rows]), encoding="utf-8")
    return rl.read_export(export).shots["carry_side_m"].round(2).to_list()


@pytest.mark.parametrize(
    ("headings", "cells"),
    [
        ("Left (m);Right (m)", ["2.5;", ";4.0", ";", "1.0;0"]),
        ("Links in Meter;Rechts in Meter", ["2.5;NA", ";4.0", ";", "1.0;"]),
        ("Gauche;Droite", ["2.5 m;", ";4.0 m", ";", "1.0 m;"]),
        ("Side (m);left/right", ["2.5;L", "4.0;R", ";", "1.0;L"]),
        ("Scarto laterale (m);sinistra/destra", ["2.5;S", "4.0;D", ";", "1.0;S"]),
        ("Scarto laterale", ["2.5 m S", "4.0 m D", "", "1.0 m S"]),
    ],
)
def test_sides_are_signed_right_positive(tmp_path: Path, headings: str, cells: list[str]) -> None:
    assert sides(tmp_path, headings, cells) == [-2.5, 4.0, None, -1.0]


def test_a_club_with_its_loft_holds_for_the_shots_below_its_key(tmp_path: Path) -> None:
    export = tmp_path / "range.csv"
    rows = ["Club;58° Wedge", "33.0;31.0;8500;80", "33.1;31.2;8600;81", "Club;Wedge 54°"]
    head = ["Club;56° Wedge", "Ball speed (m/s);Launch angle (deg);Spin (rpm);Carry (m)"]
    shots = ["33.4;31.5;8700;81.5", "33.6;31.7;8800;82"]
    export.write_text("\n".join([*head, "33.3;31.1;8400;82", *rows, *shots]), encoding="utf-8")
    clubs = rl.read_export(export).shots["club"].to_list()
    assert clubs == ["56-wedge", "58-wedge", "58-wedge", "54-wedge", "54-wedge"]


SIZED = [
    ("Side, absolute value (m)", "Direction", "right", "left", 1.0),
    ("side_abs_m", "side_dir", "R", "L", 1.0),
    ("Écart latéral, valeur absolue (m)", "Sens", "droite", "gauche", 1.0),
    ("Seite (Betrag) (m)", "Richtung", "rechts", "links", 1.0),
    ("Desviación (sin signo) (m)", "Lado visto desde el green", "derecha", "izquierda", -1.0),
    ("Afwijking zonder teken m", "Kant (gezien vanaf de green)", "rechts", "links", -1.0),
    ("Avvik (uten fortegn) (m)", "Side sett fra green", "høyre", "venstre", -1.0),
]


@pytest.mark.parametrize(("size", "side", "right", "left", "sign"), SIZED)
def test_a_size_has_the_side_that_another_column_says(
    tmp_path: Path, size: str, side: str, right: str, left: str, sign: float
) -> None:
    flights = launches()
    across = flights["carry_side_m"].round(2)
    text = table({
        "Club": clubs(), "Ball speed (m/s)": flights["ball_speed_mps"],
        "Launch (deg)": flights["launch_angle_deg"], "Carry (m)": flights["carry_m"],
        size: np.abs(across), side: [right if x > 0 else left for x in across],
    }, delimiter=";")  # fmt: skip
    shots = prepared(tmp_path, text).shots
    assert shots["carry_side_m"].to_list() == pytest.approx((sign * across).tolist())


@pytest.mark.parametrize("size", [row[0] for row in SIZED])
def test_a_size_alone_has_no_side_and_that_is_told(tmp_path: Path, size: str) -> None:
    flights = launches()
    text = table({
        "Club": clubs(), "Ball speed (m/s)": flights["ball_speed_mps"],
        "Launch (deg)": flights["launch_angle_deg"], "Carry (m)": flights["carry_m"],
        size: np.abs(flights["carry_side_m"]),
    }, delimiter=";")  # fmt: skip
    export = prepared(tmp_path, text)
    assert export.shots["carry_side_m"].null_count() == 14
    assert any(size in str(remark) for remark in export.remarks)
