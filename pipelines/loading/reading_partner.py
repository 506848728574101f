"""One process that reads exports, seen from the process that loads them."""

from __future__ import annotations

import time
from contextlib import suppress
from multiprocessing.connection import Connection
from multiprocessing.context import ForkServerProcess

from rangeledger.pipelines.loading.forking import FORKING, no_main_module, start_helper
from rangeledger.pipelines.loading.handed_over import receive_result
from rangeledger.pipelines.loading.offered import Offered
from rangeledger.pipelines.loading.read_one import ReadResult
from rangeledger.pipelines.loading.reader_process import Reading, serve
from rangeledger.pipelines.loading.reading_limits import Ended, How, Limit
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.settings import ReadingDefaults
from rangeledger.warehouse.system.memory import resident_bytes

_TICK_S = 0.1
_END_S = 2.0


class Partner:
    """Starts a reading process when one is needed, asks it, and ends it.

    Parameters
    ----------
    home : Home
    read : callable
        What the process does with an export.

    Attributes
    ----------
    is_busy : bool
        Whether it is at work on an export.
    """

    def __init__(self, home: Home, read: Reading) -> None:
        self._home, self._read = home, read
        self.is_busy = False
        self._process: ForkServerProcess | None = None
        self._connection: Connection | None = None

    @property
    def pid(self) -> int | None:
        """Number of the process, None while there is none."""
        return self._process.pid if self._process is not None else None

    def start(self) -> Connection:
        """Have the process running; returns the connection to it."""
        if self._process is not None and self._connection is not None and self._process.is_alive():
            return self._connection
        self.end()
        ours, theirs = FORKING.Pipe()
        process = FORKING.Process(
            target=serve, args=(theirs, self._home, self._read), name="reader", daemon=True
        )
        start_helper()
        with no_main_module():
            process.start()
        theirs.close()
        self._process, self._connection = process, ours
        return ours

    def read(
        self, defaults: ReadingDefaults | None, offered: Offered, limit: Limit
    ) -> ReadResult | Ended:
        """Have one export read; tells how the process ended if it did over this.

        Raises
        ------
        OSError
            If no process can be started.
        """
        connection = self.start()
        assert self._process is not None
        until = time.monotonic() + limit.seconds
        try:
            connection.send((defaults, offered, 2 * limit.seconds))
            self.is_busy = True
            while not connection.poll(_TICK_S):
                if time.monotonic() > until:
                    return self._ended(How.TOO_LONG)
                if resident_bytes(self._process.pid) > limit.memory:
                    return self._ended(How.TOO_MUCH)
            answer = receive_result(connection)
        except (EOFError, BrokenPipeError, ConnectionResetError):
            return self._ended(How.DIED)
        finally:
            self.is_busy = False
        return answer

    def _ended(self, how: How) -> Ended:
        """End the process if it has not, and tell with what exit code it went of itself."""
        assert self._process is not None
        if how is not How.DIED:
            self._process.kill()
        self._process.join(_END_S)
        code = self._process.exitcode
        self.end()
        return Ended(how, code or 0)

    def kill(self) -> None:
        """End the process at once; may be called by another thread."""
        process = self._process
        if process is not None:
            with suppress(ValueError, OSError):  # it ended meanwhile
                process.kill()

    def end(self) -> None:
        """End the process and give up the connection."""
        if self._connection is not None:
            self._connection.close()
        if self._process is not None:
            self._process.kill()
            self._process.join()
            self._process.close()
        self._process = self._connection = None
