"""Who may in: a key that opens once makes a login, and wrong keys are counted."""

from __future__ import annotations

import time
from collections import deque
from dataclasses import dataclass, field

from rangeledger.pipelines.pages_server.access.tickets import Ticket, Tickets
from rangeledger.warehouse.access_tokens import access_of, read_access
from rangeledger.warehouse.home import Home

# A key waits on a screen for somebody to click it; a day's lesson fits well within.
KEY_LASTS_S = 12 * 3600.0
# A coach comes back within a month without asking for another key.
LOGIN_LASTS_S = 30 * 24 * 3600.0
COOKIE = "rangeledger_login"
# So many wrong keys within so long [s] close the door for an address, and for all together:
# nobody mistypes that often, and a guess among 2^128 needs far more.
_MOST_WRONG, _MOST_WRONG_IN_ALL, _WITHIN_S = 8, 80, 600.0


@dataclass
class WrongKeys:
    """Counts wrong keys by the address that they came from."""

    by_address: dict[str, deque[float]] = field(default_factory=dict)
    in_all: deque[float] = field(default_factory=deque)

    def closed(self, address: str) -> bool:
        """Whether an address has to wait."""
        self._forget()
        own = self.by_address.get(address, ())
        return len(own) >= _MOST_WRONG or len(self.in_all) >= _MOST_WRONG_IN_ALL

    def count(self, address: str) -> None:
        """Note a wrong key."""
        now = time.monotonic()
        self.by_address.setdefault(address, deque()).append(now)
        self.in_all.append(now)

    def _forget(self) -> None:
        """Drop what is long past."""
        since = time.monotonic() - _WITHIN_S
        for times in (self.in_all, *self.by_address.values()):
            while times and times[0] < since:
                times.popleft()
        self.by_address = {name: times for name, times in self.by_address.items() if times}


class Entry:
    """Keys, logins and shared links of a home.

    Parameters
    ----------
    home : Home
    """

    def __init__(self, home: Home) -> None:
        self._home = home
        place = home.state / "pages"
        self.keys, self.logins = Tickets(place / "keys"), Tickets(place / "logins")
        self.shares = Tickets(place / "shares")
        self.wrong = WrongKeys()

    def new_key(self) -> str:
        """A key that opens once."""
        return self.keys.issue(KEY_LASTS_S)

    def open(self, key: str) -> str | None:
        """A login for a key or a named token; None where it is none, or a key that was used."""
        if self.keys.redeem(key) is not None:
            return self.logins.issue(LOGIN_LASTS_S)
        access = access_of(read_access(self._home), key) if key else None
        if access is None:
            return None
        facts = {"access": access.name, "token_hash": access.token_hash}
        return self.logins.issue(LOGIN_LASTS_S, **facts)

    def login(self, secret: str) -> Ticket | None:
        """The login of a cookie."""
        return self.logins.find(secret)
