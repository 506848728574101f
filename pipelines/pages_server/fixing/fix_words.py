"""The fixing page's words: columns, doubts and shots as a coach says them."""

from __future__ import annotations

import re
from typing import Any

from rangeledger.schemas.columns import BY_NAME, STATABLE
from rangeledger.schemas.compositions import HELPERS, SIDED, column_dimension
from rangeledger.schemas.units import MPH_MPS
from rangeledger.warehouse.pages.units import PageUnit, number

_ENDINGS = ("_mps", "_deg", "_rpm", "_m", "_s", "_c", "_hpa", "_pct")
# What the reader says to whoever writes a mapping by hand -> to whoever has the lists before him.
_PAGE_WORDING = (
    ('an empty column = "" keeps', "“nothing that counts” keeps"),
    ('"" the others', "“nothing that counts” for the others"),
    ("put a mapping for its headings into the mappings folder", "choose below"),
    ("State it in a mapping or", "Choose it below, or state it"),
    ("in a mapping", "below"),
)
_NAMES = re.compile(r"\b(" + "|".join(n for n in (*STATABLE, *HELPERS) if "_" in n) + r")\b")
_NOT_SHOWN = ("source_row", "shot_number")


def column_words(name: str) -> str:
    """A canonical column in plain words: `ball_speed_mps` is `ball speed`."""
    bare = next((name.removesuffix(e) for e in _ENDINGS if name.endswith(e)), name)
    return (bare if name in BY_NAME else name).replace("_", " ")


def heading_words(heading: str) -> str:
    """How a column is called: by its heading, and by its place where that is not enough.

    Parameters
    ----------
    heading : str
        As mappings have it: `Carry`, `Carry@5` where several have it, `@5` where it is blank.
    """
    text, mark, place = heading.rpartition("@")
    if not mark or not place.isdigit():
        return heading
    return f"{text}, column {place}" if text else f"Column {place}, without a heading"


def asks_of(column: str) -> tuple[bool, bool]:
    """Whether a unit and a side can be said of a column; of one that is not known yet both can.

    Parameters
    ----------
    column : str
        Canonical column or helper, or empty.
    """
    if not column:
        return True, True
    return column_dimension(column) is not None, column in SIDED


def said_here(sentence: str) -> str:
    """A doubt or refusal of the reader without the words of mapping files."""
    for former, words in _PAGE_WORDING:
        sentence = sentence.replace(former, words)
    return _NAMES.sub(lambda found: column_words(found[1]), sentence)


def shown_shots(after: list[dict[str, Any]], unit: PageUnit) -> list[dict[str, Any]]:
    """The first shots as they would be loaded, in the units of the page.

    Parameters
    ----------
    after : list of dict
        `column` and `values` in canonical units, as `try_reading` answers.
    unit : PageUnit
        Unit of lengths; speeds and temperatures go with it.

    Returns
    -------
    list of dict
        `words` and `cells`.
    """
    return [
        _shown(one["column"], one["values"], unit)
        for one in after
        if one["column"] not in _NOT_SHOWN and set(one["values"]) - {None, "unknown"}
    ]


def _shown(name: str, values: list[Any], unit: PageUnit) -> dict[str, Any]:
    column = BY_NAME.get(name)
    kept = column.unit if column else ""
    customary = unit.symbol == "yd"
    symbol, factor, shift, decimals = {
        "m": (unit.symbol, 1.0 / unit.length_m, 0.0, 1),
        "m/s": ("mph", 1.0 / MPH_MPS, 0.0, 1) if customary else ("m/s", 1.0, 0.0, 1),
        "degC": ("°F", 1.8, 32.0, 0) if customary else ("°C", 1.0, 0.0, 0),
        "deg": ("°", 1.0, 0.0, 1),
        "rpm": ("rpm", 1.0, 0.0, 0),
    }.get(kept, (kept, 1.0, 0.0, 1))
    cells = [
        number(value * factor + shift, decimals)
        if isinstance(value, float)
        else "–" if value is None else str(value).removesuffix("+00:00")
        for value in values
    ]  # fmt: skip
    words = column_words(name)
    return {"words": f"{words}, {symbol}" if symbol else words, "cells": cells}
