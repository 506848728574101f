"""Writes the pages of players into a folder."""

from __future__ import annotations

import hashlib
import re
import unicodedata
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from models.practice_gain import PracticeGain, practice_gains
from models.strokes_to_hole_out import StrokesToHoleOut
from pipelines.strokes_file import strokes_table
from schemas.errors import StorageError
from warehouse.pages.bag import BagClub, all_players, bag_of, player_named
from warehouse.pages.card import card_content, card_page
from warehouse.pages.card_pdf import card_pdf
from warehouse.pages.overview import PlayerEntry, overview_page
from warehouse.pages.player_rows import PlayerRows, player_rows
from warehouse.pages.report import report_page
from warehouse.pages.source import published
from warehouse.pages.units import UNITS, PageUnit

if TYPE_CHECKING:
    from warehouse.home import Home


def write_pages(
    home: Home, player: str | None, out: Path, strokes: Path | None, unit: str
) -> Iterator[Path]:
    """Write reports, cards and, for all players, the overview.

    Parameters
    ----------
    home : Home
        Where the database is.
    player : str or None
        One player; None for all and the overview.
    out : pathlib.Path
        Folder for the files; made if missing.
    strokes : pathlib.Path or None
        Own table of strokes to hole out.
    unit : str
        `yd` or `m`.

    Yields
    ------
    pathlib.Path
        Each file when it is there.

    Raises
    ------
    StorageError
        If the folder can't be written.
    """
    table = strokes_table(strokes)
    page_unit = UNITS[unit]
    entries = []
    with published(home) as connection:
        names = [player_named(connection, player)] if player else all_players(connection)
        for name in names:
            rows, bag = player_rows(connection, name), bag_of(connection, name)
            gains = practice_gains([club.option for club in bag], table)
            yield from _player_files(out, rows, bag, gains, table, page_unit)
            entries.append(PlayerEntry(rows, gains, f"report-{file_word(name)}.html"))
    if player is None:
        yield _written(out / "overview.html", overview_page(entries, page_unit).encode())


def _player_files(
    out: Path,
    rows: PlayerRows,
    bag: list[BagClub],
    gains: list[PracticeGain],
    table: StrokesToHoleOut,
    unit: PageUnit,
) -> Iterator[Path]:
    """Report and card of one player."""
    word = file_word(rows.player)
    page = report_page(rows, bag, gains, table.source, unit)
    yield _written(out / f"report-{word}.html", page.encode())
    content = card_content(rows, bag, unit)
    yield _written(out / f"card-{word}.html", card_page(content).encode())
    yield _written(out / f"card-{word}.pdf", card_pdf(content))


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
    if word and word.replace("-", " ") == player.lower():
        return word
    mark = hashlib.sha256(player.encode()).hexdigest()[:6]
    return f"{word}-{mark}" if word else mark


def _written(path: Path, content: bytes) -> Path:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    except OSError as error:
        raise StorageError(
            f"{path} can't be written: {error.strerror}. Name another folder with --out."
        ) from error
    return path
