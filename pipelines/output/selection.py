"""Words that choose shots: `player=Ada Brook,swing=clock,since=2026-05-01`."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from rangeledger.schemas.errors import UsageError
from rangeledger.warehouse.database import query

if TYPE_CHECKING:
    import polars as pl
    from rangeledger.warehouse.home import Home

COLUMNS = ("player", "club", "swing", "ball", "surface", "session_id")
DATES = {"since": ">=", "until": "<"}
# Words for kinds of swing, beside a swing's own name.
SWING_KINDS = {
    "clock": "regexp_matches(swing, '^[0-9]{1,2}:[0-9]{2}$')",
    "feel": "swing <> 'full' AND NOT regexp_matches(swing, '^[0-9]{1,2}:[0-9]{2}$')",
}
_KNOWN = ", ".join([*COLUMNS, *DATES])


def condition(selection: str) -> str:
    """SQL condition of a selection.

    Parameters
    ----------
    selection : str
        Comma-separated `key=value`; keys are player, club, swing, ball, surface, session_id,
        since and until (a date each; `until` leaves the day itself out). `swing=clock` means all
        clock positions, `swing=feel` all feel labels.

    Raises
    ------
    UsageError
        If a part can't be understood.
    """
    parts = [part.strip() for part in selection.split(",") if part.strip()]
    if not parts:
        raise UsageError(f"A selection is empty. Write key=value with one of {_KNOWN}.")
    return " AND ".join(_condition(part) for part in parts)


def _condition(part: str) -> str:
    key, sign, value = (word.strip() for word in part.partition("="))
    quoted = "'" + value.replace("'", "''") + "'"
    if not sign or not value or key not in (*COLUMNS, *DATES):
        raise UsageError(f"{part!r} can't be understood. Write key=value with one of {_KNOWN}.")
    if key in DATES:
        return f"struck_at {DATES[key]} TIMESTAMP '{_day(value)}'"
    if key == "swing" and value in SWING_KINDS:
        return f"({SWING_KINDS[value]})"
    return f"{key} = {quoted}"


def _day(value: str) -> date:
    try:
        return date.fromisoformat(value)
    except ValueError as error:
        raise UsageError(f"{value!r} is no date. Write it as 2026-05-01.") from error


def _with_full_name(home: Home, selection: str) -> str:
    """The selection with a player's name in full, where its beginning was given."""
    from rangeledger.warehouse.pages.bag import player_among

    parts = [part.strip() for part in selection.split(",") if part.strip()]
    for place, part in enumerate(parts):
        key, _, begun = (word.strip() for word in part.partition("="))
        if key == "player" and begun:
            known = query(home, "SELECT DISTINCT player FROM shots ORDER BY ALL")["player"]
            parts[place] = f"player={player_among(known.to_list(), begun)}"
    return ",".join(parts)


def selected_shots(home: Home, selection: str) -> pl.DataFrame:
    """Shots of a selection that count for the fits.

    Raises
    ------
    UsageError
        If the selection can't be understood or holds no shot.
    """
    where = condition(_with_full_name(home, selection))
    shots = query(home, f"FROM shots WHERE NOT excluded AND {where}")
    if not shots.height:
        raise UsageError(
            f"No shot is {selection!r}. "
            "'rangeledger sql \"FROM carry_by_club\"' shows players, clubs, swings and balls."
        )
    return shots
