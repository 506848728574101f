"""Tables with a line for each quantity of a shot."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.pipelines.reader.recognising.writing import prepared

SHOTS = [("48.3", "17.5", "6100", "139.2"), ("49.0", "16.8", "5900", "142.8"),
         ("47.6", "18.2", "6300", "136.0")]  # fmt: skip
QUANTITIES = [("ball speed", "m/s"), ("launch angle", "deg"), ("total spin", "rpm"), ("carry", "m")]


@pytest.mark.parametrize("units", ["in a column", "in the names"])
def test_the_lines_of_a_shot_are_put_together(tmp_path: Path, units: str) -> None:
    own = units == "in a column"
    lines = ["shot,club,quantity,value" + ",unit" * own]
    for number, shot in enumerate(SHOTS, 1):
        for (quantity, unit), value in zip(QUANTITIES, shot, strict=True):
            name = quantity if own else f"{quantity} ({unit})"
            lines.append(f"{number},7 iron,{name},{value}" + f",{unit}" * own)
    export = prepared(tmp_path, "\n".join(lines))
    assert export.shots["carry_m"].to_list() == [139.2, 142.8, 136.0]
    assert export.shots["ball_speed_mps"].to_list() == [48.3, 49.0, 47.6]
    assert export.shots["source_row"].to_list() == [2, 6, 10]
    assert export.other_lines.height == 1 + 3 * 3


def test_a_remark_that_names_a_quantity_parts_no_shot(tmp_path: Path) -> None:
    head = "Club,Ball speed (m/s),Launch angle (deg),Spin (rpm),Carry (m),Better"
    words = ["carry", "spin", "ball speed", "carry", "spin", "ball speed"]
    clubs = ["7 iron"] * 3 + ["8 iron"] * 3
    told = zip(clubs, SHOTS * 2, words, strict=True)
    rows = [f"{club},{','.join(shot)},{word}" for club, shot, word in told]
    assert prepared(tmp_path, "\n".join([head, *rows])).shots["club"].n_unique() == 2
