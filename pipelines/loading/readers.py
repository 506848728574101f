"""Processes that read exports ahead, beside the one that loads them.

Reading is most of a load's work, and the part that other people's bytes can upset. Two processes
use two processors; and an export that ends or holds up the process that reads it is refused with
a reason, while the load goes on.

A second process starts when more than a few exports wait, and ends when it has nothing to do.
Where the settings name a scheduler, its workers read instead, on whatever machines.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Sequence
from concurrent.futures import Future
from contextlib import suppress
from dataclasses import dataclass, field
from types import TracebackType

from rangeledger.pipelines.loading.far_partner import LARGE, FarPartner, LocalReaders
from rangeledger.pipelines.loading.offered import Offered, Stamp, stamp_of
from rangeledger.pipelines.loading.read_one import ReadResult, read_one
from rangeledger.pipelines.loading.reader_process import Reading
from rangeledger.pipelines.loading.reading_limits import Ended, How, Limits, refusal_of
from rangeledger.pipelines.loading.reading_partner import Partner
from rangeledger.pipelines.spreading.cluster import Cluster
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.settings import ReadingDefaults

_FEW = 3
_IDLE_S = 20.0
_TRIES = 2
_Key = tuple[str, Stamp | None, Stamp | None, str]


@dataclass(slots=True, eq=False)
class _Job:
    """One export to be read."""

    key: _Key
    defaults: ReadingDefaults | None
    offered: Offered
    result: Future[ReadResult] = field(default_factory=Future)

    @property
    def size(self) -> int:
        """Size [bytes] of the export."""
        stamp = self.key[1]
        return stamp.size if stamp else 0


class Readers:
    """Reads exports in processes of their own; a context manager.

    Parameters
    ----------
    home : Home
    limits : Limits, optional
        Time and memory that reading one export may take.
    read : callable
        What the processes do with an export.
    most : int
        Most processes on this machine.
    cluster : Cluster, optional
        Workers that read in their place.

    Attributes
    ----------
    partners : set of Partner or FarPartner
        The processes.
    """

    def __init__(
        self,
        home: Home,
        *,
        limits: Limits | None = None,
        read: Reading = read_one,
        most: int = 2,
        cluster: Cluster | None = None,
    ) -> None:
        self._home, self._limits = home, limits or Limits()
        self._read, self._most = read, most
        self._changed = threading.Condition()
        self._jobs: dict[_Key, _Job] = {}
        self._queue: deque[_Job] = deque()
        self._threads: list[threading.Thread] = []
        self._cluster = cluster
        self._local_readers = LocalReaders(home, read, most)
        self.partners: set[Partner | FarPartner] = set()
        self._left_because = ""
        self._closed = False

    def __enter__(self) -> Readers:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def warm_up(self) -> None:
        """Start the first process now, so that the first export need not wait for it."""
        with self._changed:
            self._have_threads(1)

    def expect(self, defaults: ReadingDefaults | None, offered: Sequence[Offered]) -> None:
        """Begin to read exports that will be asked for; forget all others.

        Parameters
        ----------
        defaults : ReadingDefaults or None
        offered : sequence of Offered
            In the order in which they will be asked for.
        """
        with self._changed:
            jobs = [self._job(defaults, one) for one in offered]
            self._jobs = {job.key: job for job in jobs}
            queued = set(self._queue)
            self._queue = deque(job for job in jobs if job in queued)
            self._work_off()

    def read(self, defaults: ReadingDefaults | None, offered: Offered) -> ReadResult:
        """What reading an export gives, as soon as it is known; never raises for the export's sake.

        What was read ahead counts only if neither export nor note has changed since.
        """
        with self._changed:
            job = self._job(defaults, offered)
            self._work_off()
        result = job.result.result()
        with self._changed:
            self._jobs.pop(job.key, None)
        return result

    def abandon(self, because: str) -> None:
        """Begin with no more exports: what is not being read stays in the inbox."""
        with self._changed:
            self._left_because = because
            self._work_off()

    def close(self) -> None:
        """End the processes, whatever they do."""
        with self._changed:
            self._closed = True
            self._left_because = self._left_because or "Reading was ended."
            self._work_off()
            for partner in self.partners:
                partner.kill()
            self._local_readers.kill()
        for thread in self._threads:
            thread.join()
        self._local_readers.end()

    def _job(self, defaults: ReadingDefaults | None, offered: Offered) -> _Job:
        note = offered.note
        key = (
            str(offered.path), stamp_of(offered.path), stamp_of(note) if note else None,
            str(defaults),
        )  # fmt: skip
        job = self._jobs.get(key)
        if job is None:
            job = self._jobs[key] = _Job(key, defaults, offered)
            self._queue.append(job)
        return job

    def _work_off(self) -> None:
        """See that somebody takes what is queued."""
        if self._left_because:
            for job in self._queue:
                job.result.set_result(ReadResult(left_because=self._left_because))
            self._queue.clear()
        elif self._queue:
            self._have_threads(self._at_once())
        self._changed.notify_all()

    def _at_once(self) -> int:
        """How many exports to have read at a time."""
        if self._cluster is not None:
            return self._cluster.places()
        return self._most if len(self._queue) > _FEW else 1

    def _have_threads(self, count: int) -> None:
        self._threads = [thread for thread in self._threads if thread.is_alive()]
        while len(self._threads) < count:
            target = self._serve_always if not self._threads else self._serve_while_busy
            thread = threading.Thread(target=target, name="reader", daemon=True)
            self._threads.append(thread)
            thread.start()

    def _serve_always(self) -> None:
        self._serve(None)

    def _serve_while_busy(self) -> None:
        self._serve(_IDLE_S)

    def _serve(self, idle_s: float | None) -> None:
        """Have one process work off the queue; the first one stays, others end when idle."""
        partner = self._new_partner()
        with self._changed:
            self.partners.add(partner)
        try:
            if idle_s is None and not self._closed:
                with suppress(Exception):  # told when an export asks for it
                    partner.start()
                with self._changed:
                    self._work_off()  # by as many as there are workers, now that they are known
            while (job := self._next(idle_s)) is not None:
                job.result.set_result(self._read_by(partner, job))
                if job.size > LARGE:
                    partner.end()  # gives its memory back; the next one starts at once
        finally:
            with self._changed:
                self.partners.discard(partner)
            partner.end()

    def _new_partner(self) -> Partner | FarPartner:
        if self._cluster is None:
            return Partner(self._home, self._read)
        return FarPartner(self._home, self._read, self._cluster, self._local_readers)

    def _next(self, idle_s: float | None) -> _Job | None:
        with self._changed:
            while not self._queue and not self._closed:
                if not self._changed.wait(idle_s) and not self._queue:
                    return None
            return None if self._closed else self._queue.popleft()

    def _read_by(self, partner: Partner | FarPartner, job: _Job) -> ReadResult:
        """Have an export read; a process that dies over it is given a second chance."""
        limit = self._limits.of(job.size)
        for attempt in range(1, _TRIES + 1):
            try:
                answer = partner.read(job.defaults, job.offered, limit)
            except Exception as error:  # noqa: BLE001  who waits for the answer must have one
                cause = f"The machine can't start a process to read it at the moment ({error!r})."
                return ReadResult(left_because=cause)
            if not isinstance(answer, Ended):
                return answer
            if self._closed:
                break
            if answer.how is not How.DIED or attempt == _TRIES:
                return ReadResult(refusal=refusal_of(job.offered.file_name, answer, limit))
        return ReadResult(left_because=self._left_because)
