"""What the front knows of a worker and of the connection that holds it."""

from __future__ import annotations

import time
from dataclasses import dataclass, field

from rangeledger.warehouse.system.limits import processor_s

# A client asks for schemas, tables and views when it attaches.
_OF_ATTACHING = 3
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
    is_given : bool
        Whether it has been given to a connection that has not asked it anything yet.
    busy_since, spent_s : float
        Since when it is busy, and time [s] that the statement took before.
    used_s, used_before_s : float
        Processor time [s] of its statement when last looked at, and that of what it did before.
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
    is_given: bool = False
    busy_since: float = 0.0
    spent_s: float = 0.0
    used_s: float = 0.0
    used_before_s: float = 0.0
    has_more: bool = False
    inner: str = ""
    is_slowed: bool = False
    last_used: float = field(default_factory=time.monotonic)
    cause: str = ""

    @property
    def is_free(self) -> bool:
        """Whether it is ready and serves nobody."""
        return bool(self.port) and self.holder is None and not self.cause

    @property
    def is_busy(self) -> bool:
        """Whether a statement runs in it, or is about to, or its result is being read."""
        at_work = self.is_given or bool(self.pending) or self.has_more
        return self.holder is not None and not self.cause and at_work

    def begin(self) -> None:
        """Begin to measure a statement."""
        self.spent_s = self.used_s = 0.0
        self.busy_since = time.monotonic()
        self.used_before_s = processor_s(self.pid) or 0.0

    def measure(self) -> float:
        """Processor time [s] of its statement by now; the clock's where the system tells none."""
        used_s = processor_s(self.pid)
        if used_s is None:
            self.used_s = max(self.used_s, self.spent_s, self.runs_for_s(time.monotonic()))
        else:
            self.used_s = used_s - self.used_before_s
        return self.used_s

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
    quick : int
        Statements in a row, up to the last one, that used a moment of a processor only.
    """

    token: str
    players: Players
    worker: Worker | None = None
    ended: int = 0
    quick: int = 0

    @property
    def is_quick(self) -> bool:
        """Whether its statements take moments; those of attaching say nothing of who asks."""
        return self.quick > _OF_ATTACHING
