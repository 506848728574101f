"""Axes that a line explains give headings of letters their meaning."""

from __future__ import annotations

from pathlib import Path

import pytest
from rangeledger.pipelines.reader.recognising.lines.axes import axes_in

from tests.pipelines.reader.recognising.writing import clubs, launches, prepared, table

LEFT = {"x": "along", "y": "sideways (+ left)"}
RIGHT = {"x": "along", "y": "sideways (+ right)"}


@pytest.mark.parametrize(
    ("line", "axes"),
    [
        ("axes: x along the target line, y to the left (seen from behind the ball), z up", LEFT),
        ("x = downrange, y = lateral (positive right), z = height", RIGHT),
        ("Achsen: x entlang der Ziellinie, y quer dazu nach rechts, z nach oben", RIGHT),
        ("Axes : x le long de la ligne de cible, y vers la droite, z vers le haut", RIGHT),
        ("Ejes: x a lo largo de la línea objetivo, y hacia la izquierda, z hacia arriba", LEFT),
        ("Assen: x langs de doellijn, y naar links, z omhoog", LEFT),
        ("x downrange, z to the right, y up", {"x": "along", "z": "sideways (+ right)"}),
        ("y to the left", {}),  # half a frame
        ("Bay 3, y today", {}),
    ],
)
def test_a_line_explains_its_axes(line: str, axes: dict[str, str]) -> None:
    assert axes_in([line]) == axes


@pytest.mark.parametrize(("way", "sign"), [("left", -1.0), ("right", 1.0)])
def test_a_landing_point_in_axes_is_carry_and_side(tmp_path: Path, way: str, sign: float) -> None:
    flights = launches()
    text = table({
        "club": clubs(), "v0 [m/s]": flights["ball_speed_mps"],
        "elevation [deg]": flights["launch_angle_deg"], "spin [rpm]": flights["spin_rate_rpm"],
        "x_land [m]": flights["carry_m"], "y_land [m]": sign * flights["carry_side_m"],
    })  # fmt: skip
    shots = prepared(tmp_path, f"# x along the target line, y to the {way}, z up\n{text}").shots
    assert shots["carry_m"].to_list() == pytest.approx(flights["carry_m"], abs=0.01)
    assert shots["carry_side_m"].to_list() == pytest.approx(flights["carry_side_m"], abs=0.01)
