"""Where shots come down: any clubs, sessions and dates, of one player or of two side by side."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import polars as pl
from rangeledger.schemas.units import counted
from rangeledger.warehouse.pages.overlay_plot import Group, overlay_plans
from rangeledger.warehouse.pages.player_rows import usual_ball
from rangeledger.warehouse.pages.screens.parts import (
    Drawings,
    Row,
    Screen,
    ScreenRequest,
    Shown,
    Table,
)
from rangeledger.warehouse.pages.screens.today import CARRY_SQL, club_choices, club_key
from rangeledger.warehouse.pages.units import club_label, day

# The shots of one side, read once; the table is this reader's own.
_PICKED_SQL = """
    CREATE OR REPLACE TEMP TABLE picked AS
    WITH visits AS (
        SELECT session_id, min(struck_at) AS started_at FROM shots WHERE player = $1
        GROUP BY session_id
    )
    SELECT player, session_id, shot_number, shot_id, club, swing, ball, still_carry_m,
           still_carry_yd, still_side_m, still_side_yd, strike
    FROM shots INNER JOIN visits USING (session_id)
    WHERE player = $1 AND still_carry_m IS NOT NULL AND NOT excluded
        AND (len($2) = 0 OR concat_ws('|', club, swing, ball) IN (SELECT unnest($2)))
        AND (len($3) = 0 OR session_id IN (SELECT unnest($3)))
        AND ($4 IS NULL OR started_at >= $4::DATE) AND ($5 IS NULL OR started_at < $5::DATE + 1)"""
_GROUPS_SQL = """
    SELECT player, club, swing, ball, count(*) AS shots,
           count(*) FILTER (strike = 'mishit') AS mishits,
           avg(still_carry_m) FILTER (strike = 'clean') AS mean_carry_m,
           avg(still_carry_yd) FILTER (strike = 'clean') AS mean_carry_yd,
           stddev_samp(still_carry_m) FILTER (strike = 'clean') AS sd_carry_m,
           stddev_samp(still_carry_yd) FILTER (strike = 'clean') AS sd_carry_yd,
           avg(still_side_m) FILTER (strike = 'clean') AS mean_side_m,
           avg(still_side_yd) FILTER (strike = 'clean') AS mean_side_yd,
           stddev_samp(still_side_m) FILTER (strike = 'clean') AS sd_side_m,
           stddev_samp(still_side_yd) FILTER (strike = 'clean') AS sd_side_yd
    FROM picked
    GROUP BY player, club, swing, ball ORDER BY mean_carry_m DESC NULLS LAST, club, swing, ball"""
_SHOTS_SQL = "SELECT * EXCLUDE (shot_id) FROM picked ORDER BY session_id, shot_number, shot_id"
_ELLIPSES_SQL = """
    SELECT club, swing, ball, level, centre_carry_m, centre_side_m, half_axis_long_m,
           half_axis_short_m, angle_deg, shots_held_out, share_inside
    FROM dispersion WHERE player = $1 ORDER BY club, swing, ball, level"""
_SESSIONS_SQL = """
    SELECT session_id, started_at, shots FROM sessions
    WHERE player = $1 AND NOT excluded ORDER BY started_at DESC NULLS LAST, session_id"""


@dataclass(frozen=True, slots=True)
class Pick:
    """Which shots one side shows."""

    player: str
    clubs: list[str] = field(default_factory=list)
    sessions: list[str] = field(default_factory=list)
    first: str | None = None
    last: str | None = None

    @property
    def whole(self) -> bool:
        """Whether all sessions are in it, so that the fitted ellipses belong to it."""
        return not self.sessions and self.first is None and self.last is None

    def parameters(self) -> list[Any]:
        """Values for the queries above."""
        return [self.player, self.clubs, self.sessions, self.first, self.last]


def dispersion(request: ScreenRequest) -> Screen:
    """Landing points from above.

    Parameters
    ----------
    request : ScreenRequest
        With `club` (as `7-iron|full|range`) and `session`, each any number of times, `first` and
        `last` day, and for the other side `beside` (a player), `first_beside`, `last_beside`.

    Returns
    -------
    Screen
    """
    carry = request.rows(CARRY_SQL)
    clubs = [key for key in request.query.get("club", ()) if key] or _first_choice(carry)
    picks = [_own(request, clubs), *_compared(request, clubs)]
    sides = [_Side(request, pick) for pick in picks]
    plans = overlay_plans([side.groups for side in sides], request.unit)
    titles = [side.title for side in sides]
    drawings = [
        (title, plan, side.caption) for title, plan, side in zip(titles, plans, sides, strict=True)
    ]
    about = (
        f"From above, the target straight up, still air, {request.unit.word}. Round marks are "
        "clean strikes, crosses mishits; the line around a club holds eight of ten next shots, "
        "and is drawn where all its sessions are shown."
    )
    tables = [
        side.table("landings" if k == 0 else "landings_beside") for k, side in enumerate(sides)
    ]
    hidden = Table("shots", "", (), pl.concat([side.shots for side in sides]))
    form = {"clubs": club_choices(carry, clubs), **_form(request, picks)}
    return Screen("Dispersion", "", (Drawings(drawings, about, wide=True), *tables, hidden), form)


def _first_choice(carry: pl.DataFrame) -> list[str]:
    """What is shown unasked: the club that was hit most."""
    if carry.is_empty():
        return []
    return [club_key(carry.sort("shots", descending=True).row(0, named=True))]


def _own(request: ScreenRequest, clubs: list[str]) -> Pick:
    sessions = [one for one in request.query.get("session", ()) if one]
    if sessions and not request.query.get("club"):
        clubs = []
    return Pick(request.player, clubs, sessions, _day(request, "first"), _day(request, "last"))


def _compared(request: ScreenRequest, clubs: list[str]) -> list[Pick]:
    name = request.one("beside")
    if name != request.player and name not in request.others:
        return []
    first, last = _day(request, "first_beside"), _day(request, "last_beside")
    return [Pick(name, clubs, [], first, last)]


def _day(request: ScreenRequest, name: str) -> str | None:
    from datetime import date

    try:
        return date.fromisoformat(request.one(name)).isoformat()
    except ValueError:
        return None


class _Side:
    """One side of the comparison, read from the database."""

    def __init__(self, request: ScreenRequest, pick: Pick) -> None:
        self.request, self.pick = request, pick
        request.connection.execute(_PICKED_SQL, pick.parameters())
        self.rows = request.connection.execute(_GROUPS_SQL).pl()
        self.shots = request.connection.execute(_SHOTS_SQL).pl()
        self.ellipses = request.connection.execute(_ELLIPSES_SQL, [pick.player]).pl()

    @property
    def title(self) -> str:
        """Whose shots, and of which days."""
        pick = self.pick
        days = " to ".join(filter(None, (pick.first or "", pick.last or "")))
        if pick.first and not pick.last:
            days = f"from {pick.first}"
        elif pick.last and not pick.first:
            days = f"until {pick.last}"
        if pick.sessions:
            days = counted(len(pick.sessions), "session")
        return f"{pick.player}, {days}" if days else pick.player

    @property
    def groups(self) -> list[Group]:
        """The clubs as they are drawn."""
        return [self._group(row) for row in self.rows.to_dicts()]

    def _group(self, row: Row) -> Group:
        same = [pl.col(name) == row[name] for name in ("club", "swing", "ball")]
        shots = self.shots.filter(same).drop_nulls("still_side_m")
        rings = self.ellipses.filter([*same, pl.col("level") == 0.8]) if self.pick.whole else None
        return Group(club_label(row["club"], row["swing"]), shots, rings)

    @property
    def caption(self) -> str:
        """How the 80 % ellipses did on sessions that they had not seen."""
        held = self.ellipses.filter(
            (pl.col("level") == 0.8) & pl.col("share_inside").is_not_null()
        ).join(self.rows, on=["club", "swing", "ball"], how="semi")
        if held.is_empty() or not self.pick.whole:
            return ""
        shots = int(held["shots_held_out"].sum())
        inside = round(float((held["share_inside"] * held["shots_held_out"]).sum()))
        return f"In sessions left out, the lines held {inside} of {counted(shots, 'shot')}."

    def table(self, name: str) -> Table:
        """Middle and spread of each club, asked in SQL."""
        unit = self.request.unit
        usual = usual_ball(self.rows.select("ball", "shots")) if self.rows.height else ""
        return Table(
            name,
            f"{self.title}: clean strikes of these sessions as they lie, {unit.word}; no fit.",
            (
                Shown(
                    "Club", lambda row: club_label(row["club"], row["swing"], row["ball"], usual)
                ),
                Shown("Shots", lambda row: str(row["shots"])),
                Shown("Mishits", lambda row: str(row["mishits"])),
                Shown("Mean carry", lambda row: unit.whole(row["mean_carry_m"])),
                Shown("Spread", lambda row: unit.tenth(row["sd_carry_m"])),
                Shown("Side", lambda row: unit.signed(row["mean_side_m"])),
                Shown("Side spread", lambda row: unit.tenth(row["sd_side_m"])),
            ),
            self.rows,
        )


def _form(request: ScreenRequest, picks: list[Pick]) -> dict[str, Any]:
    rows = request.rows(_SESSIONS_SQL).to_dicts()
    own, compared = picks[0], picks[1] if len(picks) > 1 else Pick("")
    return {
        "sessions": [
            (row["session_id"], f"{day(row['started_at'])}, {counted(row['shots'], 'shot')}",
             row["session_id"] in own.sessions)
            for row in rows
        ],
        "first": own.first or "", "last": own.last or "",
        "beside": compared.player, "players": (request.player, *request.others),
        "first_beside": compared.first or "", "last_beside": compared.last or "",
        "lessons": request.lessons,
    }  # fmt: skip
