"""Whose turn it is among the connections that wait for a worker, and which statement makes room.

Rules alone: what they judge by is on workers and holders, and the clock is given. A statement is
judged by the processor time that it has used, not by the time that has passed: on a crowded machine
a short one takes long as well, and must not be taken for one of those that crowd it.
"""

from __future__ import annotations

import asyncio
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from rangeledger.warehouse.serving.workers import Holder, Worker

# Statements beyond those at a time, for who has been quick or whose token runs nothing yet: while
# all others are taken, these need wait for nobody.
RESERVE = 2
# A statement that has used more of a processor than this [s] yields to all that is quick.
LONG_S = 0.4
# A result left unread for so long [s] is given up where others wait.
UNREAD_S = 1.0


@dataclass(slots=True, eq=False)
class Waiting:
    """A connection that waits for a worker.

    Attributes
    ----------
    holder : Holder
    since : float
        Since when, on the monotonic clock.
    turn : asyncio.Future of Worker
        Is given its worker.
    """

    holder: Holder
    since: float
    turn: asyncio.Future[Worker]


def running_by_token(workers: Iterable[Worker]) -> Counter[str]:
    """How many statements run with each token."""
    return Counter(w.holder.token for w in workers if w.holder and w.is_busy)


def in_order(waiting: Iterable[Waiting], running: Counter[str]) -> list[Waiting]:
    """Those who wait, in the order of who uses fewest: tokens, then connections, then arrival."""
    return sorted(
        waiting,
        key=lambda one: (
            running[one.holder.token], one.holder.ended, not one.holder.is_quick, one.since,
        ),
    )  # fmt: skip


def is_favoured(holder: Holder, running: Counter[str], statements: int) -> bool:
    """Whether a connection may use the reserve.

    One place of it is kept for tokens that run nothing, whatever the others do.

    Parameters
    ----------
    holder : Holder
    running : Counter of str
        Statements that run, by token.
    statements : int
        Statements at a time, without the reserve.
    """
    if not running[holder.token]:
        return True
    return holder.is_quick and running.total() < statements + RESERVE - 1


def may_begin(holder: Holder, running: Counter[str], statements: int) -> bool:
    """Whether there is a place for another statement of a connection; see `is_favoured`."""
    reserve = RESERVE if is_favoured(holder, running, statements) else 0
    return running.total() < statements + reserve


def is_left_unread(worker: Worker, now: float) -> bool:
    """Whether a client has not read on for longer than others need wait for it."""
    return worker.has_more and not worker.pending and now - worker.last_used >= UNREAD_S


def burden_s(worker: Worker, now: float) -> float:
    """Processor time [s] that a statement counts for.

    One that gets little of a processor lasts long and keeps its place for so long: where that is
    less than half of one, half of the time that passed is counted, up to four times what it used.

    Parameters
    ----------
    worker : Worker
    now : float
        The monotonic clock [s].
    """
    return max(worker.used_s, min(4.0 * worker.used_s, worker.runs_for_s(now) / 2.0))


def is_owed_room(one: Waiting, running: Counter[str], now: float, crowded_s: float) -> bool:
    """Whether a statement may be ended for one who waits.

    Who is quick, or whose token runs nothing, waits for none that is long; the others wait for a
    moment first.

    Parameters
    ----------
    one : Waiting
    running : Counter of str
        Statements that run, by token.
    now, crowded_s : float
        The monotonic clock [s], and what a statement may use in any case [s].
    """
    favoured = one.holder.is_quick or not running[one.holder.token]
    return favoured or now - one.since >= crowded_s / 2


def makes_room(
    holder: Holder, workers: Iterable[Worker], now: float, crowded_s: float
) -> Worker | None:
    """The worker whose statement is ended so that another may begin.

    Parameters
    ----------
    holder : Holder
        Whose statement is to begin. Only of its own token, or of one that runs more, is any ended.
    workers : iterable of Worker
    now : float
        The monotonic clock [s].
    crowded_s : float
        Processor time [s] that a statement may use in any case.

    Returns
    -------
    Worker or None
        A result left unread, else of the token that runs most the statement that has used most.
    """
    found = list(workers)
    running = running_by_token(found)
    ending = [
        w for w in found
        if w.holder is not None and w.is_busy
        and (burden_s(w, now) >= crowded_s or is_left_unread(w, now))
        and (w.holder.token == holder.token or running[w.holder.token] > running[holder.token])
    ]  # fmt: skip
    return max(
        ending,
        key=lambda w: (
            is_left_unread(w, now), running[w.holder.token] if w.holder else 0, burden_s(w, now),
        ),
        default=None,
    )  # fmt: skip
