"""Ways of exports that need two cells, two lines or a second thought to be understood."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from tests.exports.columns import Style
from tests.exports.draft import Draft
from tests.exports.printing import Column, pick
from tests.exports.trade_words import SIDES

_MINUS = "-−"
# A heading for a column that holds nothing but left and right.
_WHICH_SIDE = {
    "en": ("Miss side", "L/R", "Side of line"),
    "de": ("Seite L/R", "Links/rechts"),
    "fr": ("Côté", "G/D"),
    "es": ("Lado", "I/D"),
    "sv": ("Sida V/H", "Vänster/höger"),
}
# Where a wind comes from, from the target clockwise.
_WINDS: dict[str, dict[str, float]] = {
    "en": {"headwind": 0.0, "tailwind": 180.0, "from the left": 270.0, "right to left": 90.0},
    "de": {"Gegenwind": 0.0, "Rückenwind": 180.0, "von links": 270.0, "von rechts": 90.0},
    "fr": {"vent de face": 0.0, "vent arrière": 180.0, "de gauche": 270.0, "de droite": 90.0},
    "es": {"en contra": 0.0, "a favor": 180.0, "de la izquierda": 270.0},
    "sv": {"motvind": 0.0, "medvind": 180.0, "från vänster": 270.0, "från höger": 90.0},
}
# Labels that no vocabulary has, each with the statistic that stands beside it.
_ODD_LABELS: tuple[tuple[str, Callable[..., Any]], ...] = (
    ("Wobble", np.std),
    ("Tail end", np.min),
    ("Top end", np.max),
    ("Middling", np.median),
)


def split_sides(draft: Draft) -> None:
    """Move the sign of the side into a column of its own, on the right of the sizes."""
    rng, style = draft.rng, draft.style
    plain = style.sides == "sign" and not style.left_positive
    side = next((c for c in draft.columns if c.name == "carry_side_m"), None)
    if side is None or not plain or rng.random() > 0.25 or not _signs_lead(side):
        return
    if any(mark in side.heading for mark in "(+-"):
        return
    words = SIDES[style.language][0]
    letters = [words[0] if w is not None and float(w) < 0 else words[1] for w in side.worth]
    side.cells = [cell.lstrip(_MINUS + "+ ") for cell in side.cells]
    heading = str(pick(rng, _WHICH_SIDE[style.language]))
    place = next(k for k, column in enumerate(draft.columns) if column is side)
    draft.columns.insert(place + 1, Column("which_side", heading, cells=letters))
    style.trait.add("sides:column")


def _signs_lead(side: Column) -> bool:
    """Whether every cell left of the line begins with a minus."""
    pairs = zip(side.cells, side.worth, strict=True)
    return all((cell[:1] in _MINUS) == (worth < 0) for cell, worth in pairs if worth)


def shout_names(draft: Draft) -> None:
    """Write a player's name in capitals in a few rows."""
    column = next((c for c in draft.columns if c.name == "player"), None)
    if column is None or draft.rng.random() > 0.25:
        return
    column.cells = [cell.upper() if k % 5 == 3 else cell for k, cell in enumerate(column.cells)]
    draft.style.trait.add("player:capitals")


def wind_above(draft: Draft) -> None:
    """A wind with where it comes from, on a line above the table."""
    rng = draft.rng
    if rng.random() > 0.1:
        return
    words = _WINDS[draft.style.language]
    word, speed = str(pick(rng, words)), int(rng.integers(1, 8))
    count = len(draft.shots)
    draft.above["wind"] = f"{speed} m/s {word}"
    draft.data |= {
        "wind_speed_mps": [float(speed)] * count,
        "wind_from_deg": [words[word]] * count,
    }
    draft.tolerance |= {"wind_speed_mps": 0.01, "wind_from_deg": 0.01}
    draft.style.trait.add("wind:words")


def odd_statistics(
    columns: list[Column], shots: list[int], style: Style, rng: np.random.Generator
) -> list[list[str]]:
    """Rows of statistics under labels that nobody knows, in the place of the club."""
    place = next((k for k, column in enumerate(columns) if column.name == "club"), None)
    measured = [c for c in columns if c.unit and c.worth and all(w is not None for w in c.worth)]
    spoilt = style.trait & {"impossible", "no-number"}
    few = len(measured) < 4 or len(shots) < 5
    if place is None or few or spoilt or style.left_positive:
        return []
    rows = []
    for label, statistic in _ODD_LABELS[: int(rng.integers(1, 5))]:
        cells = ["" if c not in measured else _printed(c, shots, statistic, style) for c in columns]
        cells[place] = label
        rows.append(cells)
    style.trait.add("summary:odd-labels")
    return rows


def _printed(column: Column, shots: list[int], statistic: Callable[..., Any], style: Style) -> str:
    """A statistic of the numbers as the column shows them, with its decimals."""
    from rangeledger.schemas.units import UNITS

    unit = UNITS[column.unit]
    shown = [float(column.worth[k]) / unit.factor - unit.offset for k in shots]
    decimals = max(0, round(-np.log10(2.0 * column.tolerance / unit.factor)))
    return style.numbers.write(float(statistic(shown)), decimals)
