"""The start line of putts in words, and how straight a five-foot putt must start."""

from __future__ import annotations

from typing import Final

import polars as pl
from rangeledger.models.coaching.hole_capture import start_line_tolerance_deg
from rangeledger.models.coaching.putting_start_line import ALL_PUTTS, LENGTH_M, PACES_MPS
from rangeledger.schemas.units import counted
from rangeledger.warehouse.pages.units import number, percent

# So many putts of a break are told in words; common practice, no source.
ENOUGH_PUTTS: Final = 10


def putting_words(putting: pl.DataFrame) -> list[str]:
    """The start line in a few sentences.

    Parameters
    ----------
    putting : polars.DataFrame
        The player's rows of putting_start_line, or none.

    Returns
    -------
    list of str
        A paragraph each; none without putts.
    """
    every = of_all_putts(putting)
    if every.is_empty():
        return []
    row = every.to_dicts()[0]
    words = (
        f"{counted(row['putts'], 'putt')} in {counted(row['sessions'], 'session')} start "
        f"{_off_line(row['start_direction_deg'])} on average"
    )
    if row["start_sd_deg"] is None:
        return [words + ".", *_by_break(putting), _needed()]
    return [
        f"{words}, with a spread of {number(row['start_sd_deg'], 2)} degrees: about two of three "
        "start that close to it.",
        *_by_break(putting),
        _needed(),
        "By that geometry alone, started as they are, about "
        f"{percent(row['share_holed_dead_weight'])} of those fall that die at the hole, "
        f"{percent(row['share_holed_firm'])} of firm and {percent(row['share_holed_hard'])} of "
        "hard ones; pace and slope come on top. The device's own scatter, 0 to 0.5 degrees, is "
        f"allowed for: of firm ones between {percent(row['share_holed_firm_low'])} and "
        f"{percent(row['share_holed_firm_high'])}.",
    ]


def of_all_putts(putting: pl.DataFrame) -> pl.DataFrame:
    """The rows of all putts together.

    Parameters
    ----------
    putting : polars.DataFrame
        Rows of putting_start_line; of an earlier version, which tells nothing by break.

    Returns
    -------
    polars.DataFrame
        One row a player.
    """
    return putting.filter(pl.col("break") == ALL_PUTTS) if "break" in putting.columns else putting


def of_each_break(putting: pl.DataFrame) -> pl.DataFrame:
    """The rows of putts whose break is known.

    Parameters
    ----------
    putting : polars.DataFrame
        Rows of putting_start_line; of an earlier version, which tells nothing by break.

    Returns
    -------
    polars.DataFrame
        One row a player and break.
    """
    if "break" not in putting.columns:
        return putting.clear()
    return putting.filter(pl.col("break") != ALL_PUTTS).sort("break")


def _by_break(putting: pl.DataFrame) -> list[str]:
    """Where putts of each break start, of those that are enough to tell it."""
    told = [
        f"{row['break']} ({row['putts']} putts) {_off_line(row['start_direction_deg'])} "
        f"(give or take {number(row['start_direction_se_deg'], 1)})"
        for row in of_each_break(putting).to_dicts()
        if row["putts"] >= ENOUGH_PUTTS
    ]
    if not told:
        return []
    return [
        f"By break, as the export says it, putts start: {'; '.join(told)}. Where the export "
        "measures against the hole, the line that was read is part of that for putts that break; "
        "where it measures against the line aimed at, it is pull or push."
    ]


def _needed() -> str:
    """How far off the middle of the hole a level five-foot putt may start."""
    dying, firm, hard = (
        number(float(start_line_tolerance_deg(LENGTH_M, speed)), 1) for speed in PACES_MPS.values()
    )
    return (
        f"A level five-foot putt must start within {dying} degrees of the middle of the hole to "
        f"fall if it dies there, within {firm} if it is firm (still {PACES_MPS['firm']} m/s at the "
        f"hole), within {hard} if it is hard ({PACES_MPS['hard']} m/s)."
    )


def _off_line(value: float | None) -> str:
    """A start direction against the line in words."""
    if value is None or abs(value) < 0.05:
        return "on the line"
    return f"{abs(value):.1f} degrees {'right' if value > 0 else 'left'} of the line"
