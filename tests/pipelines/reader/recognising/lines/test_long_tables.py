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
    shots = zip(clubs, SHOTS * 2, words, strict=True)
    rows = [f"{club},{','.join(shot)},{word}" for club, shot, word in shots]
    assert prepared(tmp_path, "\n".join([head, *rows])).shots["club"].n_unique() == 2


LONG = [
    (shot, club, quantity, value, unit)
    for shot, club, numbers in (
        (1, "7 iron", (50.1, 17.5, 141.2)),
        (2, "7 iron", (49.6, 17.9, 139.8)),
        (3, "driver", (66.2, 11.1, 221.4)),
        (4, "driver", (65.8, 11.9, 219.9)),
    )
    for quantity, value, unit in zip(
        ("ball speed", "launch angle", "carry"), numbers, ("m/s", "deg", "m"), strict=True
    )
]


@pytest.mark.parametrize("order", [(0, 1, 2, 3, 4), (4, 1, 2, 0, 3), (3, 2, 1, 0, 4)], ids=str)
@pytest.mark.parametrize("detail", [False, True])
def test_columns_stand_in_any_order_beside_details_of_each_quantity(
    tmp_path: Path, order: tuple[int, ...], detail: bool
) -> None:
    heads = ["shot", "club", "measure", "value", "unit"]
    lines = [",".join([*(heads[k] for k in order), *(["residual"] if detail else [])])]
    for number, row in enumerate(LONG):
        cells = [str(row[k]) for k in order]
        lines.append(",".join([*cells, *([str(7 * number % 11)] if detail else [])]))
    shots = prepared(tmp_path, "\n".join(lines) + "\n").shots
    assert shots["carry_m"].to_list() == [141.2, 139.8, 221.4, 219.9]
    assert shots["club"].to_list() == ["7-iron", "7-iron", "driver", "driver"]
