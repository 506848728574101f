"""Gaps between neighbouring clubs, and which wedge and swing for which distance."""

from __future__ import annotations

from functools import partial

import polars as pl
from rangeledger.warehouse.pages.player_rows import usual_ball
from rangeledger.warehouse.pages.screens.parts import (
    Row,
    Screen,
    ScreenRequest,
    Shown,
    Table,
    Words,
)
from rangeledger.warehouse.pages.screens.today import CARRY_SQL
from rangeledger.warehouse.pages.units import PageUnit, club_label, percent
from rangeledger.warehouse.pages.wedge_tables import swing_cell, swing_matrix

_GAPS_SQL = """
    SELECT ball, longer_club, shorter_club, longer_carry_m, shorter_carry_m, gap_m, gap_yd,
           gap_low_m, gap_low_yd, gap_high_m, gap_high_yd, overlap_probability, verdict
    FROM club_gaps WHERE player = $1 ORDER BY ball, longer_carry_m DESC"""
_WEDGES_SQL = """
    SELECT ball, target_yd, target_m, rank, club, swing, carry_m, carry_yd, carry_sd_m, carry_sd_yd,
           expected_miss_m, expected_miss_yd, apex_m, apex_yd, headwind_change_m,
           headwind_change_yd, shots, provisional, hole_note
    FROM wedge_grid WHERE player = $1 ORDER BY ball, target_yd, rank"""
_REMARKS = {"large": "large for these lofts", "small": "small for these lofts"}


def gaps(request: ScreenRequest) -> Screen:
    """Gaps between neighbouring clubs.

    Parameters
    ----------
    request : ScreenRequest
        Whose, in which unit.

    Returns
    -------
    Screen
    """
    unit, rows = request.unit, request.rows(_GAPS_SQL)
    usual = _ball(request)
    table = Table(
        "club_gaps",
        f"Full swings, {unit.word}. Overlap: how often the shorter club’s next shot outcarries the "
        "longer one’s.",
        (
            Shown("Clubs", lambda row: _pair(row, usual)),
            Shown("Gap", lambda row: unit.whole(row["gap_m"])),
            Shown(
                "90 % interval",
                lambda row: f"{unit.whole(row['gap_low_m'])} to {unit.whole(row['gap_high_m'])}",
            ),
            Shown("Overlap", lambda row: percent(row["overlap_probability"])),
            Shown("Remark", lambda row: _REMARKS.get(row["verdict"] or "", ""), words=True),
        ),
        rows,
    )
    return Screen("Gaps", "Between a club and the next shorter one.", (table,))


def _ball(request: ScreenRequest) -> str:
    return usual_ball(request.rows("SELECT ball, shots FROM carry_by_club WHERE player = $1"))


def _pair(row: Row, usual: str) -> str:
    shorter = club_label(row["shorter_club"], "full", row["ball"], usual)
    return f"{club_label(row['longer_club'], 'full')} to {shorter}"


def wedges(request: ScreenRequest) -> Screen:
    """What each swing of each wedge carries, and which of them for each distance.

    Parameters
    ----------
    request : ScreenRequest
        Whose, in which unit; `ball` chooses the kind of ball.

    Returns
    -------
    Screen
    """
    carry, grid = request.rows(CARRY_SQL), request.rows(_WEDGES_SQL)
    ball = request.one("ball") or usual_ball(carry)
    best = grid.filter((pl.col("ball") == ball) & (pl.col("rank") <= 2))
    fitting = best.filter(pl.col("target_m").is_in(_reached(best).implode()))
    parts: list[Table | Words] = [
        part
        for part in (
            _matrix(request, carry, ball),
            _picks(request.unit, best, fitting),
            _not_reached(request.unit, best, fitting),
        )
        if part
    ]
    balls = sorted(set(carry.filter(pl.col("club").str.ends_with("wedge"))["ball"]))
    lead = f"{ball.capitalize()} ball, still air, {request.unit.word}." if ball else ""
    return Screen("Wedges", lead, tuple(parts), {"balls": balls, "ball": ball})


def _matrix(request: ScreenRequest, carry: pl.DataFrame, ball: str) -> Table | None:
    """Carry by wedge and swing; the twins give one row for each."""
    own = carry.filter((pl.col("ball") == ball) & pl.col("club").str.ends_with("wedge"))
    matrix = swing_matrix(own)
    if not matrix.rows:
        return None
    by_club = dict(matrix.rows)
    places = {swing: place for place, swing in enumerate(matrix.swings)}
    one_each = own.unique("club", keep="first", maintain_order=True)

    def cell(row: Row, swing: str) -> str:
        return swing_cell(by_club[club_label(row["club"], "full")][places[swing]], request.unit)

    columns = tuple(Shown(swing, partial(cell, swing=swing)) for swing in places)
    return Table(
        "swings",
        f"What each swing carries, {request.unit.word}, and in brackets the band of eight of ten "
        "next shots; a dash was never recorded.",
        (Shown("Club", lambda row: club_label(row["club"], "full")), *columns),
        own,
        lines_of=one_each,
    )


def _play(row: Row) -> str:
    return ("" if row["rank"] == 1 else "or ") + club_label(row["club"], row["swing"])


def _reached(best: pl.DataFrame) -> pl.Series:
    """Distances that are neither below the shortest swing nor beyond the longest."""
    note = pl.col("hole_note").fill_null("")
    beyond = note.str.starts_with("shorter") | note.str.starts_with("longer")
    return best.filter((pl.col("rank") == 1) & ~beyond)["target_m"]


def _not_reached(unit: PageUnit, best: pl.DataFrame, fitting: pl.DataFrame) -> Words | None:
    """Distances that no recorded swing is for, in a sentence."""
    left = best.filter(~pl.col("target_m").is_in(fitting["target_m"].implode()))["target_m"]
    first = fitting["target_m"].min()
    below = left if first is None else left.filter(left < first)
    if below.is_empty():
        return None
    distances = below.sort().to_list()
    low, high = unit.whole(distances[0]), unit.whole(distances[-1])
    return Words(
        "No swing for these yet",
        [
            f"{low} to {high} {unit.word}: every wedge carries farther as it was hit so far. "
            "Record part swings, named by the clock or in words, to have them here."
        ],
    )


def _picks(unit: PageUnit, best: pl.DataFrame, fitting: pl.DataFrame) -> Table | None:
    if best.is_empty():
        return None
    return Table(
        "wedge_grid",
        "For each distance the club and swing that are expected to finish nearest, and below it "
        f"the runner-up. Usual miss: mean distance of the next shot from the target, {unit.word}.",
        (
            Shown("Distance", lambda row: unit.whole(row["target_m"])),
            Shown("Play", _play, words=True),
            Shown("Carries", lambda row: unit.whole(row["carry_m"])),
            Shown("Usual miss", lambda row: unit.tenth(row["expected_miss_m"])),
            Shown("Peak", lambda row: unit.whole(row["apex_m"])),
            Shown("Into 11 mph", lambda row: unit.change(row["headwind_change_m"])),
        ),
        best,
        soft=lambda row: row["rank"] > 1,
        lines_of=fitting,
    )
