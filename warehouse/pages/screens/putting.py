"""The start line of a player's putts."""

from __future__ import annotations

from typing import Final

import polars as pl
from rangeledger.warehouse.pages.putting_words import of_all_putts, of_each_break, putting_words
from rangeledger.warehouse.pages.screens.parts import (
    Row,
    Screen,
    ScreenRequest,
    Shown,
    Table,
    Words,
)
from rangeledger.warehouse.pages.units import number, percent

_SQL = "SELECT * FROM putting_start_line WHERE player = $1 ORDER BY ALL"
_CAPTION: Final = (
    "Start direction, right positive, in degrees, and the share holed from five feet, "
    "started so, by the geometry of the hole alone; its interval allows for a device that "
    "scatters by 0 to 0.5 degrees of its own."
)
_CAPTION_BY_BREAK: Final = (
    "The same by break, as the export says it, with the number of putts; of putts that break a "
    "level green tells no share."
)


def putting(request: ScreenRequest) -> Screen:
    """Where putts start, and what that alone holes.

    Parameters
    ----------
    request : ScreenRequest
        Whose.

    Returns
    -------
    Screen
    """
    rows = request.rows(_SQL)
    if rows.is_empty():
        none = ["No putt with a start direction is loaded yet."]
        return Screen("Putting", "", (Words("Start line", none),))
    every, by_break = of_all_putts(rows), of_each_break(rows)
    tables = [_table("putting_start_line", every, Shown("Putts", lambda row: str(row["putts"])))]
    if by_break.height:
        tables.append(_table("putting_by_break", by_break, Shown("Break", _break_and_putts)))
    return Screen("Putting", "", (Words("Start line", putting_words(rows)), *tables))


def _table(name: str, rows: pl.DataFrame, first: Shown) -> Table:
    """The figures of all putts, or of those of each break."""
    caption = _CAPTION if name == "putting_start_line" else _CAPTION_BY_BREAK
    return Table(
        name,
        caption,
        (
            first,
            Shown("Sessions", lambda row: str(row["sessions"])),
            Shown("Starts", lambda row: number(row["start_direction_deg"], 2)),
            Shown("Spread", lambda row: number(row["start_sd_deg"], 2)),
            Shown("Dying", lambda row: percent(row["share_holed_dead_weight"])),
            Shown("Firm", lambda row: percent(row["share_holed_firm"])),
            Shown("Firm, 90 %", lambda row: _interval(row)),
            Shown("Hard", lambda row: percent(row["share_holed_hard"])),
        ),
        rows,
    )


def _break_and_putts(row: Row) -> str:
    return f"{row['break']}, {row['putts']}"


def _interval(row: Row) -> str:
    low, high = (percent(row[f"share_holed_firm_{end}"]) for end in ("low", "high"))
    return f"{low.removesuffix(' %')}–{high}"
