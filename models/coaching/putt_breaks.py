"""Which way a putt breaks, where its export says so in words."""

from __future__ import annotations

import json
from functools import lru_cache
from typing import Final

import polars as pl
from rangeledger.schemas.words import fold, words_of

LEFT_TO_RIGHT: Final = "left-to-right"
RIGHT_TO_LEFT: Final = "right-to-left"
STRAIGHT: Final = "straight"


def with_breaks(shots: pl.DataFrame) -> pl.DataFrame:
    """Return shots with a column `break`: which way a putt breaks, as the player sees it.

    Parameters
    ----------
    shots : polars.DataFrame
        One row a shot: club and, where it is known, `extras`: the columns of its export that have
        no canonical meaning, a JSON object.

    Returns
    -------
    polars.DataFrame
        The same with `break`: left-to-right, right-to-left or straight; null for other clubs and
        wherever the export doesn't say, says it of a bare side, or contradicts itself.

    Notes
    -----
    A break is no canonical column: it tells nothing of how a ball flew, few exports have it, and
    the lake keeps it with each shot, so that putts loaded long ago are told by break as well.
    """
    if "extras" not in shots.columns:
        return shots.with_columns(pl.lit(None, dtype=pl.String).alias("break"))
    told = [
        break_of(extras) if club == "putter" and extras else None
        for club, extras in shots.select("club", "extras").iter_rows()
    ]
    return shots.with_columns(pl.Series("break", told, dtype=pl.String))


def break_of(extras: str) -> str | None:
    """Return which way a putt breaks.

    Parameters
    ----------
    extras : str
        JSON object: heading -> cell.

    Returns
    -------
    str or None
        left-to-right, right-to-left or straight; None if no heading or no cell says so, or two
        say different ones.
    """
    cells = json.loads(extras)
    told = {
        _told(cell)
        for heading, cell in cells.items()
        if isinstance(cell, str) and _is_break(heading)
    } - {None}
    return told.pop() if len(told) == 1 else None


@lru_cache(maxsize=4096)
def _is_break(heading: str) -> bool:
    """Whether a heading stands over breaks; what it says in brackets may be of any kind."""
    return fold(heading.split("(")[0].split("[")[0]) in words_of("break_headings")


@lru_cache(maxsize=4096)
def _told(cell: str) -> str | None:
    """What a cell says, with or without how much, and up or down which slope."""
    words, beside = words_of("breaks"), words_of("break_words")
    folded = fold(cell)
    left = [word for word in folded.split() if word not in beside and not word.isdigit()]
    return words.get(folded) or words.get(" ".join(left))
