"""Sentences on signs, wherever they stand: what is not heard must not be loaded by custom."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import numpy as np
import pytest
from rangeledger.pipelines.reader.recognising.words.statements import statements_in

from tests.pipelines.reader.recognising.writing import MPH_MPS, YARD_M, clubs, launches, prepared

SENTENCES = [
    "sign convention of this file: all lateral columns (direction, axis, side): LEFT positive, "
    "right negative",
    "Sides: left of target positive, right negative",
    "+ = left, - = right",
    "Offline: a plus is left, a minus is right",
    "Vorzeichen: links positiv, rechts negativ",
    "Convention : positif à gauche, négatif à droite",
]
PLACES = {
    "a comment": "# {s}\n{t}",
    "a line": "{s}\n{t}",
    "a line with a blank one": "{s}\n\n{t}",
    "below a key": "Player{d}Ann Brook\n{s}\n{t}",
    "the foot": "{t}{s}\n",
    "a list": "* {s}\n{t}",
}


@pytest.mark.parametrize(("place", "delimiter"), list(product(PLACES, (",", ";"))), ids=str)
def test_a_sentence_on_signs_is_heard_wherever_it_stands(
    tmp_path: Path, place: str, delimiter: str
) -> None:
    flights = launches(8)
    cells = [
        flights["ball_speed_mps"] / MPH_MPS, flights["launch_angle_deg"], flights["spin_rate_rpm"],
        flights["carry_m"] / YARD_M, -flights["carry_side_m"] / YARD_M,
    ]  # fmt: skip
    heads = ["Club", "Ball speed (mph)", "Launch (deg)", "Spin (rpm)", "Carry (yd)", "Side (yd)"]
    rows = [heads, *([c, *(f"{v:.1f}" for v in v)] for c, *v in zip(clubs(8), *cells, strict=True))]
    table = "".join(delimiter.join(row) + "\n" for row in rows)
    for number, sentence in enumerate(SENTENCES):
        text = PLACES[place].format(s=sentence, t=table, d=delimiter)
        sides = prepared(tmp_path, text, name=f"{number}.csv").shots["carry_side_m"].to_numpy()
        assert np.allclose(sides, flights["carry_side_m"], atol=0.06), sentence


def test_signs_of_several_columns_are_told_apart_at_commas() -> None:
    line = "Vorzeichen: Seite + = links, Startrichtung + = rechts, Spinachse + = rechts geneigt"
    told = {name: s.positive for s in statements_in(line, 1) for name in s.columns}
    assert told["carry_side_m"] == "left"
    assert told["launch_direction_deg"] == told["spin_axis_deg"] == "right"


@pytest.mark.parametrize(
    "line",
    [
        "minus = links, plus = rechts, von hinten gesehen",
        "minus = gauche, plus = droite, vu de derrière",
        "minus is left, plus is right, seen from behind",
    ],
)
def test_a_view_behind_a_comma_is_no_place(line: str) -> None:
    assert [s.positive for s in statements_in(line, 1)] == ["right"]


@pytest.mark.parametrize(
    ("line", "side"),
    [
        ("Sides are noted with + when the ball lands to the left of the target.", "left"),
        ("Los lados se anotan con + cuando la bola cae a la izquierda del objetivo.", "left"),
        ("Offline is given a minus whenever the ball has come down on the right of it", "left"),
    ],
)
def test_one_sign_and_one_side_go_together_however_far_apart(line: str, side: str) -> None:
    assert [s.positive for s in statements_in(line, 1)] == [side]


def test_a_sign_shared_by_two_names_behind_it() -> None:
    line = "Left counts as plus in all side values (side spin and offline)"
    named = frozenset().union(*(s.columns for s in statements_in(line, 1)))
    assert {"side_spin_rpm", "carry_side_m"} <= named


def test_sides_in_a_line_on_winds_are_no_signs() -> None:
    line = "Räknas så: 0 = medvind, 90 = från vänster, 180 = motvind, 270 = från höger."
    assert statements_in(line, 1) == []
