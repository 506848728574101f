"""The workers of the front: started ahead, given to who asks, ended where they must be.

A worker serves one connection at a time. Whose turn it is, and which statement makes room, say the
rules of `turns.py`; here they are carried out. Some workers are always started ahead, and one that
was ended takes no place while the kernel takes it apart, so a turn need not wait for a process.
"""

from __future__ import annotations

import asyncio
import secrets
import time
from collections import Counter
from collections.abc import Callable
from typing import Any

from rangeledger.warehouse.home import Home
from rangeledger.warehouse.serving import limits as bounds
from rangeledger.warehouse.serving import turns
from rangeledger.warehouse.serving.limits import Limits
from rangeledger.warehouse.serving.nursing import NurseryProcess, Nursing
from rangeledger.warehouse.serving.served_files import clear, publication
from rangeledger.warehouse.serving.turns import Waiting
from rangeledger.warehouse.serving.workers import Holder, NoWorkerError, Players, Worker
from rangeledger.warehouse.system.limits import yield_to
from rangeledger.warehouse.system.memory import resident_bytes

# Workers that wait, started, for the next client: to start one takes a tenth of a second alone, and
# a second where the machine is crowded.
SPARE = 2
# A worker that nobody has asked for so long [s] is ended, apart from the spare ones.
_IDLE_S = 30.0
# Resident memory [MiB] of a worker beside its queries: the program and the database's code.
_BASE_MIB = 256
_RESTART_S = 1.0
_NICEST = 19


class Pool:
    """Workers for the connections of a front.

    Parameters
    ----------
    home : Home
    limits : Limits
    report : callable
        Takes what a person should know, by keyword.
    nursery : Nursing, optional
        What starts and ends workers; by default a process of its own.
    """

    def __init__(
        self,
        home: Home,
        limits: Limits,
        report: Callable[..., None],
        nursery: Nursing | None = None,
    ) -> None:
        self._home, self._limits, self._report = home, limits, report
        self._workers: dict[int, Worker] = {}
        self._waiting: list[Waiting] = []
        self._numbers = 0
        self._nursery: Nursing = nursery or NurseryProcess()
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
        await self._nursery.open(self._hear)
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
        return self._nursery.has_ended

    def _start(self, players: Players, number: int) -> Worker:
        self._numbers += 1
        worker = Worker(self._numbers, players, number, secrets.token_hex(16))
        self._workers[worker.number] = worker
        task = {
            "home": str(self._home.root), "publication": number, "players": players,
            "token": worker.token, "memory_mib": self._limits.memory_mib,
            "verify": worker.number == 1,
        }  # fmt: skip
        self._nursery.order(start=worker.number, task=task)
        return worker

    def _hear(self, event: dict[str, Any]) -> None:
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
        """A worker for a connection's next statement.

        The connection keeps it until it is released, or until another that asks finds none free;
        so each statement waits for its turn, and is most often given the worker of the last one.

        Raises
        ------
        NoWorkerError
            If none can be started.
        """
        turn: asyncio.Future[Worker] = asyncio.get_running_loop().create_future()
        if holder.worker is not None and not self._is_fit(holder.worker, holder.players):
            self.release(holder)
        waiting = Waiting(holder, time.monotonic(), turn)
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
        worker.holder, worker.has_more, worker.is_given = None, False, False
        worker.last_used = time.monotonic()
        self._assign()

    def end(self, worker: Worker, cause: str) -> None:
        """End a worker; who waits for its answer is told the cause."""
        if worker.cause:
            return
        worker.cause = cause
        self._nursery.order(end=worker.number)

    def _assign(self) -> None:
        """Give workers to those who wait, in their order, as far as there are places."""
        running = turns.running_by_token(self._workers.values())
        for one in turns.in_order(self._waiting, running):
            if not self._has_place(one):
                continue
            worker = one.holder.worker or self._find(one.holder.players)
            if worker is None:
                self._start_for(one.holder.players)
                continue
            self._waiting.remove(one)
            if not one.turn.done():
                if worker.holder is not one.holder:
                    worker.inner = ""
                worker.holder, one.holder.worker = one.holder, worker
                worker.is_given = True
                worker.begin()
                one.turn.set_result(worker)
        self._keep_spares()

    def _has_place(self, one: Waiting) -> bool:
        """Whether a statement of one who waits may begin; long ones are ended for it if need be."""
        statements, holder = self._limits.statements, one.holder
        while True:
            running = turns.running_by_token(self._workers.values())
            if turns.may_begin(holder, running, statements):
                return True
            now, crowded_s = time.monotonic(), self._limits.crowded_s
            if not turns.is_owed_room(one, running, now, crowded_s):
                return False
            worker = turns.makes_room(holder, self._workers.values(), now, crowded_s)
            if worker is None:
                return False
            if turns.is_left_unread(worker, now):
                self.end(worker, "The result was left unread while others waited")
            else:
                self._end_statement(worker, bounds.crowded(worker.runs_for_s(now)))

    def _find(self, players: Players) -> Worker | None:
        """A free worker for some players, taken from an idle connection if need be."""
        fit = [w for w in self._workers.values() if not w.is_busy and self._is_fit(w, players)]
        found = min(fit, key=lambda w: (w.holder is not None, w.last_used), default=None)
        if found is not None and found.holder is not None:
            found.holder.worker = None
        return found

    def _is_fit(self, worker: Worker, players: Players) -> bool:
        """Whether a worker may be asked once more, of what these players' token may see now."""
        served = (worker.players, worker.publication) == (players, self.publication)
        return bool(worker.port) and not worker.cause and not worker.is_slowed and served

    @property
    def _room(self) -> int:
        """How many workers may be started; those that are being ended are few and go soon."""
        live = sum(not w.cause for w in self._workers.values())
        most = self._limits.statements + turns.RESERVE + SPARE
        return min(most - live, most + self._limits.statements - len(self._workers))

    def _start_for(self, players: Players) -> None:
        """Start a worker for who may begin and finds none; one that rests makes room."""
        wanted = sum(one.holder.players == players for one in self._waiting)
        starting = sum(not w.port and not w.cause and w.players == players
                       for w in self._workers.values())  # fmt: skip
        if starting >= wanted or time.monotonic() - self._failed_at <= _RESTART_S:
            return
        idle = [
            w for w in self._workers.values()
            if w.port and not w.cause and not w.is_busy and not self._is_fit(w, players)
        ]  # fmt: skip
        if self._room <= 0 and idle:
            self.end(min(idle, key=lambda w: w.last_used), "Another took its place")
        if self._room > 0:
            self._start(players, self.publication)

    def _keep_spares(self) -> None:
        """Have some workers ready for the next client, as far as there is room."""
        ready = [w for w in self._workers.values() if w.players is None and not w.holder
                 and not w.cause and w.publication == self.publication]  # fmt: skip
        if time.monotonic() - self._failed_at > _RESTART_S:
            for _ in range(min(SPARE - len(ready), self._room)):
                self._start(None, self.publication)

    def supervise(self) -> None:
        """End what takes too long or too much, follow publications; call it now and then."""
        now = time.monotonic()
        for worker in list(self._workers.values()):
            self._judge(worker, now)
        self._end_idle(now)
        self._follow(now)
        self._assign()

    def _judge(self, worker: Worker, now: float) -> None:
        if not worker.is_busy:
            return
        worker.measure()
        if worker.runs_for_s(now) > self._limits.statement_s:
            self._end_statement(worker, bounds.too_long(self._limits))
        elif resident_bytes(worker.pid) / 2**20 > self._limits.memory_mib + _BASE_MIB:
            self._end_statement(worker, bounds.too_much_memory(self._limits))
        elif turns.burden_s(worker, now) > turns.LONG_S and not worker.is_slowed:
            worker.is_slowed = True
            if worker.holder is not None:
                worker.holder.quick = 0
            yield_to(worker.pid, _NICEST)

    def _end_statement(self, worker: Worker, cause: str) -> None:
        self.counts["ended"] += 1
        if worker.holder is not None:
            worker.holder.ended += 1
        self.end(worker, cause)

    def _end_idle(self, now: float) -> None:
        free = sorted(
            (w for w in self._workers.values() if w.is_free), key=lambda w: w.last_used
        )  # fmt: skip
        old = [w for w in free if w.publication != self.publication]
        current = [w for w in free if w.publication == self.publication]
        rested = [w for w in current[: max(len(current) - SPARE, 0)]
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
