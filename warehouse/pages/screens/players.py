"""All players: who they are, what their longest club and 7-iron carry, when they last hit."""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl
from rangeledger.schemas.units import counted
from rangeledger.warehouse.pages.screens.parts import Row, Screen, Shown, Table
from rangeledger.warehouse.pages.units import PageUnit, club_words, day

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from duckdb import DuckDBPyConnection

_SQL = """
    WITH full_swings AS (
        SELECT player, club, ball, shots, carry_m, carry_yd, carry_p10_m, carry_p90_m
        FROM carry_by_club WHERE swing = 'full'
    ),
    longest AS (
        FROM full_swings
        QUALIFY row_number() OVER (PARTITION BY player ORDER BY carry_m DESC, ball) = 1
    ),
    irons AS (
        FROM full_swings WHERE club = '7-iron'
        QUALIFY row_number() OVER (PARTITION BY player ORDER BY shots DESC, ball) = 1
    ),
    -- As the view sessions has them, without what else it works out for each.
    visits AS (
        SELECT player, max(started_at) AS last_session_at, count(*) AS sessions,
               sum(shots)::BIGINT AS shots
        FROM (SELECT player, session_id, min(struck_at) AS started_at, count(*) AS shots
              FROM ledger.counted_shots
              WHERE session_id NOT IN (SELECT session_id FROM ledger.current_decisions
                                       WHERE excluded)
              GROUP BY player, session_id)
        GROUP BY player
    ),
    flags AS (
        SELECT player, count(DISTINCT session_id) AS flagged_sessions
        FROM session_flags GROUP BY player
    )
    SELECT v.player, v.last_session_at, v.sessions, v.shots,
           l.club AS longest_club, l.carry_m, l.carry_yd, l.carry_p10_m, l.carry_p90_m,
           i.carry_m AS iron_7_carry_m, i.carry_yd AS iron_7_carry_yd,
           coalesce(f.flagged_sessions, 0) AS flagged_sessions
    FROM visits AS v
    LEFT JOIN longest AS l USING (player)
    LEFT JOIN irons AS i USING (player)
    LEFT JOIN flags AS f USING (player)
    ORDER BY v.player"""


def players(
    connection: DuckDBPyConnection,
    unit: PageUnit,
    address: Callable[[str], str],
    shown: Sequence[str] | None = None,
) -> Screen:
    """Every player on one screen.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        Opened database.
    unit : PageUnit
        Unit of lengths.
    address : callable
        Player -> word of the player's address.
    shown : sequence of str or None
        Players that may be seen; None for all.

    Returns
    -------
    Screen
    """
    rows = connection.execute(_SQL).pl()
    if shown is not None:
        rows = rows.filter(pl.col("player").is_in(list(shown)))
    totals = (
        f"{counted(rows.height, 'player')}, {counted(int(rows['sessions'].sum()), 'session')}, "
        f"{counted(int(rows['shots'].sum()), 'shot')}."
    )
    table = Table(
        "players",
        f"Still-air carry of the longest full swing, with the band of eight of ten next shots, and "
        f"of the 7-iron, {unit.word}. Stand out: sessions that don’t fit the others.",
        (
            Shown("Player", lambda row: row["player"], to=lambda row: address(row["player"])),
            Shown("Last session", lambda row: day(row["last_session_at"])),
            Shown("Longest", lambda row: _longest(row, unit)),
            Shown("8 of 10", lambda row: _band(row, unit)),
            Shown("7-iron", lambda row: unit.whole(row["iron_7_carry_m"])),
            Shown("Sessions", lambda row: str(row["sessions"])),
            Shown("Shots", lambda row: str(row["shots"])),
            Shown("Stand out", lambda row: str(row["flagged_sessions"])),
        ),
        rows,
    )
    return Screen("Players", totals, (table,))


def _longest(row: Row, unit: PageUnit) -> str:
    if row["longest_club"] is None:
        return "–"
    return f"{club_words(row['longest_club'])} {unit.whole(row['carry_m'])}"


def _band(row: Row, unit: PageUnit) -> str:
    return f"{unit.whole(row['carry_p10_m'])}–{unit.whole(row['carry_p90_m'])}"
