"""Signs told in ways that no grammar foresees: right, or left empty, and never loaded by custom."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.pipelines.reader.recognising.writing import clubs, launches, prepared

# Each says, in its own way, that left of the target counts as positive.
STATEMENTS = [
    "A minus means the ball went right.", "Negative numbers: right side",
    "To the left of the target the value is greater than zero", "Left of target > 0",
    "values below zero are right of target", "Side: L>0, R<0",
    "y axis points to the left of the target line", "y-Achse zeigt nach links",
    "Left misses are recorded with +, right misses with -",
    "positive numbers lie on the left hand side of the range",
    "Directions: anticlockwise positive seen from above", "Sens antihoraire positif",
    "Werte größer null liegen links", "Negatieve waarden liggen rechts van de lijn",
    "Positive to the observer's right as seen from the green, i.e. left for the player",
    "+ = to his right (left for the golfer), seen from the target looking back",
    "Vorzeichen: + heißt links vom Ziel, - heißt rechts vom Ziel (aus Sicht hinter dem Ball)",
    "Los valores negativos están a la derecha", "Valori positivi a sinistra della linea",
    "Negativa värden ligger till höger", "Negative tall er til høyre",
    "Valores negativos ficam à direita", "Valeurs négatives : à droite de la cible",
]  # fmt: skip


@pytest.mark.parametrize("sentence", STATEMENTS)
def test_what_is_told_is_never_loaded_the_other_way(tmp_path: Path, sentence: str) -> None:
    flights = launches(6)
    lines = ["Club;Ball speed (m/s);Launch (deg);Direction (deg);Carry (m);Side (m)"]
    lines += [
        f"{club};{speed:.1f};{launch:.1f};{-start:.1f};{carry:.1f};{-side:.1f}"
        for club, speed, launch, start, carry, side in zip(
            clubs(6), flights["ball_speed_mps"], flights["launch_angle_deg"],
            flights["launch_direction_deg"], flights["carry_m"], flights["carry_side_m"],
            strict=True,
        )
    ]  # fmt: skip
    shots = prepared(tmp_path, "\n".join([sentence, *lines]) + "\n").shots
    for name in ("carry_side_m", "launch_direction_deg"):
        loaded = shots[name].drop_nulls()
        assert not len(loaded) or np.allclose(loaded, flights[name], atol=0.06), name
