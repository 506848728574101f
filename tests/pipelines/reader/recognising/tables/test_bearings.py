"""Winds told by the compass, beside where the target lies."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.pipelines.reader.recognising.writing import prepared

HEAD = "Club,Ball speed (mph),Launch angle (deg),Spin (rpm),Carry (yd)"
SHOTS = [f"7 iron,{flight}" for flight in ("108.1,17.5,6100,149.2", "109.6,16.8,5900,151.8")]


@pytest.mark.parametrize(
    ("lines", "origin"),
    [
        # A wind from the right of the line has the greater bearing; closed form.
        (["Wind: 3.0 m/s from 070°", "Target line bearing: 040°"], 30.0),
        (["Target bearing: 350", "Wind: 3.0 m/s NE"], 55.0),
        (["Peilung zum Ziel: 90°", "Wind: 3 m/s Gegenwind"], 0.0),
        (["Wind: 3.0 m/s from N", "Hitting towards: E"], 270.0),
        (["Wind: 3.0 m/s from 070°"], None),
        (["Wind: 3 m/s from 3 o'clock"], 90.0),
        (["Vent : 3 m/s de dos"], 180.0),
    ],
)
def test_a_compass_wind_is_told_from_the_target_line(
    tmp_path: Path, lines: list[str], origin: float | None
) -> None:
    shots = prepared(tmp_path, "\n".join([*lines, "", HEAD, *SHOTS])).shots
    assert shots["wind_speed_mps"].to_list() == [3.0, 3.0]
    assert shots["wind_from_deg"].to_list() == [origin, origin]


@pytest.mark.parametrize(
    ("heads", "cells", "origin"),
    [
        ("Wind (m/s),Wind from (° true),Target bearing (° true)", "4,300,350", 310.0),
        ("Wind (m/s),Wind from (° true)", "4,300", None),
        ("Wind (m/s),Wind from (deg)", "4,300", 300.0),
    ],
)
def test_a_column_of_compass_winds_needs_the_bearing(
    tmp_path: Path, heads: str, cells: str, origin: float | None
) -> None:
    lines = [f"{HEAD},{heads}", *(f"{shot},{cells}" for shot in SHOTS)]
    shots = prepared(tmp_path, "\n".join(lines)).shots
    assert shots["wind_from_deg"].to_list() == [origin, origin]
