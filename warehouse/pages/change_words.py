"""Changes of a player's level in words, and what the monitors that measured it read apart."""

from __future__ import annotations

from typing import Any

import polars as pl
from rangeledger.schemas.units import counted
from rangeledger.warehouse.pages.units import day


def change_sentences(changes: pl.DataFrame) -> list[str]:
    """One sentence a change, all clubs asked together.

    Parameters
    ----------
    changes : polars.DataFrame
        Rows of level_changes.

    Returns
    -------
    list of str
    """
    return [_sentence(row) for row in changes.to_dicts()]


def monitor_sentences(monitors: pl.DataFrame) -> list[str]:
    """One sentence a monitor, where a player was measured by more than one.

    Parameters
    ----------
    monitors : polars.DataFrame
        Rows of the view monitors.

    Returns
    -------
    list of str
        How far the others read from the one that measured most.
    """
    return monitors["told"].to_list() if monitors.height > 1 else []


def _sentence(row: dict[str, Any]) -> str:
    since = f"Since {day(row['since'])}"
    if row["what"]:
        since += f" ({row['what']})"
    after, before = (counted(row[f"sessions_{end}"], "session") for end in ("after", "before"))
    interval = f"90 %: {_signed(row['change_low'])} to {_signed(row['change_high'])}"
    size = f"{_signed(row['change'])} % ({interval}), {after} against {before}"
    if not row["changed"]:
        return f"{since} all clubs together carry {size}: no sure change."
    unsure = " Provisional: one session may be a day of its own." if row["provisional"] else ""
    return f"{since} all clubs together carry {size}.{unsure}"


def _signed(value: float) -> str:
    return f"{value:+.1f}".replace("-", "\N{MINUS SIGN}")
