"""A left beside a right, and letters for sides behind a unit or in a column of their own."""

from __future__ import annotations

from pathlib import Path

import pytest
import rangeledger as rl

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
