"""Wind in the words of an export: `8 mph headwind`, `calm`, a column of head wind."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

import polars as pl
from rangeledger.pipelines.reader.normalising.missing import is_missing
from rangeledger.pipelines.reader.recognising.heading_tags import words_in
from rangeledger.pipelines.reader.recognising.profile import Profile
from rangeledger.schemas.compositions import HEAD_WIND, TAIL_WIND
from rangeledger.schemas.headings import unit_symbols
from rangeledger.schemas.units import UNITS
from rangeledger.schemas.words import fold, words_of

SPEED, FROM = "wind_speed_mps", "wind_from_deg"
_FROM_SIDE = {"left": "270", "right": "90"}
_CLOCKS = frozenset({"clock", "oclock", "uhr", "uhrzeit", "heure", "heures", "horloge", "reloj"})
_CLOCKS |= {"klockan", "klokken", "klokka", "orologio", "relogio", "klok"}
_HOUR = re.compile(r"^\s*([0-9]{1,2})(?:[.,]0+)?\s*(\D*)$")
_HOUR_IN_WORDS = re.compile(r"(?<![0-9.,:])[0-9]{1,2}(?![0-9.,:])")
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
    direction = direction or _by_hour(words)
    return f"{number} {unit}", direction or words


def _by_hour(words: str) -> str | None:
    """`from 3 o'clock` -> 90: the target is at 12."""
    hours = _HOUR_IN_WORDS.findall(words)
    told = bool({*words_in(words)} & _CLOCKS)
    if not told or len(hours) != 1 or not 1 <= int(hours[0]) <= 12:
        return None
    return str(30 * (int(hours[0]) % 12))


def directions(text: pl.Series, *, from_side: bool) -> pl.Series | None:
    """Where the wind of each row comes from, for a column that says it in words.

    Parameters
    ----------
    text : pl.Series
        Cells such as `ahead`, `from the left`, `Rückenwind`.
    from_side : bool
        Whether a mere `left` says where the wind comes from, as below `Wind from`.

    Returns
    -------
    pl.Series or None
        Degrees clockwise from the target, null where there is no wind; None unless every cell that
        is not missing is such a word.
    """
    meanings = words_of("wind_from")
    cells = [cell for cell in text.drop_nulls().unique() if not is_missing(cell)]
    sides = _FROM_SIDE if from_side else {}
    told = {cell: meanings.get(fold(cell)) or sides.get(_side(cell)) for cell in cells}
    if not told or None in told.values():
        return None
    degrees = {cell: None if said == "calm" else float(said) for cell, said in told.items() if said}
    return text.replace_strict(degrees, default=None, return_dtype=pl.Float64).alias(FROM)


def by_clock(profile: Profile) -> pl.Series | None:
    """Where the wind of each row comes from, for a column that says it as an hour, `2 o'clock`.

    Parameters
    ----------
    profile : Profile
        A column whose heading speaks of the wind.

    Returns
    -------
    pl.Series or None
        Degrees clockwise from the target, which is at 12; None unless the heading or every cell
        speaks of a clock and every cell that is not missing is an hour from 1 to 12.
    """
    words = {*words_in(profile.heading.text)}
    headed = bool(words & _CLOCKS)
    hours: dict[str, float] = {}
    for cell in profile.text.drop_nulls().unique():
        if is_missing(cell):
            continue
        found = _HOUR.match(cell)
        told = found is not None and (headed or bool({*words_in(found[2])} & _CLOCKS))
        if found is None or not told or not 1 <= int(found[1]) <= 12:
            return None
        hours[cell] = 30.0 * (int(found[1]) % 12)
    if not hours:
        return None
    kind: dict[str, Any] = {"default": None, "return_dtype": pl.Float64}
    return profile.text.replace_strict(hours, **kind).alias(FROM)


def whole_winds(text: pl.Series) -> dict[str, pl.Series]:
    """Speed and direction of the wind from a column that says both, `8 mph headwind`.

    Parameters
    ----------
    text : pl.Series
        The cells.

    Returns
    -------
    dict[str, pl.Series]
        Canonical columns in m/s and degrees; empty unless every cell that is not missing says
        both, or that there is no wind.
    """
    speeds: dict[str, float] = {}
    origins: dict[str, float | None] = {}
    for cell in text.drop_nulls().unique():
        if is_missing(cell):
            continue
        parts = parts_of_wind(cell)
        calm = parts is not None and parts[1] is None
        if parts is None or not (calm or str(parts[1]).isdigit()):
            return {}
        number, unit = parts[0].split(" ", 1)
        symbol = next(s for s in unit_symbols(unit) if UNITS[s].dimension == "speed")
        speeds[cell] = float(number.replace(",", ".")) * UNITS[symbol].factor
        origins[cell] = None if calm else float(str(parts[1]))
    if not speeds:
        return {}
    kind: dict[str, Any] = {"default": None, "return_dtype": pl.Float64}
    return {
        SPEED: text.replace_strict(speeds, **kind).alias(SPEED),
        FROM: text.replace_strict(origins, **kind).alias(FROM),
    }


def _side(cell: str) -> str:
    return words_of("sides").get(fold(cell), "")


def is_cross_wind(profile: Profile) -> bool:
    """Whether a column speaks of a wind across the line: `Crosswind`, `Wind from right`."""
    tags = profile.heading.tags
    return "cross_wind" in tags or (
        "wind" in tags and profile.is_number and bool(_origins(profile))
    )


def _origins(profile: Profile) -> set[str]:
    """Sides that the words of a heading name; single letters are left to units."""
    sides = words_of("sides")
    told = {sides.get(word) for word in words_in(profile.heading.text) if len(word) > 1}
    return {side for side in told if side in _FROM_SIDE}


def wind_across(profiles: Sequence[Profile]) -> pl.Series | None:
    """The part of the wind that comes from the right, where a column says it by itself.

    Parameters
    ----------
    profiles : sequence of Profile
        Columns that nobody claims.

    Returns
    -------
    pl.Series or None
        In m/s, from the right positive. None unless one column has a unit of speed and says from
        which side its wind comes: a mere `right positive` may be where it blows to.
    """
    found = [profile for profile in profiles if is_cross_wind(profile)]
    if len(found) != 1 or found[0].numbers is None or "from" not in found[0].heading.tags:
        return None
    profile, numbers = found[0], found[0].numbers
    units = [u for u in profile.heading.units if UNITS[u].dimension == "speed"]
    origins = _origins(profile)
    origin = profile.heading.positive or (origins.pop() if len(origins) == 1 else None)
    if origin not in _FROM_SIDE or not units or not numbers.clean:
        return None
    sign = 1.0 if origin == "right" else -1.0
    return numbers.value * (sign * UNITS[units[0]].factor)


def along_the_line(
    values: dict[str, pl.Series], cross_is_there: bool, across: pl.Series | None = None
) -> list[str]:
    """Wind speed and direction from a column of head or tail wind, where no other says them.

    Parameters
    ----------
    values : dict[str, pl.Series]
        Columns in canonical units; the helpers are taken out, the wind is put in.
    cross_is_there : bool
        Whether the export also has a cross wind, so that the wind isn't along the line.
    across : pl.Series, optional
        The part of the wind from the right [m/s].

    Returns
    -------
    list[str]
        What was assumed.
    """
    head, tail = values.pop(HEAD_WIND, None), values.pop(TAIL_WIND, None)
    both_or_none = (head is None) == (tail is None)
    blocked = cross_is_there and across is None
    if both_or_none or blocked or {SPEED, FROM} & values.keys():
        return []
    against = head if head is not None else pl.Series(-tail if tail is not None else [])
    if across is not None:
        parts = pl.DataFrame({"against": against, "across": across})
        speed = (pl.col("against") ** 2 + pl.col("across") ** 2).sqrt()
        origin = pl.arctan2("across", "against").degrees() % 360.0
        values[SPEED] = parts.select(speed.alias(SPEED)).to_series()
        values[FROM] = parts.select(pl.when(speed > 0).then(origin).alias(FROM)).to_series()
        return ["The wind was put together from its parts along and across the target line."]
    values[SPEED] = against.abs().alias(SPEED)
    frame = pl.DataFrame({"against": against})
    told = pl.when(pl.col("against") > 0).then(0.0).when(pl.col("against") < 0).then(180.0)
    values[FROM] = frame.select(told.cast(pl.Float64)).to_series().alias(FROM)
    return ["The wind was read as blowing along the target line, as its heading says."]
