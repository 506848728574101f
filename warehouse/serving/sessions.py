"""Connections of clients, as the front knows them."""

from __future__ import annotations

import secrets
import time
from dataclasses import dataclass, field

from rangeledger.warehouse.access_tokens import Access
from rangeledger.warehouse.serving.frames import Request
from rangeledger.warehouse.serving.limits import Limits
from rangeledger.warehouse.serving.workers import Holder

# A connection that rests for longer than this [s] makes room for a new one.
_RESTING_S = 60.0
_MOST_LOGGED = 2000


@dataclass(slots=True)
class Statement:
    """A statement and what came of it, for the log of what was asked.

    Attributes
    ----------
    text : str
    began, seconds : float
        When it was asked, on the monotonic clock, and how long the server worked on it [s].
    waited_s : float
        How long [s] it waited for a worker before.
    rows, size : int
        Rows and bytes sent.
    outcome : str
        'answered', 'refused', 'failed', 'ended' or 'left'; empty until it is known.
    """

    text: str
    began: float = field(default_factory=time.monotonic)
    seconds: float = 0.0
    waited_s: float = 0.0
    rows: int = 0
    size: int = 0
    outcome: str = ""


@dataclass(slots=True, eq=False)
class Session:
    """One connection of a client.

    Attributes
    ----------
    access : Access
        Its token.
    peer : str
        Address of the client.
    connect : Request
        What it connected with, to be repeated to each worker.
    connection : str
        Name that the client knows it by.
    statement : Statement or None
        Statement that was asked last.
    why_over : str
        Why the result can't be read on; empty while it can.
    """

    access: Access
    peer: str
    connect: Request
    holder: Holder
    connection: str = field(default_factory=lambda: secrets.token_hex(16).upper())
    statement: Statement | None = None
    why_over: str = ""
    last_used: float = field(default_factory=time.monotonic)


class Sessions:
    """The connections of all clients.

    Parameters
    ----------
    limits : Limits
    """

    def __init__(self, limits: Limits) -> None:
        self._limits = limits
        self._by_name: dict[str, Session] = {}
        self.opened = 0

    def __len__(self) -> int:
        return len(self._by_name)

    def open(self, access: Access, peer: str, connect: Request) -> Session | None:
        """Open a connection; None where there are too many."""
        of_token = sum(one.access.name == access.name for one in self._by_name.values())
        if of_token >= self._limits.connections_a_token or len(self) >= self._limits.connections:
            return None
        session = Session(access, peer, connect, Holder(access.name, access.players))
        self._by_name[session.connection] = session
        self.opened += 1
        return session

    def find(self, connection: str) -> Session | None:
        """The connection of a name, which is used by that."""
        session = self._by_name.get(connection)
        if session is not None:
            session.last_used = time.monotonic()
        return session

    def close(self, session: Session) -> None:
        """Forget a connection."""
        self._by_name.pop(session.connection, None)

    def resting(self, *, crowded: bool) -> list[Session]:
        """Connections that have rested too long; where there are too many, sooner."""
        longest = _RESTING_S if crowded else self._limits.idle_s
        now = time.monotonic()
        return [
            one for one in self._by_name.values()
            if now - one.last_used > longest
            and not (one.holder.worker and one.holder.worker.pending)
        ]  # fmt: skip

    def withdrawn(self, names: dict[str, str]) -> list[Session]:
        """Connections whose token is not among these names and hashes any more."""
        return [
            one for one in self._by_name.values()
            if names.get(one.access.name) != one.access.token_hash
        ]  # fmt: skip


def audit_line(session: Session, statement: Statement) -> dict[str, object]:
    """What the log of what was asked keeps of a statement."""
    text = statement.text
    if len(text) > _MOST_LOGGED:
        text = text[:_MOST_LOGGED] + "..."
    return {
        "token": session.access.name, "peer": session.peer, "outcome": statement.outcome,
        "waited": round(statement.waited_s, 3), "seconds": round(statement.seconds, 3),
        "rows": statement.rows, "bytes": statement.size,
        "statement": text,
    }  # fmt: skip
