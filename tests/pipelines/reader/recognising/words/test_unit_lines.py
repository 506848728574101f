"""Lines that list units by kinds of quantity, in every language and with every usual separator."""

from __future__ import annotations

import pytest
from rangeledger.pipelines.reader.recognising.words.statements import statements_in

# Speeds in m/s, distances in metres, heights in feet, as one would write it.
LISTS = {
    "da": ("Enheder", "hastigheder i m/s", "afstande i m", "højder i fod"),
    "de": ("Einheiten", "Geschwindigkeiten in m/s", "Entfernungen in m", "Höhen in Fuß"),
    "en": ("Units", "speeds in m/s", "distances in m", "heights in ft"),
    "es": ("Unidades", "velocidades en m/s", "distancias en m", "alturas en pies"),
    "fr": ("Unités", "vitesses en m/s", "distances en m", "hauteurs en pieds"),
    "it": ("Unità", "velocità in m/s", "distanze in m", "altezze in piedi"),
    "nl": ("Eenheden", "snelheden in m/s", "afstanden in m", "hoogten in voet"),
    "pt": ("Unidades", "velocidades em m/s", "distâncias em m", "alturas em pés"),
    "sv": ("Enheter", "hastigheter i m/s", "avstånd i m", "höjder i fot"),
}


@pytest.mark.parametrize("separator", [", ", "; ", " / ", " | ", ". "])
@pytest.mark.parametrize("language", LISTS)
def test_each_kind_of_quantity_has_the_unit_that_stands_beside_it(
    language: str, separator: str
) -> None:
    title, *parts = LISTS[language]
    stated = statements_in(f"{title}: {separator.join(parts)}", 1)
    units = {s.kind.rstrip("?"): s.unit for s in stated}
    assert units == {"speed": "m/s", "length": "m", "height": "ft"}


@pytest.mark.parametrize(
    "line",
    ["Speeds in km / h, carry and total in yards", "Yards for carry and total, speed in km/h"],
)
def test_what_shares_a_unit_or_holds_a_stroke_is_not_torn_apart(line: str) -> None:
    stated = statements_in(line, 1)
    assert {(s.kind, s.unit) for s in stated} == {("speed", "km/h"), ("length", "yd")}


@pytest.mark.parametrize(
    "line",
    [
        "Distances en mètres, vitesses en kilomètres par heure, angles en degrés.",
        "Distances in metres, speeds in kilometres per hour, angles in degrees",
        "distancias en metros, velocidades en kilómetros por hora, ángulos en grados",
    ],
)
def test_the_words_of_a_speed_state_no_length(line: str) -> None:
    lengths = {s.unit for s in statements_in(line, 1) if s.kind.startswith("length")}
    assert lengths == {"m"}
