"""A player's first screen: what each club carries today, what changed, and what stands out."""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl
from markupsafe import Markup
from rangeledger.schemas.units import counted
from rangeledger.warehouse.counting.player_names import UNKNOWN
from rangeledger.warehouse.pages.drawing import Scale, band_bar
from rangeledger.warehouse.pages.player_rows import usual_ball
from rangeledger.warehouse.pages.screens.parts import (
    Row,
    Screen,
    ScreenRequest,
    Shown,
    Table,
    Words,
)
from rangeledger.warehouse.pages.shape_words import usual_shape
from rangeledger.warehouse.pages.units import PageUnit, club_label, club_words, day

CARRY_SQL = """
    SELECT club, swing, ball, shots, sessions, carry_m, carry_yd, carry_se_m, carry_se_yd,
           carry_sd_m, carry_sd_yd, carry_within_sd_m, carry_within_sd_yd, carry_between_sd_m,
           carry_between_sd_yd, carry_p10_m, carry_p10_yd, carry_p90_m, carry_p90_yd,
           side_m, side_yd, side_sd_m, side_sd_yd, mishit_rate, provisional, fitted_at,
           model_version
    FROM carry_by_club WHERE player = $1 ORDER BY carry_m DESC, club, swing, ball"""
_CHANGES_SQL = """
    SELECT club, swing, ball, started_at, change_m, change_low_m, change_high_m, changed
    FROM carry_trend WHERE player = $1 AND change_m IS NOT NULL
    QUALIFY row_number() OVER (PARTITION BY club, swing, ball ORDER BY started_at) = 1
        AND count(*) OVER (PARTITION BY club, swing, ball) > 1
    ORDER BY abs(change_m) DESC, club, swing, ball"""
_LAST_SQL = """
    SELECT session_id, started_at, shots, clubs FROM sessions
    WHERE player = $1 AND NOT excluded ORDER BY started_at DESC NULLS LAST, session_id LIMIT 1"""
_FLAGS_SQL = """
    SELECT session_id, started_at, min(cause) AS cause FROM session_flags
    WHERE player = $1 GROUP BY ALL ORDER BY started_at DESC, session_id LIMIT 3"""
_SHAPE_SQL = """
    SELECT club, stock_shape, share_stock_shape FROM shot_shape WHERE player = $1 ORDER BY club"""
# More would push what changed off a phone's first screen.
_MOST_CHANGES = 3

_WHOSE = (
    "The files say of nobody that he or she hit these shots. Move each session to its player under "
    "Sessions; with the next file, say the player beside it."
)


def today(request: ScreenRequest) -> Screen:
    """The first screen.

    Parameters
    ----------
    request : ScreenRequest
        Whose, in which unit.

    Returns
    -------
    Screen
    """
    carry = request.rows(CARRY_SQL)
    usual = usual_ball(carry)
    full = carry.filter((pl.col("swing") == "full") & (pl.col("ball") == usual))
    shown = full if full.height else carry
    changes = request.rows(_CHANGES_SQL)
    words = [
        Words("What changed", change_sentences(changes, request.unit, usual), listed=True),
        *_shape_words(request),
        *_standing_out(request),
    ]
    if request.player == UNKNOWN:
        words.insert(0, Words("Whose are these?", [_WHOSE]))
    table = carry_bars(shown, request.unit, usual)
    return Screen("Today", _lead(request, usual), (words[0], table, *words[1:]))


def _lead(request: ScreenRequest, usual: str) -> str:
    last = request.rows(_LAST_SQL).to_dicts()
    ball = f", {usual} ball" if usual not in ("", "unknown") else ""
    sentence = f"Still-air carry in {request.unit.word}{ball}."
    if not last or last[0]["started_at"] is None:
        return sentence
    return f"{sentence} Last hit {day(last[0]['started_at'])}, {counted(last[0]['shots'], 'shot')}."


def carry_bars(carry: pl.DataFrame, unit: PageUnit, usual: str) -> Table:
    """Carries with the band of the next shot drawn beside each number.

    Parameters
    ----------
    carry : polars.DataFrame
        Rows of carry_by_club.
    unit : PageUnit
        Unit of the numbers.
    usual : str
        Ball that is not named.

    Returns
    -------
    Table
    """
    ends = carry.select(
        pl.min_horizontal("carry_p10_m", "carry_m").min().alias("low"),
        pl.max_horizontal("carry_p90_m", "carry_m").max().alias("high"),
    )
    low, high = ends.row(0) if carry.height else (0.0, 1.0)
    scale = Scale(0.92 * (low or 0.0), 1.02 * (high or 1.0), 2.0, 158.0)

    def bar(row: Row) -> Markup:
        lows, highs = row["carry_p10_m"], row["carry_p90_m"]
        if lows is None or highs is None:
            return Markup("")
        return band_bar(scale(lows), scale(row["carry_m"]), scale(highs))

    return Table(
        "carry_by_club",
        f"What each club carries today, {unit.word}, and between what and what eight of ten next "
        "shots land, mishits included. * one session only.",
        (
            Shown("Club", lambda row: _name(row, usual), to=lambda row: _to_dispersion(row)),
            Shown("Carry", lambda row: unit.whole(row["carry_m"])),
            Shown("8 of 10", lambda row: band_words(row, unit)),
            Shown("Band", bar),
        ),
        carry,
        soft=lambda row: bool(row["provisional"]),
    )


def _name(row: Row, usual: str) -> str:
    star = "*" if row["provisional"] else ""
    return club_label(row["club"], row["swing"], row["ball"], usual) + star


def _to_dispersion(row: Row) -> str:
    return club_address("dispersion", row)


def club_address(screen: str, row: Row) -> str:
    """Address of a screen with one club, swing and ball chosen."""
    from urllib.parse import urlencode

    return f"{screen}?{urlencode({'club': club_key(row)})}"


def club_key(row: Row) -> str:
    """Club, swing and ball in one word of an address: `7-iron full premium`."""
    return f"{row['club']}|{row['swing']}|{row['ball']}"


def club_choices(carry: pl.DataFrame, chosen: Sequence[str]) -> list[tuple[str, str, bool]]:
    """Clubs, swings and balls to choose from: key, label, and whether it is chosen.

    Parameters
    ----------
    carry : polars.DataFrame
        Rows of carry_by_club.
    chosen : sequence of str
        Keys, as `club_key` gives them.
    """
    usual = usual_ball(carry)
    return [
        (key, club_label(row["club"], row["swing"], row["ball"], usual), key in chosen)
        for row in carry.to_dicts()
        for key in [club_key(row)]
    ]


def band_words(row: Row, unit: PageUnit) -> str:
    """The band of the next shot, as `146–163`."""
    return f"{unit.whole(row['carry_p10_m'])}–{unit.whole(row['carry_p90_m'])}"


def change_sentences(changes: pl.DataFrame, unit: PageUnit, usual: str) -> list[str]:
    """What is longer or shorter than it was, and how sure that is.

    Parameters
    ----------
    changes : polars.DataFrame
        The first row of carry_trend of each club with two sessions or more.
    unit : PageUnit
        Unit of the numbers.
    usual : str
        Ball that is not named.

    Returns
    -------
    list of str
    """
    sure = changes.filter(pl.col("changed")).to_dicts()
    sentences = []
    for row in sure[:_MOST_CHANGES]:
        label = club_label(row["club"], row["swing"], row["ball"], usual)
        change, low, high = (unit.change(row[f"change_{end}m"]) for end in ("", "low_", "high_"))
        sentences.append(
            f"{label[:1].upper()}{label[1:]} {change} {unit.symbol} since "
            f"{day(row['started_at'])} (90 %: {low} to {high})."
        )
    if len(sure) > _MOST_CHANGES:
        sentences.append(
            f"{counted(len(sure) - _MOST_CHANGES, 'more club')} changed: see Over time."
        )
    if sentences:
        return sentences
    if changes.is_empty():
        return ["A club needs two dated sessions to show a change."]
    return [f"No sure change of carry in any of {counted(changes.height, 'swing')} with a past."]


def _shape_words(request: ScreenRequest) -> list[Words]:
    shape = usual_shape(request.rows(_SHAPE_SQL))
    return [Words("Shape", [shape.removeprefix("Shape: ")])] if shape else []


def _standing_out(request: ScreenRequest) -> list[Words]:
    flags = request.rows(_FLAGS_SQL).to_dicts()
    if not flags:
        return []
    sentences = [f"{day(row['started_at'])}: {row['cause']}" for row in flags]
    return [Words("What stands out", sentences, listed=True)]


def clubs_named(clubs: str) -> str:
    """Clubs of a session as people write them."""
    return ", ".join(club_words(club) for club in clubs.split(", "))
