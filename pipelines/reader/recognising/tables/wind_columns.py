"""Wind in the columns of an export: words for directions, hours, parts along and across."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

import polars as pl
from rangeledger.pipelines.reader.normalising.missing import is_missing
from rangeledger.pipelines.reader.recognising.columns.assignment import Assigned
from rangeledger.pipelines.reader.recognising.columns.profile import Profile
from rangeledger.pipelines.reader.recognising.words.heading_tags import words_in
from rangeledger.pipelines.reader.recognising.words.winds import (
    FROM,
    FROM_SIDE,
    SPEED,
    parts_of_wind,
    side_in,
)
from rangeledger.schemas.compositions import HEAD_WIND, TAIL_WIND
from rangeledger.schemas.headings import unit_symbols
from rangeledger.schemas.units import UNITS
from rangeledger.schemas.words import fold, words_of

_HOUR = re.compile(r"^\s*([0-9]{1,2})(?:[.,]0+)?\s*(\D*)$")


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
    sides = FROM_SIDE if from_side else {}
    origins = {cell: meanings.get(fold(cell)) or sides.get(side_in(cell)) for cell in cells}
    if not origins or None in origins.values():
        return None
    degrees = {cell: None if at == "calm" else float(at) for cell, at in origins.items() if at}
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
    clocks = words_of("clocks").keys()
    words = {*words_in(profile.heading.text)}
    headed = bool(words & clocks) and not profile.heading.units  # `km per hour` is no clock
    hours: dict[str, float] = {}
    for cell in profile.text.drop_nulls().unique():
        if is_missing(cell):
            continue
        found = _HOUR.match(cell)
        clock_named = found is not None and (headed or bool({*words_in(found[2])} & clocks))
        if found is None or not clock_named or not 1 <= int(found[1]) <= 12:
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


def is_cross_wind(profile: Profile) -> bool:
    """Whether a column speaks of a wind across the line: `Crosswind`, `Wind from right`."""
    tags = profile.heading.tags
    return "cross_wind" in tags or (
        "wind" in tags and profile.is_number and bool(_origins(profile))
    )


def _origins(profile: Profile) -> set[str]:
    """Sides that the words of a heading name; single letters are left to units."""
    sides = words_of("sides")
    named = {sides.get(word) for word in words_in(profile.heading.text) if len(word) > 1}
    return {side for side in named if side in FROM_SIDE}


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
    if origin not in FROM_SIDE or not units or not numbers.clean:
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
    direction = pl.when(pl.col("against") > 0).then(0.0).when(pl.col("against") < 0).then(180.0)
    values[FROM] = frame.select(direction.cast(pl.Float64)).to_series().alias(FROM)
    return ["The wind was read as blowing along the target line, as its heading says."]


def wind_words(
    columns: Mapping[str, Assigned], unassigned: Sequence[Profile]
) -> dict[str, pl.Series]:
    """Where the wind comes from, out of a column that says it in words.

    Parameters
    ----------
    columns : Mapping[str, Assigned]
        What the columns are.
    unassigned : sequence of Profile
        Columns that nobody claims.

    Returns
    -------
    dict[str, pl.Series]
        Canonical columns in m/s and degrees; empty where no column says it.
    """
    for profile in unassigned if FROM not in columns else ():
        if "wind" not in profile.heading.tags or "towards" in profile.heading.tags:
            continue
        hours = by_clock(profile)
        if hours is not None:
            return {FROM: hours}
        if not profile.heading.unknown:
            found = directions(profile.text, from_side="from" in profile.heading.tags)
            if found is not None:
                return {FROM: found}
            both = whole_winds(profile.text) if SPEED not in columns else {}
            if both:
                return both
    return {}
