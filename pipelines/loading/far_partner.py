"""A reading process on another machine, seen from the process that loads."""

from __future__ import annotations

from queue import LifoQueue

from rangeledger.pipelines.loading.carried import carry, read_carried
from rangeledger.pipelines.loading.offered import Offered, stamp_of
from rangeledger.pipelines.loading.read_one import ReadResult
from rangeledger.pipelines.loading.reader_process import Reading
from rangeledger.pipelines.loading.reading_limits import Ended, How, Limit
from rangeledger.pipelines.loading.reading_partner import Partner
from rangeledger.pipelines.spreading.cluster import Cluster, NotHereError, Question
from rangeledger.schemas.reasons import FileReason
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.settings import ReadingDefaults

LARGE = 16 * 2**20
_QUEUE_S = 600.0


class LocalReaders:
    """Reading processes of this machine, for what the workers can't do; shared by all threads.

    Parameters
    ----------
    home : Home
    read : callable
        What they do with an export.
    most : int
        How many there are; who finds none free waits.
    """

    def __init__(self, home: Home, read: Reading, most: int) -> None:
        self._partners = [Partner(home, read) for _ in range(most)]
        self._free: LifoQueue[Partner] = LifoQueue()
        for partner in self._partners:
            self._free.put(partner)

    def read(
        self, defaults: ReadingDefaults | None, offered: Offered, limit: Limit, *, large: bool
    ) -> ReadResult | Ended:
        """Have one export read; after a large one the process ends, to give its memory back."""
        partner = self._free.get()
        try:
            return partner.read(defaults, offered, limit)
        finally:
            if large:
                partner.end()
            self._free.put(partner)

    def kill(self) -> None:
        """End all at once; may be called by another thread."""
        for partner in self._partners:
            partner.kill()

    def end(self) -> None:
        """End all, when nobody asks any more."""
        for partner in self._partners:
            partner.end()


class FarPartner:
    """Has exports read by the workers of a cluster, and here where they can't.

    What is large is read where it lies. A fault of the program, or of the worker's machine, is not
    taken from a worker: the export is read again here, where the fault is kept.

    Parameters
    ----------
    home : Home
    read : callable
        What is done with an export.
    cluster : Cluster
    local_readers : LocalReaders
    """

    def __init__(
        self, home: Home, read: Reading, cluster: Cluster, local_readers: LocalReaders
    ) -> None:
        self._home, self._read = home, read
        self._cluster, self._local_readers = cluster, local_readers
        self.is_busy = self._killed = False
        self._question: Question[ReadResult | Ended] | None = None

    def start(self) -> None:
        """Find the workers."""
        self._cluster.is_there()

    def read(
        self, defaults: ReadingDefaults | None, offered: Offered, limit: Limit
    ) -> ReadResult | Ended:
        """Have one export read; tells how the process ended if it did over this.

        Raises
        ------
        OSError
            If no process can be started here either.
        """
        self.is_busy = True
        try:
            size = stamp.size if (stamp := stamp_of(offered.path)) is not None else 0
            answer = self._read_remotely(defaults, offered, limit) if size <= LARGE else None
            if answer is not None:
                return answer
            if self._killed:
                return Ended(How.DIED)
            return self._local_readers.read(defaults, offered, limit, large=size > LARGE)
        finally:
            self.is_busy = False

    def _read_remotely(
        self, defaults: ReadingDefaults | None, offered: Offered, limit: Limit
    ) -> ReadResult | Ended | None:
        """What a worker answered, None where that is not to be had or not to be taken."""
        try:
            carried = carry(self._home, defaults, offered, self._read, limit)
            self._question = self._cluster.begin(read_carried, carried)
            answer = self._question.answer(limit.seconds + _QUEUE_S)
        except (OSError, NotHereError):
            return None
        if isinstance(answer, ReadResult):
            fault = answer.refusal is not None and answer.refusal.code == FileReason.FAULT.value
            if fault or answer.left_because:
                return None
        return answer

    def kill(self) -> None:
        """Wait for no worker any more, whose own limits end what it does."""
        self._killed = True
        if self._question is not None:
            self._question.drop()

    def end(self) -> None:
        """Nothing is held."""
