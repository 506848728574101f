"""Letters and words for sides in headings of nine languages: common practice, no source."""

from __future__ import annotations

from pathlib import Path

import pytest
from rangeledger.pipelines.reader.recognising.words.heading import read_heading

from tests.pipelines.reader.recognising.writing import prepared

# A word for a side, left and right, their letters, positive and negative, a unit.
WORDS = {
    "en": ("Side", "left", "right", "L", "R", "positive", "negative", "yd"),
    "de": ("Seitenabweichung", "links", "rechts", "L", "R", "positiv", "negativ", "m"),
    "fr": ("Écart latéral", "gauche", "droite", "G", "D", "positif", "négatif", "m"),
    "es": ("Desviación lateral", "izquierda", "derecha", "I", "D", "positivo", "negativo", "m"),
    "sv": ("Sidavvikelse", "vänster", "höger", "V", "H", "positiv", "negativ", "m"),
    "it": ("Scarto laterale", "sinistra", "destra", "S", "D", "positivo", "negativo", "m"),
    "nl": ("Zijwaartse afwijking", "links", "rechts", "L", "R", "positief", "negatief", "m"),
    "pt": ("Desvio lateral", "esquerda", "direita", "E", "D", "positivo", "negativo", "m"),
    "da": ("Sideafvigelse", "venstre", "højre", "V", "H", "positiv", "negativ", "m"),
}
LETTERS = [
    "{n} ({u}, {l}={L} {r}={R})", "{n} ({u}, {l} = {L}, {r} = {R})", "{n} [{u}; {l} {L}, {r} {R}]",
    "{n} ({u}; {l}: {L}, {r}: {R})", "{n} {u} ({l}/{r})", "{n} ({l}/{r}) ({u})",
    "{n} {l}-{r} [{u}]",
    "{n} ({u}, {l}/{r})", "{n} ({l}|{r}) {u}", "{n} ({u}) {L}={l} {R}={r}", "{n} ({L}/{R}) [{u}]",
    "{n} ({u}) {L} ({l}) / {R} ({r})",
]  # fmt: skip
SIGNS = {
    "{n} ({u}, - {L})": "right", "{n} ({u}, -={L})": "right", "{n} ({u}, + {R})": "right",
    "{n} ({u}; {R}={p})": "right", "{n} ({u}, {p} = {L})": "left", "{n} ({u}, {L} +)": "left",
    "{n} ({u}) [+{R}/-{L}]": "right", "{n} ({L} {p}, {u})": "left", "{n}, {u}, {L}+": "left",
    "{n} ({u}, {L} {m})": "right", "{n} ({u}; {L} -, {R} +)": "right", "{n} ({l} +, {u})": "left",
    "{n} ({l}-/{r}+) {u}": "right", "{n} (+{l}/-{r}) {u}": "left", "{n} ({u}; {m} = {R})": "left",
}  # fmt: skip


def _written(form: str, language: str) -> str:
    return form.format(**dict(zip("nLRlrpmu", WORDS[language], strict=True)))


@pytest.mark.parametrize("form", LETTERS)
@pytest.mark.parametrize("language", WORDS)
def test_letters_that_a_heading_explains_are_no_sign(language: str, form: str) -> None:
    heading = read_heading(_written(form, language))
    assert heading.best is not None
    assert heading.best.column == "carry_side_m"
    assert heading.units == (WORDS[language][7],)
    assert heading.positive is None
    assert not heading.unclear


@pytest.mark.parametrize("form", SIGNS)
@pytest.mark.parametrize("language", WORDS)
def test_a_sign_is_read_in_any_order(language: str, form: str) -> None:
    heading = read_heading(_written(form, language))
    assert heading.best is not None
    assert heading.best.column == "carry_side_m"
    assert heading.positive == SIGNS[form]


@pytest.mark.parametrize(
    ("text", "column", "positive"),
    [
        ("right_yd", "carry_side_m", "right"),
        ("Side spin (rpm, + curves left)", "side_spin_rpm", "left"),
        ("sidespin_rpm_draw_side_left_pos", "side_spin_rpm", "left"),
        ("Miss seen from the flag (right +) m", "carry_side_m", "left"),
        ("Miss seen from behind (right +) m", "carry_side_m", "right"),
    ],
)
def test_verbs_views_and_bare_sides_of_headings(text: str, column: str, positive: str) -> None:
    heading = read_heading(text)
    assert heading.best is not None
    assert (heading.best.column, heading.positive) == (column, positive)


def test_a_coordinate_is_no_carry_for_sure() -> None:
    assert read_heading("y_carry_m").unknown == ("y",)


HEAD = "Club,Ball speed (mph),Launch angle (deg),Spin (rpm),Carry (m)"
SHOTS = [
    f"7 iron,{f}" for f in ("108.1,17.5,6100,136", "109.6,16.8,5900,139", "106.9,18.2,6300,133")
]


@pytest.mark.parametrize(
    ("heading", "cells"),
    [
        ("Scarto laterale (m; S sinistra, D destra)", ["S 4.1", "D 2.0", "S 0.5"]),
        ("Scarto laterale (m)", ["4.1 S", "2.0 D", "0.5 S"]),
        ("Scarto laterale (m)", ["S 4.1", "D 2.0", "S 0.5"]),
        ("Sida (m, a=vänster b=höger)", ["4.1 a", "2.0 b", "0.5 a"]),
        ("Side (m) (v/h)", ["v 4.1", "h2.0", "0.5v"]),
        ("right_m", ["-4.1", "2.0", "-0.5"]),
    ],
)
def test_cells_follow_the_letters_of_their_heading(
    tmp_path: Path, heading: str, cells: list[str]
) -> None:
    lines = [f'{HEAD},"{heading}"', *(f"{s},{c}" for s, c in zip(SHOTS, cells, strict=True))]
    shots = prepared(tmp_path, "\n".join(lines)).shots
    assert shots["carry_side_m"].to_list() == pytest.approx([-4.1, 2.0, -0.5])


@pytest.mark.parametrize("heading", ["right_m", "Side (m, +/- L R +)", "Side seen from the moon m"])
def test_a_size_or_a_sign_that_nobody_understands_is_no_side(tmp_path: Path, heading: str) -> None:
    lines = [f'{HEAD},"{heading}"', *(f"{s},{c}" for s, c in zip(SHOTS, "412", strict=True))]
    assert prepared(tmp_path, "\n".join(lines)).shots["carry_side_m"].null_count() == 3
