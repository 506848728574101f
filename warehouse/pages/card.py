"""The pocket card of one player: one sheet of A4, folded twice to A6.

Its four faces are the same in HTML and PDF: `card_content` says what stands on them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import polars as pl
from rangeledger.warehouse.pages.bag import BagClub
from rangeledger.warehouse.pages.day_rules import by_hand_words, day_rules, rule_cells
from rangeledger.warehouse.pages.player_rows import PlayerRows, usual_ball
from rangeledger.warehouse.pages.rendering import rendered
from rangeledger.warehouse.pages.shape_words import usual_shape
from rangeledger.warehouse.pages.units import PageUnit, club_label, club_words, day, percent
from rangeledger.warehouse.pages.wedge_tables import swing_matrix, wedge_rows, wedges_that_fit

# What fits on a face of A6 in a size that can be read on the course.
_CLUBS, _WEDGE_ROWS, _SWINGS, _WIND_ROWS, _GAP_ROWS = 17, 12, 4, 9, 13
# What of a player's rows the card is made of.
CARD_ROWS = ("carry", "sessions", "shape", "gaps", "wedges")
CAUTION = "A tendency, not a promise. Local rules and judgement come first; clear people ahead."


@dataclass(frozen=True, slots=True)
class CardTable:
    """A table on a face of the card.

    Parameters
    ----------
    title : str
        Heading of the face.
    headings : tuple of str
        Headings of the columns.
    rows : tuple of tuple of str
        Cells, the first of a row its name.
    note : str
        Line below the table.
    """

    title: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class CardContent:
    """What stands on the card.

    Parameters
    ----------
    player : str
        Whose card it is.
    lead : str
        What the numbers are and rest on.
    faces : tuple of CardTable
        Cover, the two inner faces and the back.
    fitted_at : datetime or None
        When the newest of the numbers was fitted [UTC].
    """

    player: str
    lead: str
    faces: tuple[CardTable, CardTable, CardTable, CardTable]
    fitted_at: datetime | None


def card_content(rows: PlayerRows, bag: Sequence[BagClub], unit: PageUnit) -> CardContent:
    """What stands on a player's card.

    Parameters
    ----------
    rows : PlayerRows
        What the database holds of the player.
    bag : sequence of BagClub
        The player's clubs, one ball each.
    unit : PageUnit
        Unit of lengths.

    Returns
    -------
    CardContent
    """
    carry = _of_bag(rows.carry, bag)
    fitted = carry["fitted_at"].max()
    fitted_at = fitted if isinstance(fitted, datetime) else None
    counted_ones = rows.sessions.filter(~pl.col("excluded"))
    last = counted_ones["started_at"].drop_nulls().max()
    when = f", shots to {day(last)}" if last is not None else ""
    usual = usual_ball(carry)
    ball = "" if usual in ("", "unknown") else f", {usual} ball"
    lead = f"Still-air carry in {unit.word}{ball}{when}"
    faces = (_carry_face(carry, unit), _wedge_face(rows, carry, unit), _wind_face(bag, usual, unit),
             _gap_face(rows, carry, unit))  # fmt: skip
    return CardContent(rows.player, lead, faces, fitted_at)


def card_page(content: CardContent) -> str:
    """The card as HTML that prints on one sheet.

    Parameters
    ----------
    content : CardContent
        What stands on it.

    Returns
    -------
    str
        One self-contained page.
    """
    return rendered("card.html", {"card": content, "caution": CAUTION})


def _of_bag(carry: pl.DataFrame, bag: Sequence[BagClub]) -> pl.DataFrame:
    """Rows of the balls that the bag is made of."""
    kept = {(c.pattern.club, c.pattern.swing, c.pattern.ball) for c in bag}
    keep = [(row["club"], row["swing"], row["ball"]) in kept for row in carry.to_dicts()]
    return carry.filter(pl.Series(keep, dtype=pl.Boolean))


def _carry_face(carry: pl.DataFrame, unit: PageUnit) -> CardTable:
    full = carry.filter(pl.col("swing") == "full").head(_CLUBS).to_dicts()
    usual = usual_ball(carry)
    rows = tuple(
        (
            club_label(row["club"], "full", row["ball"], usual)
            + ("*" if row["provisional"] else ""),
            unit.whole(row["carry_m"]),
            f"{unit.whole(row['carry_p10_m'])}–{unit.whole(row['carry_p90_m'])}",
            unit.signed(row["side_m"]),
        )
        for row in full
    )
    return CardTable(
        "Carry", ("Club", "Carry", "8 of 10", "Side"), rows,
        "8 of 10: band of the next shot, mishits included. * one session only.",
    )  # fmt: skip


def _wedge_face(rows: PlayerRows, carry: pl.DataFrame, unit: PageUnit) -> CardTable:
    """The wedge for each distance; without part swings, nothing but what there is."""
    own = rows.wedges.filter(pl.col("ball") == usual_ball(carry))
    picks = wedges_that_fit(wedge_rows(own, unit))
    if picks:
        shown = tuple((row["target"], row["best"], row["carry"]) for row in _some(picks))
        note = "Nearest on average for each distance; its own carry beside it."
        return CardTable("Wedges", ("For", "Play", "Carries"), shown, note)
    return _swing_face(carry, unit)


def _some(picks: list[dict[str, str]]) -> list[dict[str, str]]:
    """As many distances as fit the face: round ones where those are enough."""
    if len(picks) <= _WEDGE_ROWS:
        return picks
    tens = [row for row in picks if row["target"].endswith("0")]
    if len(picks) // 3 <= len(tens) <= _WEDGE_ROWS:
        return tens
    return picks[:: -(-len(picks) // _WEDGE_ROWS)]


def _swing_face(carry: pl.DataFrame, unit: PageUnit) -> CardTable:
    """Carry of each wedge by swing."""
    matrix = swing_matrix(carry)
    rows = tuple(
        (label, *("–" if row is None else unit.whole(row["carry_m"]) for row in swings[:_SWINGS]))
        for label, swings in matrix.rows[:_WEDGE_ROWS]
    )
    note = "Carry by swing; a dash was never recorded."
    return CardTable("Wedges", ("Club", *matrix.swings[:_SWINGS]), rows, note)


def _wind_face(bag: Sequence[BagClub], usual: str, unit: PageUnit) -> CardTable:
    """Wind and air for clubs spread over the bag."""
    full = [club for club in bag if club.pattern.swing == "full"]
    step = max(1, -(-len(full) // _WIND_ROWS))
    rules = day_rules(unit)
    rows = tuple(
        (
            club_label(club.pattern.club, "full", club.pattern.ball, usual),
            *rule_cells(club, rules, unit),
        )
        for club in full[::step]
    )
    headings = ("Club", *(rule.words for rule in rules))
    by_hand = f" {by_hand_words(full[0], unit)}" if full else ""
    note = (
        f"Change of carry in {unit.word}; cross: push sideways.{by_hand} Twice the wind: more than "
        "twice against, less than twice with you."
    )
    return CardTable("Wind and air", headings, rows, note)


def _gap_face(rows: PlayerRows, carry: pl.DataFrame, unit: PageUnit) -> CardTable:
    gaps = rows.gaps.filter(pl.col("ball") == usual_ball(carry)).head(_GAP_ROWS).to_dicts()
    cells = tuple(
        (
            f"{club_words(row['longer_club'])} – {club_words(row['shorter_club'])}",
            unit.whole(row["gap_m"]),
            percent(row["overlap_probability"]),
        )
        for row in gaps
    )
    note = "Overlap: how often the shorter club’s next shot outcarries the longer one’s."
    shape = usual_shape(rows.shape)
    return CardTable("Gaps", ("Clubs", "Gap", "Overlap"), cells, f"{note} {shape}".strip())
