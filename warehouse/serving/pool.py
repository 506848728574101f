"""The workers of the front: started ahead, given to who asks, ended where they must be.

A worker serves one connection at a time. While all are taken, those who wait get their turn by who
uses fewest: first tokens, then connections that have been quick, then by arrival; and a statement
that has run for longer than a moment makes room.
"""

from __future__ import annotations

import asyncio
import json
import secrets
import sys
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from rangeledger.warehouse.home import Home
from rangeledger.warehouse.serving import limits as bounds
from rangeledger.warehouse.serving.limits import Limits
from rangeledger.warehouse.serving.served_files import clear, publication
from rangeledger.warehouse.serving.workers import Holder, NoWorkerError, Players, Worker
from rangeledger.warehouse.system.limits import yield_to
from rangeledger.warehouse.system.memory import resident_bytes

# Workers beyond the statements at a time, for who has been quick or whose token runs nothing yet:
# while all others are taken, these need wait for nobody.
_RESERVE = 2
# Workers that wait, started, for the next client: to start one takes a third of a second.
_SPARE = 2
# A worker that nobody has asked for so long [s] is ended, apart from the spare ones.
_IDLE_S = 30.0
# A result left unread for so long [s] is given up where others wait.
_UNREAD_S = 1.0
# Resident memory [MiB] of a worker beside its queries: the program and the database's code.
_BASE_MIB = 256
_RESTART_S = 1.0
# A statement that runs for longer than this [s] yields to all that is quick.
_LONG_S = 0.4
_NICEST = 19


@dataclass(slots=True, eq=False)
class _Waiting:
    holder: Holder
    since: float
    turn: asyncio.Future[Worker]


class Pool:
    """Workers for the connections of a front.

    Parameters
    ----------
    home : Home
    limits : Limits
    report : callable
        Takes what a person should know, by keyword.
    """

    def __init__(self, home: Home, limits: Limits, report: Callable[..., None]) -> None:
        self._home, self._limits, self._report = home, limits, report
        self._workers: dict[int, Worker] = {}
        self._waiting: list[_Waiting] = []
        self._numbers = 0
        self._nursery: asyncio.subprocess.Process | None = None
        self._listening: asyncio.Task[None] | None = None
        self._failed_at = 0.0
        self._last_problem = ""
        self.publication = 0
        self._coming = 0
        self.counts: Counter[str] = Counter()

    async def start(self) -> None:
        """Start the first workers and wait for one.

        Raises
        ------
        NoWorkerError
            If it can't be started.
        """
        clear(self._home)
        self._nursery = await asyncio.create_subprocess_exec(
            sys.executable, "-m", "rangeledger.warehouse.serving.nursery",
            stdin=asyncio.subprocess.PIPE, stdout=asyncio.subprocess.PIPE,
        )  # fmt: skip
        self._listening = asyncio.create_task(self._listen())
        self.publication = publication(self._home) or 0
        first = self._start(None, self.publication)
        while not first.port:
            if first.number not in self._workers or self.nursery_ended:
                raise NoWorkerError(self._last_problem or "The process that serves ended at once.")
            await asyncio.sleep(0.01)
        self._keep_spares()

    @property
    def nursery_ended(self) -> bool:
        """Whether the process that workers are forked from has ended."""
        return self._listening is not None and self._listening.done()

    def _start(self, players: Players, number: int) -> Worker:
        self._numbers += 1
        worker = Worker(self._numbers, players, number, secrets.token_hex(16))
        self._workers[worker.number] = worker
        task = {
            "home": str(self._home.root), "publication": number, "players": players,
            "token": worker.token, "memory_mib": self._limits.memory_mib,
            "verify": worker.number == 1,
        }  # fmt: skip
        self._order(start=worker.number, task=task)
        return worker

    def _order(self, **order: Any) -> None:
        assert self._nursery is not None
        assert self._nursery.stdin is not None
        self._nursery.stdin.write((json.dumps(order) + "\n").encode())

    async def _listen(self) -> None:
        assert self._nursery is not None
        assert self._nursery.stdout is not None
        async for line in self._nursery.stdout:
            event = json.loads(line)
            if "ready" in event:
                self._is_ready(event)
            elif "failed" in event:
                self._has_failed(event)
            elif "ended" in event:
                self._has_ended(event)
            self._assign()

    def _is_ready(self, event: dict[str, Any]) -> None:
        worker = self._workers.get(event["ready"])
        if worker is None:
            return
        worker.port, worker.pid = event["port"], event["pid"]
        worker.last_used = time.monotonic()
        self._last_problem = ""
        if worker.publication == self._coming:
            self.publication, self._coming = self._coming, 0
            clear(self._home, self.publication)
            self._report(following="a new publication is served")

    def _has_failed(self, event: dict[str, Any]) -> None:
        worker = self._workers.get(event["failed"])
        self._failed_at = time.monotonic()
        if event["problem"] != self._last_problem:
            self._last_problem = event["problem"]
            self._report(problem=self._last_problem)
        if worker is None:
            return
        self._coming = 0 if worker.publication == self._coming else self._coming
        for waiting in [w for w in self._waiting if w.holder.players == worker.players]:
            self._waiting.remove(waiting)
            if not waiting.turn.done():
                waiting.turn.set_exception(NoWorkerError(self._last_problem))

    def _has_ended(self, event: dict[str, Any]) -> None:
        worker = self._workers.pop(event["ended"], None)
        if worker is None:
            return
        if worker.publication == self._coming and not worker.port:
            self._coming, self._failed_at = 0, time.monotonic()
        if worker.port and not worker.cause:
            worker.cause = "The database met a fault of its own over the statement"
            self._report(problem=f"A worker ended by itself (status {event['status']}).")
            self.counts["faults"] += 1
        if worker.publication != self.publication:  # it may have begun after the files were cleared
            clear(self._home, self.publication, self._coming)
        if worker.holder is not None:
            worker.holder.worker = None
            worker.holder = None

    async def lease(self, holder: Holder) -> Worker:
        """A worker for a connection, which keeps it until it is released.

        Raises
        ------
        NoWorkerError
            If none can be started.
        """
        turn: asyncio.Future[Worker] = asyncio.get_running_loop().create_future()
        waiting = _Waiting(holder, time.monotonic(), turn)
        self._waiting.append(waiting)
        self._assign()
        try:
            return await turn
        except asyncio.CancelledError:
            if turn.done() and not turn.cancelled() and turn.exception() is None:
                self.release(holder)
            raise
        finally:
            if waiting in self._waiting:
                self._waiting.remove(waiting)

    def release(self, holder: Holder) -> None:
        """Take back a connection's worker; one that is at work is ended."""
        worker, holder.worker = holder.worker, None
        if worker is None:
            return
        if (
            worker.pending or worker.has_more or worker.is_slowed
            or worker.publication != self.publication
        ):  # fmt: skip
            self.end(worker, "The connection was given up")
        worker.holder, worker.has_more = None, False
        worker.last_used = time.monotonic()
        self._assign()

    def end(self, worker: Worker, cause: str) -> None:
        """End a worker; who waits for its answer is told the cause."""
        if worker.cause:
            return
        worker.cause = cause
        self._order(end=worker.number)

    def _assign(self) -> None:
        """Give free workers to those who wait, in the order of who uses fewest."""
        running = Counter(w.holder.token for w in self._workers.values() if w.holder and w.pending)
        waiting = sorted(
            self._waiting,
            key=lambda one: (
                running[one.holder.token], one.holder.ended, not one.holder.is_quick, one.since,
            ),
        )  # fmt: skip
        for one in waiting:
            favoured = one.holder.is_quick or not running[one.holder.token]
            worker = self._find(one.holder.players, favoured=favoured)
            if worker is None:
                self._make_room(one.holder.players, len(waiting))
                continue
            self._waiting.remove(one)
            if not one.turn.done():
                running[one.holder.token] += 1
                worker.holder, one.holder.worker = one.holder, worker
                one.turn.set_result(worker)
        self._keep_spares()

    def _find(self, players: Players, *, favoured: bool) -> Worker | None:
        """A free worker for some players, taken from an idle connection if need be."""
        fit = [
            w for w in self._workers.values()
            if w.port and not w.cause and not w.is_slowed and w.players == players
            and w.publication == self.publication
        ]  # fmt: skip
        free = next((w for w in fit if w.holder is None), None)
        leased = sum(w.holder is not None and not w.cause for w in self._workers.values())
        if free is not None and (favoured or leased < self._limits.statements):
            return free
        if free is None and len(self._workers) < self._limits.statements:
            return None
        now = time.monotonic()
        idle = [
            w for w in fit
            if not w.pending and (not w.has_more or now - w.last_used >= _UNREAD_S)
        ]  # fmt: skip
        resting = min(idle, key=lambda w: (w.has_more, w.last_used), default=None)
        if resting is None or resting.holder is None:
            return None
        if resting.has_more:  # its result is given up, so the worker is not fit for another
            self.end(resting, "The result was left unread while others waited")
            return None
        resting.holder.worker = None
        return resting

    def _make_room(self, players: Players, waiting: int) -> None:
        """Start a worker, or end one that rests, for those who wait."""
        starting = [w for w in self._workers.values() if not w.port and not w.cause]
        if sum(w.players == players for w in starting) >= waiting:
            return
        if len(self._workers) < self._limits.statements + _RESERVE:
            if time.monotonic() - self._failed_at > _RESTART_S:
                self._start(players, self.publication)
            return
        now = time.monotonic()
        idle = [
            w for w in self._workers.values()
            if w.port and not w.pending and not w.cause
            and (not w.has_more or now - w.last_used >= _UNREAD_S)
            and (w.is_slowed or (w.players, w.publication) != (players, self.publication))
        ]  # fmt: skip
        ending = any(w.cause for w in self._workers.values())
        if idle and not ending:
            self.end(min(idle, key=lambda w: w.last_used), "Another took its place")

    def _keep_spares(self) -> None:
        """Have some workers ready for the next client, as far as there is room."""
        ready = [w for w in self._workers.values() if w.players is None and not w.holder
                 and not w.cause and w.publication == self.publication]  # fmt: skip
        room = self._limits.statements + _RESERVE - len(self._workers)
        if time.monotonic() - self._failed_at > _RESTART_S:
            for _ in range(min(_SPARE - len(ready), room)):
                self._start(None, self.publication)

    def supervise(self) -> None:
        """End what takes too long or too much, follow publications; call it now and then."""
        now = time.monotonic()
        for worker in list(self._workers.values()):
            self._judge(worker, now)
        if self._waiting and now - self._waiting[0].since >= self._limits.crowded_s / 2:
            self._end_the_longest(now)
        self._end_idle(now)
        self._follow(now)
        self._assign()

    def _judge(self, worker: Worker, now: float) -> None:
        if not worker.pending or worker.cause:
            return
        if worker.runs_for_s(now) > self._limits.statement_s:
            self._end_statement(worker, bounds.too_long(self._limits))
        elif resident_bytes(worker.pid) / 2**20 > self._limits.memory_mib + _BASE_MIB:
            self._end_statement(worker, bounds.too_much_memory(self._limits))
        elif worker.runs_for_s(now) > _LONG_S and not worker.is_slowed:
            worker.is_slowed = True
            yield_to(worker.pid, _NICEST)

    def _end_statement(self, worker: Worker, cause: str) -> None:
        self.counts["ended"] += 1
        if worker.holder is not None:
            worker.holder.ended += 1
        self.end(worker, cause)

    def _end_the_longest(self, now: float) -> None:
        """End the statements that have run longest, one for each that waits."""
        busy = [w for w in self._workers.values() if w.pending and not w.cause]
        running = Counter(w.holder.token for w in busy if w.holder)
        long = [w for w in busy if w.runs_for_s(now) >= self._limits.crowded_s]
        coming = sum(bool(w.cause) or not w.port for w in self._workers.values())
        for worker in sorted(
            long,
            key=lambda w: (
                running[w.holder.token] if w.holder else 0,
                not (w.holder and w.holder.is_quick),
                w.runs_for_s(now),
            ),
            reverse=True,
        )[: max(len(self._waiting) - coming, 0)]:
            self._end_statement(worker, bounds.crowded(worker.runs_for_s(now)))

    def _end_idle(self, now: float) -> None:
        free = sorted(
            (w for w in self._workers.values() if w.is_free), key=lambda w: w.last_used
        )  # fmt: skip
        old = [w for w in free if w.publication != self.publication]
        current = [w for w in free if w.publication == self.publication]
        rested = [w for w in current[: max(len(current) - _SPARE, 0)]
                  if now - w.last_used > _IDLE_S]  # fmt: skip
        for worker in (*old, *rested):
            self.end(worker, "Nobody asked it")

    def _follow(self, now: float) -> None:
        """Begin to serve a new publication: a worker of it first, then all who ask anew."""
        number = publication(self._home)
        if number in (None, self.publication, self._coming) or self._coming:
            return
        if now - self._failed_at > _RESTART_S and number is not None:
            self._coming = number
            self._start(None, number)

    def numbers(self) -> dict[str, float]:
        """What a monitor wants to know."""
        workers = list(self._workers.values())
        return {
            "workers": len(workers),
            "statements_running": sum(bool(w.pending) for w in workers),
            "statements_waiting": len(self._waiting),
            "statements_ended_total": self.counts["ended"],
            "worker_faults_total": self.counts["faults"],
        }

    async def stop(self) -> None:
        """End the nursery and with it all workers."""
        if self._nursery is not None and self._nursery.stdin is not None:
            self._nursery.stdin.close()
            await self._nursery.wait()
