"""The overview: every player on one page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import polars as pl
from rangeledger.models.strategy.practice_gain import PracticeAdvice
from rangeledger.schemas.units import counted
from rangeledger.warehouse.pages.player_rows import PlayerRows
from rangeledger.warehouse.pages.practice_words import advice
from rangeledger.warehouse.pages.rendering import rendered
from rangeledger.warehouse.pages.units import PageUnit, club_label, day, number, percent


@dataclass(frozen=True, slots=True)
class PlayerEntry:
    """One player on the overview.

    Parameters
    ----------
    rows : PlayerRows
        What the database holds of the player.
    practice : PracticeAdvice
        What stands out and is worth practising.
    link : str
        File of the player's report, empty where there is none.
    """

    rows: PlayerRows
    practice: PracticeAdvice
    link: str = ""


def overview_page(entries: Sequence[PlayerEntry], unit: PageUnit) -> str:
    """The overview as HTML.

    Parameters
    ----------
    entries : sequence of PlayerEntry
        The players.
    unit : PageUnit
        Unit of lengths.

    Returns
    -------
    str
        One self-contained page.
    """
    players = [_player(entry, unit) for entry in entries]
    return rendered(
        "overview.html",
        {
            "players": players,
            "unit": unit,
            "totals": f"{counted(len(players), 'player')}, "
            f"{counted(sum(row['shots'] for row in players), 'shot')} in "
            f"{counted(sum(row['sessions'] for row in players), 'session')}.",
        },
    )


def _player(entry: PlayerEntry, unit: PageUnit) -> dict[str, Any]:
    rows = entry.rows
    full = rows.carry.filter(pl.col("swing") == "full").to_dicts()
    iron = [row for row in full if row["club"] == "7-iron"]
    starts = rows.sessions["started_at"].drop_nulls()
    best = [item["what"].rstrip(".") for item in advice(entry.practice, 2)]
    longest = full[0] if full else None
    middle = max(iron, key=lambda row: row["shots"]) if iron else None
    return {
        "player": rows.player,
        "link": entry.link,
        "sessions": rows.sessions.height,
        "shots": rows.shots.height,
        "last": day(starts.max()),
        "longest": club_label(longest["club"], "full") if longest else "–",
        "carry": unit.whole(longest["carry_m"] if longest else None),
        "band": _band(longest, unit),
        "iron": unit.whole(middle["carry_m"] if middle else None),
        "iron_band": _band(middle, unit),
        "mishits": _mishits(rows.carry),
        "flagged": number(rows.flags["session_id"].n_unique()),
        "practise": "; ".join([*best[:1], *(word[0].lower() + word[1:] for word in best[1:])])
        or "nothing stands out",
    }


def _band(row: dict[str, Any] | None, unit: PageUnit) -> str:
    if row is None:
        return "–"
    return f"{unit.whole(row['carry_p10_m'])}–{unit.whole(row['carry_p90_m'])}"


def _mishits(carry: pl.DataFrame) -> str:
    """Share of mishits over all clubs, each as its report states it."""
    known = carry.filter(pl.col("mishit_rate").is_not_null())
    shots = int(known["shots"].sum())
    return percent(float((known["mishit_rate"] * known["shots"]).sum()) / shots) if shots else "–"
