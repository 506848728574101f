"""What all addresses share: the home, its publications, who may in, what runs."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from rangeledger.pipelines.output.pages import file_word
from rangeledger.pipelines.pages_server.access.entry import Entry
from rangeledger.pipelines.pages_server.replies.problems import PageError
from rangeledger.pipelines.pages_server.shared.errands import Errands
from rangeledger.pipelines.pages_server.uploads.drops import Drops
from rangeledger.warehouse.publications import Publications
from rangeledger.warehouse.settings import read_settings

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection
    from rangeledger.pipelines.pages_server.access.rights import Visitor
    from rangeledger.warehouse.home import Home
    from starlette.requests import Request

_NAME_SQL = """
    SELECT file_name FROM ingest_log WHERE source_file = $1 AND starts_with(state, 'loaded')
    ORDER BY offered_at DESC LIMIT 1"""
STATIC = Path(__file__).parents[3] / "warehouse" / "pages" / "static"


@dataclass
class Site:
    """The pages of one home.

    Parameters
    ----------
    home : Home
    secure : bool
        Whether the pages are reached by TLS.
    """

    home: Home
    secure: bool = False
    entry: Entry = field(init=False)
    publications: Publications = field(init=False)
    errands: Errands = field(init=False)
    drops: Drops = field(default_factory=Drops)
    assets: str = field(init=False)

    def __post_init__(self) -> None:
        self.entry = Entry(self.home)
        self.publications = Publications(self.home)
        self.errands = Errands(self.home)
        self.assets = _checksum(STATIC)

    def lessons(self, player: str) -> tuple[str, ...]:
        """Days to compare a player by, such as lessons, as the settings have them."""
        stated = read_settings(self.home).players.get(player)
        return tuple(day.isoformat() for day in sorted(stated.dates)) if stated else ()

    def edition(self) -> str:
        """What tells whether a page made of the home's data is still true."""
        try:
            settings = self.home.settings_file.stat().st_mtime_ns
        except FileNotFoundError:
            settings = 0
        return f"{self.publications.edition()}-{settings:x}-{self.assets}"


def _checksum(folder: Path) -> str:
    """Of the style and the script: a page of an older one is not shown from a cache."""
    text = b"".join(path.read_bytes() for path in sorted(folder.iterdir()))
    return hashlib.sha256(text).hexdigest()[:8]


def players_of(connection: DuckDBPyConnection) -> dict[str, str]:
    """Word of each player's address -> name."""
    names = connection.execute("SELECT player FROM ledger.counted_players ORDER BY player")
    return {file_word(str(row[0])): str(row[0]) for row in names.fetchall()}


def loaded_name(site: Site, source_file: str) -> str | None:
    """Name under which an export was loaded last; None where it was not.

    Parameters
    ----------
    site : Site
    source_file : str
        Hash of its bytes.
    """
    with site.publications.opened() as connection:
        row = connection.execute(_NAME_SQL, [source_file]).fetchone()
    return str(row[0]) if row else None


def visitor(request: Request) -> Visitor:
    """Who asks, as found at the door."""
    found: Visitor = request.scope["visitor"]
    return found


def player_at(connection: DuckDBPyConnection, word: str, request: Request) -> str:
    """The player of an address.

    Raises
    ------
    PageError
        If there is none that the caller may see.
    """
    found = players_of(connection).get(word)
    if found is None or not visitor(request).may_see(found):
        raise PageError(
            404, "There is no player at this address. Perhaps the name was changed.",
        )  # fmt: skip
    return found
