"""The start line of a player's putts."""

from __future__ import annotations

from rangeledger.warehouse.pages.putting_words import putting_words
from rangeledger.warehouse.pages.screens.parts import (
    Row,
    Screen,
    ScreenRequest,
    Shown,
    Table,
    Words,
)
from rangeledger.warehouse.pages.units import number, percent

_SQL = "SELECT * FROM putting_start_line WHERE player = $1"


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
    table = Table(
        "putting_start_line",
        "Start direction, right positive, in degrees, and the share holed from five feet, "
        "started so, by the geometry of the hole alone; its interval allows for a device that "
        "scatters by 0 to 0.5 degrees of its own.",
        (
            Shown("Putts", lambda row: str(row["putts"])),
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
    return Screen("Putting", "", (Words("Start line", putting_words(rows)), table))


def _interval(row: Row) -> str:
    low, high = (percent(row[f"share_holed_firm_{end}"]) for end in ("low", "high"))
    return f"{low.removesuffix(' %')}–{high}"
