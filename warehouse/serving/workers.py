"""What the front knows of a worker and of the connection that holds it."""

from __future__ import annotations

import time
from dataclasses import dataclass, field

Players = tuple[str, ...] | None


class NoWorkerError(Exception):
    """No worker can be had; the message says why."""


@dataclass(slots=True, eq=False)
class Worker:
    """A process that answers queries, seen from the front.

    Attributes
    ----------
    holder : Holder or None
        The connection that it serves.
    pending : int
        Requests that it has not answered yet.
    busy_since, spent_s : float
        Since when it is busy, and time [s] that the statement took before.
    has_more : bool
        Whether a result is being fetched from it.
    inner : str
        Name that it knows the connection by.
    is_slowed : bool
        Whether it yields to all others since its statement takes long.
    cause : str
        Why it was ended; empty while it was not.
    """

    number: int
    players: Players
    publication: int
    token: str
    port: int = 0
    pid: int = 0
    holder: Holder | None = None
    pending: int = 0
    busy_since: float = 0.0
    spent_s: float = 0.0
    has_more: bool = False
    inner: str = ""
    is_slowed: bool = False
    last_used: float = field(default_factory=time.monotonic)
    cause: str = ""

    @property
    def is_free(self) -> bool:
        """Whether it is ready and serves nobody."""
        return bool(self.port) and self.holder is None and not self.cause

    def runs_for_s(self, now: float) -> float:
        """How long [s] its statement has run by now; 0 if it runs none."""
        return self.spent_s + now - self.busy_since if self.pending else 0.0


@dataclass(slots=True, eq=False)
class Holder:
    """What the pool knows of a connection.

    Attributes
    ----------
    token : str
        Name of its token.
    players : tuple of str or None
    ended : int
        Statements of it that had to be ended.
    is_quick : bool
        Whether its last statement took a moment only.
    """

    token: str
    players: Players
    worker: Worker | None = None
    ended: int = 0
    is_quick: bool = False
