"""Secrets that the pages hand out, of which only hashes are kept: keys, logins, shared links.

A ticket is a file named by the hash of its secret. Who reads the folder learns no secret, and a
key that opens once is taken by removing its file, which succeeds for one taker only.
"""

from __future__ import annotations

import hashlib
import json
import os
import secrets
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rangeledger.warehouse.system.durable_files import write_atomically

# Random bytes of a secret: 128 bits can't be guessed, and still fit a line of a terminal.
_SECRET_BYTES = 16


@dataclass(frozen=True, slots=True)
class Ticket:
    """A secret's hash, until when it holds [s since 1970], and what it is for."""

    name: str
    until: float
    facts: dict[str, Any]


class Tickets:
    """Tickets of one kind in one folder.

    Parameters
    ----------
    folder : pathlib.Path
        Made if missing, for its owner alone.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)

    def issue(self, lasts_s: float, **facts: Any) -> str:
        """Make a ticket.

        Returns
        -------
        str
            Its secret, which is kept nowhere.
        """
        self._clear()
        secret = secrets.token_urlsafe(_SECRET_BYTES)
        written = json.dumps({"until": time.time() + lasts_s, "facts": facts}, ensure_ascii=False)
        write_atomically(self._path(_hash(secret)), written)
        return secret

    def find(self, secret: str) -> Ticket | None:
        """The ticket of a secret, None where there is none that still holds."""
        return self._read(_hash(secret)) if secret else None

    def redeem(self, secret: str) -> Ticket | None:
        """The same, and no other look or taking finds it again."""
        ticket = self.find(secret)
        if ticket is None:
            return None
        try:
            os.unlink(self._path(ticket.name))
        except FileNotFoundError:
            return None
        return ticket

    def every(self) -> list[Ticket]:
        """All tickets that hold, the one that ends first before the others."""
        found = (self._read(path.stem) for path in self._folder.glob("*.json"))
        return sorted((t for t in found if t), key=lambda ticket: ticket.until)

    def withdraw(self, name: str) -> None:
        """End a ticket by its name."""
        if len(name) == 64 and name.isalnum():
            self._path(name).unlink(missing_ok=True)

    def _path(self, name: str) -> Path:
        return self._folder / f"{name}.json"

    def _read(self, name: str) -> Ticket | None:
        try:
            stored = json.loads(self._path(name).read_text(encoding="utf-8"))
            ticket = Ticket(name, float(stored["until"]), dict(stored["facts"]))
        except (OSError, ValueError, KeyError, TypeError):
            return None
        return ticket if ticket.until > time.time() else None

    def _clear(self) -> None:
        """Remove tickets that hold no more."""
        for path in self._folder.glob("*.json"):
            if self._read(path.stem) is None:
                path.unlink(missing_ok=True)


def _hash(secret: str) -> str:
    return hashlib.sha256(secret.encode("utf-8", "replace")).hexdigest()
