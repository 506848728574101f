"""Wind in the words of an export: `8 mph headwind`, `calm`, a column of head wind."""

from __future__ import annotations

import re

import polars as pl

from schemas.compositions import HEAD_WIND, TAIL_WIND
from schemas.headings import unit_symbols
from schemas.units import UNITS
from schemas.words import fold, words_of

SPEED, FROM = "wind_speed_mps", "wind_from_deg"
_WIND = re.compile(r"^\s*([^\d]*?)\s*(\d+(?:[.,]\d+)?)\s*([^\s\d,;(]+)[\s,;(]*([^)]*)\)?\s*$")


def parts_of_wind(text: str) -> tuple[str, str | None] | None:
    """Speed and direction of a wind that one text states together.

    Parameters
    ----------
    text : str
        `8 mph headwind`, `3 m/s from the left`, `calm`.

    Returns
    -------
    tuple[str, str or None] or None
        The speed with its unit, and where the wind comes from in degrees, clockwise from the
        target, else the words themselves where they don't speak of the target line, as a compass
        point doesn't. None as a whole where the text holds nothing beside a speed.
    """
    meanings = words_of("wind_from")
    if meanings.get(fold(text)) == "calm":
        return "0 m/s", None
    found = _WIND.match(text)
    if found is None:
        return None
    before, number, unit, after = found.groups()
    if not any(UNITS[s].dimension == "speed" for s in unit_symbols(unit)):
        return None
    words = f"{before} {after}".strip()
    if not words:
        return None
    direction = meanings.get(fold(words)) or meanings.get(fold(words).removesuffix(" wind"))
    return f"{number} {unit}", direction or words


def along_the_line(values: dict[str, pl.Series], cross_is_there: bool) -> list[str]:
    """Wind speed and direction from a column of head or tail wind, where no other says them.

    Parameters
    ----------
    values : dict[str, pl.Series]
        Columns in canonical units; the helpers are taken out, the wind is put in.
    cross_is_there : bool
        Whether the export also has a cross wind, so that the wind isn't along the line.

    Returns
    -------
    list[str]
        What was assumed.
    """
    head, tail = values.pop(HEAD_WIND, None), values.pop(TAIL_WIND, None)
    both_or_none = (head is None) == (tail is None)
    if both_or_none or cross_is_there or {SPEED, FROM} & values.keys():
        return []
    against = head if head is not None else pl.Series(-tail if tail is not None else [])
    values[SPEED] = against.abs().alias(SPEED)
    frame = pl.DataFrame({"against": against})
    told = pl.when(pl.col("against") > 0).then(0.0).when(pl.col("against") < 0).then(180.0)
    values[FROM] = frame.select(told.cast(pl.Float64)).to_series().alias(FROM)
    return ["The wind was read as blowing along the target line, as its heading says."]
