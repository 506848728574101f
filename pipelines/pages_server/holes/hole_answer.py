"""Where to aim with which club: what `rangeledger target` answers, for a page."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import polars as pl
from rangeledger.models.strategy.target_choice import choose_target
from rangeledger.pipelines.holes import target_rows
from rangeledger.pipelines.holes.strokes_file import strokes_table
from rangeledger.pipelines.holes.target_columns import NOTES, TITLES, shown_columns, shown_rows
from rangeledger.pipelines.holes.target_plan import day_conditions, fairway_answer, lay_ups
from rangeledger.pipelines.holes.target_words import verdict
from rangeledger.pipelines.output.printing import number_text
from rangeledger.warehouse.pages.bag import bag_of, player_named
from rangeledger.warehouse.pages.units import club_words
from rangeledger.warehouse.settings import handicap_of

if TYPE_CHECKING:
    from rangeledger.models.arrays import FloatArray
    from rangeledger.models.strategy.aimed_option import OptionAtBestAim
    from rangeledger.models.strategy.hole_geometry import Hole
    from rangeledger.pipelines.pages_server.shared.site import Site
    from rangeledger.warehouse.pages.units import PageUnit

# As many as the command shows, and as many dots as can be told apart.
_MOST_ROWS, _SHOTS = 25, 250


@dataclass(frozen=True, slots=True)
class HoleTable:
    """One kind of rows: for tools, and as text for people."""

    kind: str
    title: str
    note: str
    rows: pl.DataFrame
    headings: tuple[str, ...]
    cells: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class HoleAnswer:
    """The choice on a hole.

    Parameters
    ----------
    player : str
        Whose clubs.
    sentences : list of str
        The choice in words.
    tables : list of HoleTable
        Clubs, the fairway by aim, going against laying up.
    next_shots : ndarray, shape (n, 2)
        Where next shots of the best choice may come down: along its aim and across it [m].
    aim_rad : float
        Its angle of aim [rad].
    """

    player: str
    sentences: list[str]
    tables: list[HoleTable]
    next_shots: FloatArray
    aim_rad: float


def answer_on(
    site: Site,
    hole: Hole,
    player: str,
    wind: tuple[float, float, str],
    unit: PageUnit,
    *,
    lay_up: bool = False,
    own_strokes: bool = False,
) -> HoleAnswer:
    """Choose club and aim on a hole.

    Parameters
    ----------
    site : Site
        Where the player's clubs are asked.
    hole : Hole
        The ball in place.
    player : str
        Whose clubs.
    wind : tuple of float, float and str
        Speed [m/s], where it comes from, 0 in the face [deg], and where it was taken.
    unit : PageUnit
        Unit of words and tables.
    lay_up : bool
        Whether going and laying up are compared too, which takes several times as long.
    own_strokes : bool
        Whether strokes to hole out are the player's own; else those of professionals.

    Returns
    -------
    HoleAnswer

    Raises
    ------
    UsageError
        If the player is unknown.
    NotEnoughShotsError
        If the player has no club.
    """
    speed, origin, height = wind
    conditions = day_conditions(hole, speed, origin, (None, None, None, None), height)
    with site.publications.opened() as connection:
        name = player_named(connection, player)
        options = [club.option for club in bag_of(connection, name)]
        handicap = handicap_of(site.home, name) if own_strokes else None
        table = strokes_table(None, options if own_strokes else None, handicap)
        choice = choose_target(hole, options, table, conditions)
        by_aim, shape = fairway_answer(connection, name, choice, conditions)
    best = choice.options[0]
    kinds = {
        "options": target_rows.option_rows(choice),
        "hazards": target_rows.hazard_rows(choice),
        "fairway": by_aim,
    }
    if lay_up:
        found = lay_ups(choice.hole, options, table, conditions)
        kinds["lay-up"] = target_rows.lay_up_rows(found)
    notes = NOTES | {"fairway": f"{shape} {NOTES['fairway']}"}
    shown = [_table(kind, rows, notes[kind], unit) for kind, rows in kinds.items() if rows.height]
    sentences = verdict(choice, table.source, unit.symbol)
    return HoleAnswer(name, sentences, shown, _drawn(best), best.aim_rad)


def _drawn(best: OptionAtBestAim) -> FloatArray:
    """Some next shots at random: the points of the search lie in a figure that no player makes."""
    weights = best.weights / best.weights.sum()
    chosen = np.random.default_rng(1).choice(len(weights), _SHOTS, p=weights)
    return best.landings[chosen]


def _words(text: str) -> str:
    """A club at the beginning of a text as people write it."""
    club, _, rest = text.partition(" ")
    return f"{club_words(club)} {rest}".strip() if club.endswith("-wedge") else text


def _table(kind: str, rows: pl.DataFrame, note: str, unit: PageUnit) -> HoleTable:
    """Rows as the command shows them."""
    columns = shown_columns(kind, unit.symbol, rows)
    cells = tuple(
        tuple(
            "–" if row[c.column] is None
            else number_text(c.factor * row[c.column], c.form) if c.form
            else _words(str(row[c.column]))
            for c in columns
        )
        for row in shown_rows(rows).head(_MOST_ROWS).iter_rows(named=True)
    )  # fmt: skip
    headings = tuple(_capital(" ".join(c.heading.split())) for c in columns)
    # A note names headings, as `behind: …`; pages write them with a capital, terminals without.
    note = re.sub(r"(?:^|(?<=[.;] ))[a-z](?=[a-z, ]*:)", lambda letter: letter[0].upper(), note)
    return HoleTable(kind, TITLES[kind], note, rows, headings, cells)


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
