"""A player's sessions: what was hit, in which wind, and whether it counts."""

from __future__ import annotations

from typing import Any

import polars as pl
from rangeledger.schemas.units import counted
from rangeledger.warehouse.pages.conditions_words import air_words, wind_words
from rangeledger.warehouse.pages.screens.parts import Row, Screen, ScreenRequest, Shown, Table
from rangeledger.warehouse.pages.screens.today import clubs_named
from rangeledger.warehouse.pages.units import day

_SQL = """
    SELECT s.session_id, s.started_at, s.shots, s.clubs, s.balls, s.air_temp_c, s.altitude_m,
           s.wind_source, s.head_wind_mps, s.head_wind_mph, s.cross_wind_mps, s.cross_wind_mph,
           s.excluded, s.moved, s.merged, f.cause
    FROM sessions AS s
    LEFT JOIN (SELECT session_id, min(cause) AS cause FROM session_flags GROUP BY ALL) AS f
        ON f.session_id = s.session_id
    WHERE s.player = $1 ORDER BY s.started_at DESC NULLS LAST, s.session_id"""
# A phone scrolls so many at most.
_A_PAGE = 20
# A session is offered to be merged with so many before it and after it.
_NEAR = 3
_NAMES_SQL = """
    SELECT DISTINCT said FROM ledger.player_names
    WHERE player = $1 AND lower(said) <> lower($1) ORDER BY said"""


def sessions(request: ScreenRequest) -> Screen:
    """The sessions, the newest first.

    Parameters
    ----------
    request : ScreenRequest
        Whose.

    Returns
    -------
    Screen
    """
    rows = request.rows(_SQL)
    seen, asks = page_of_sessions(request, rows)
    table = Table(
        "sessions",
        "Sessions, the newest first. A session that is left out keeps its shots but counts in no "
        "fit.",
        (
            Shown("Session", session_day, to=_to_shots),
            Shown("Shots", lambda row: str(row["shots"])),
            Shown("Clubs", lambda row: clubs_named(row["clubs"]), words=True),
            Shown("Air", lambda row: air_words(row, request.unit), words=True),
            Shown("Wind reckoned with", lambda row: wind_words(row, request.unit), words=True),
            Shown("Stands out", lambda row: row["cause"] or "", words=True),
            Shown("Decided", decided_words, words=True),
        ),
        rows,
        soft=lambda row: bool(row["excluded"]),
        lines_of=seen,
    )
    names = request.rows(_NAMES_SQL)["said"].to_list()
    asks |= {"others": request.others, "names": names, "near": near_sessions(rows)}
    return Screen("Sessions", "", (table,), asks)


def near_sessions(rows: pl.DataFrame) -> dict[str, list[tuple[str, str]]]:
    """Sessions with which each may be merged: those before and after it, the nearest first.

    Parameters
    ----------
    rows : polars.DataFrame
        All sessions in their order.

    Returns
    -------
    dict of str to list of (str, str)
        By session: id and words of the others.
    """
    found = rows.select("session_id", "started_at", "shots").to_dicts()
    words = [(str(row["session_id"]), _when_and_how_many(row)) for row in found]
    return {
        session: [
            words[place]
            for step in range(1, _NEAR + 1)
            for place in (here + step, here - step)
            if 0 <= place < len(words)
        ]
        for here, (session, _) in enumerate(words)
    }


def _when_and_how_many(row: Row) -> str:
    when = f"{row['started_at']:%Y-%m-%d %H:%M}" if row["started_at"] else "without a time"
    return f"{when}, {counted(row['shots'], 'shot')}"


def decided_words(row: Row) -> str:
    """What the user decided on a session beside leaving it out."""
    moved = ["moved here from another player"] if row["moved"] else []
    merged = [f"merged of {row['merged']} visits"] if row["merged"] > 1 else []
    return "; ".join(moved + merged)


def page_of_sessions(
    request: ScreenRequest, rows: pl.DataFrame
) -> tuple[pl.DataFrame, dict[str, Any]]:
    """The sessions of the page that is asked for, and where in the whole that is.

    Parameters
    ----------
    request : ScreenRequest
        `page` counts from 1; `show=all` asks for all.
    rows : polars.DataFrame
        All sessions, the newest first.

    Returns
    -------
    seen : polars.DataFrame
    place : dict
        `page` and `pages`; empty where all are shown.
    """
    if request.one("show") == "all":
        return rows, {}
    pages = max(-(-rows.height // _A_PAGE), 1)
    page_text = request.one("page")
    page = min(max(int(page_text), 1), pages) if page_text.isdecimal() else 1
    return rows.slice((page - 1) * _A_PAGE, _A_PAGE), {"page": page, "pages": pages}


def session_day(row: Row) -> str:
    """Day of a session and whether it is left out."""
    when = day(row["started_at"]) if row["started_at"] else str(row["session_id"])[:10]
    return f"{when} (left out)" if row["excluded"] else when


def _to_shots(row: Row) -> str:
    return f"dispersion?session={row['session_id']}"
