"""Words in the cells: balls, surfaces, names, flags, summary rows."""

from __future__ import annotations

import pytest
from rangeledger.pipelines.reader.normalising.words import (
    ball_of,
    flag_of,
    flight_basis_of,
    hand_of,
    is_summary_word,
    player_of,
    surface_of,
)


@pytest.mark.parametrize(
    ("cell", "ball"),
    [("Range", "range"), ("Übungsball", "range"), ("Balle de practice", "range"),
     ("limited flight", "limited-flight"), ("Premium", "premium"), ("purple", None), ("-", None)],
)  # fmt: skip
def test_balls(cell: str, ball: str | None) -> None:
    assert ball_of(cell) == ball


@pytest.mark.parametrize(
    ("cell", "surface"),
    [("Mat", "mat"), ("Matte", "mat"), ("tapis", "mat"), ("Gras", "grass"), ("césped", "grass"),
     ("peg", "tee"), ("gräs", "grass"), ("sand", None)],
)  # fmt: skip
def test_surfaces(cell: str, surface: str | None) -> None:
    assert surface_of(cell) == surface


@pytest.mark.parametrize(
    ("cell", "name"),
    [("  Ada   Brook ", "Ada Brook"), ("<b>Ann</b>", "<b>Ann</b>"), ("../../etc/x", "../../etc/x"),
     ("=1+1", "=1+1"), ("Zo\u200be\u0301", "Zo\u00e9"), ("a\nb", "a b"), ("n/a", None),
     ("unknown", None), (None, None), ("Ada Brook (left-handed)", "Ada Brook"),
     ("Ada Brook [Linkshänder]", "Ada Brook"), ("Ann (L)", "Ann (L)"),
     ("Ann (guest)", "Ann (guest)"),
     ("'; drop table shots", "'; drop table shots")],
)  # fmt: skip
def test_names_are_just_text(cell: str | None, name: str | None) -> None:
    assert player_of(cell) == name


def test_a_name_without_end_is_cut() -> None:
    assert len(player_of("a" * 10_000) or "") == 200


def test_flags_hands_and_flight_bases() -> None:
    assert [flag_of(c) for c in ("yes", "ja", "oui", "sí", "no", "nej", "0", "?", "maybe")] == [
        True, True, True, True, False, False, False, None, None,
    ]  # fmt: skip
    assert [hand_of(c) for c in ("RH", "Linkshänder", "zurdo", "gaucher", "both")] == [
        "right", "left", "left", "left", None,
    ]  # fmt: skip
    assert [flight_basis_of(c) for c in ("gemessen", "calculé", "x")] == [
        "measured", "modelled", None,
    ]  # fmt: skip


@pytest.mark.parametrize(
    "cell",
    ["Mean", "AVG", "SD", "Std. Dev.", "Mittelwert", "Standardabweichung", "Moyenne", "écart-type",
     "promedio", "desviación típica", "medel", "Ø", "Average (7 Iron)", "7i avg", "Median", "Max",
     "P10", "Q3", "90th percentile", "Driver best", "PW (n=12) std dev"],
)  # fmt: skip
def test_summary_words(cell: str) -> None:
    assert is_summary_word(cell)


@pytest.mark.parametrize(
    "cell",
    ["Max Best", "P48", "7 Iron", "Driver", "SW", "", None, "56°", "Sand Wedge", "12", "°", "…"],
)
def test_clubs_are_no_summary_words(cell: str | None) -> None:
    assert not is_summary_word(cell)
