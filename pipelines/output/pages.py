"""Writes the pages of players into a folder."""

from __future__ import annotations

import hashlib
import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from rangeledger.models.strategy.practice_gain import practice_advice
from rangeledger.pipelines.output.printing import write_result
from rangeledger.warehouse.pages.bag import all_players, bag_of, player_named, practice_clubs
from rangeledger.warehouse.pages.card import CardContent, card_content, card_page
from rangeledger.warehouse.pages.card_pdf import card_pdf
from rangeledger.warehouse.pages.overview import PlayerEntry, overview_page
from rangeledger.warehouse.pages.player_rows import player_rows, with_round_metres
from rangeledger.warehouse.pages.report import report_page
from rangeledger.warehouse.pages.units import METRES, UNITS
from rangeledger.warehouse.published import published

if TYPE_CHECKING:
    from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut
    from rangeledger.warehouse.home import Home


@dataclass(frozen=True, slots=True)
class PageOptions:
    """What pages the user wants.

    Parameters
    ----------
    player : str or None
        One player; None for all and the overview.
    out : pathlib.Path
        Folder for the files; made if missing.
    strokes : StrokesToHoleOut
        Table of strokes to hole out.
    unit : str
        `yd` or `m`.
    only_cards : bool
        Pocket cards and nothing else.
    """

    player: str | None
    out: Path
    strokes: StrokesToHoleOut
    unit: str = "yd"
    only_cards: bool = False


def write_pages(home: Home, options: PageOptions) -> Iterator[Path]:
    """Write reports, cards and, for all players, the overview.

    Parameters
    ----------
    home : Home
        Where the database is.
    options : PageOptions
        Which pages, and where to.

    Yields
    ------
    pathlib.Path
        Each file when it is there.

    Raises
    ------
    StorageError
        If the folder can't be written.
    """
    table, unit, out = options.strokes, UNITS[options.unit], options.out
    entries = []
    with published(home) as connection:
        player = options.player
        names = all_players(connection) if player is None else [player_named(connection, player)]
        for name in names:
            rows, bag = player_rows(connection, name), bag_of(connection, name)
            if unit is METRES:
                rows = with_round_metres(rows, connection)
            if not options.only_cards:
                practice = practice_advice(practice_clubs(connection, name, bag), table)
                page = report_page(rows, bag, practice, table.source, unit)
                file = f"report-{file_word(name)}.html"
                yield write_result(out / file, page.encode())
                entries.append(PlayerEntry(rows, practice, file))
            yield from _card_files(out, card_content(rows, bag, unit))
    if options.player is None and not options.only_cards:
        yield write_result(out / "overview.html", overview_page(entries, unit).encode())


def _card_files(out: Path, content: CardContent) -> Iterator[Path]:
    """The card of one player, as HTML and PDF."""
    word = file_word(content.player)
    yield write_result(out / f"card-{word}.html", card_page(content).encode())
    yield write_result(out / f"card-{word}.pdf", card_pdf(content))


def file_word(player: str) -> str:
    """A player's name as part of a file name: plain letters, and a mark where some were lost.

    Parameters
    ----------
    player : str
        Any name.

    Returns
    -------
    str
        Lower-case letters, digits and hyphens; two players never share one.
    """
    bare = unicodedata.normalize("NFKD", player).encode("ascii", "ignore").decode()
    word = re.sub(r"[^a-z0-9]+", "-", bare.lower()).strip("-")[:60]
    # Names that differ in case only are two players, so only the usual writing goes unmarked.
    if word and word.replace("-", " ").title() == player:
        return word
    mark = hashlib.sha256(player.encode()).hexdigest()[:6]
    return f"{word}-{mark}" if word else mark
