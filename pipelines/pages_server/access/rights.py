"""What a caller may: the coach everything, the holder of a player's token that player alone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from rangeledger.pipelines.pages_server.access.entry import COOKIE, Entry
from rangeledger.warehouse.access_tokens import read_access

if TYPE_CHECKING:
    from rangeledger.warehouse.home import Home
    from starlette.requests import Request

# What the holder of a player's token may ask for, beside the door.
_READABLE = ("/players", "/static/")
_LEAVE = "/leave"


@dataclass(frozen=True, slots=True)
class Visitor:
    """Who asks.

    Parameters
    ----------
    players : tuple of str or None
        Players that may be seen; None for all, and everything may be done.
    """

    players: tuple[str, ...] | None = None

    @property
    def coach(self) -> bool:
        """Whether everything may be seen and done."""
        return self.players is None

    def may_see(self, player: str) -> bool:
        """Whether a player's pages are for this caller."""
        return self.players is None or player in self.players

    def may_ask(self, method: str, path: str) -> bool:
        """Whether an address is for this caller."""
        if self.coach or path == _LEAVE:
            return True
        is_share = path.rstrip("/").endswith("/share")
        reads = method in ("GET", "HEAD") and not is_share
        return reads and (path == "/" or path.startswith(_READABLE))


def visitor_of(home: Home, entry: Entry, request: Request) -> Visitor | None:
    """Who asks, by the login; None where there is none that still holds.

    A named token that was withdrawn ends the logins that were made with it.
    """
    login = entry.login(request.cookies.get(COOKIE, ""))
    if login is None:
        return None
    name = login.facts.get("access")
    if name is None:
        return Visitor()
    access = next((one for one in read_access(home) if one.name == name), None)
    if access is None or access.token_hash != login.facts.get("token_hash"):
        return None
    return Visitor(access.players)
