"""The service's Prefect server: started with it, left word of, and replaced if it dies."""

from __future__ import annotations

import threading
from collections.abc import Callable
from logging import Logger

from rangeledger.pipelines.running.engine import (
    Server,
    address_file,
    apply_quiet_settings,
    expect,
    leave_word,
)
from rangeledger.pipelines.running.telling import start_telling
from rangeledger.pipelines.service.backoff import Backoff
from rangeledger.schemas.errors import HomeError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.kept_accounts import end_telling
from rangeledger.warehouse.system.limits import yield_to

_TICK_S = 0.2
_NICENESS = 10  # nobody waits for what it does


class EngineKeeper:
    """Keeps one Prefect server running at one address as long as the service lives.

    A server that ends is started again at once by a thread of its own, so that a load that asks
    it meanwhile only waits.

    Parameters
    ----------
    home : Home
    log : logging.Logger
    port : int, optional
        Port on the loopback address; a free one if none is given.
    pages : bool
        Whether Prefect's own pages are served too.
    """

    def __init__(
        self, home: Home, log: Logger, *, port: int | None = None, pages: bool = False
    ) -> None:
        self._home, self._log, self._pages = home, log, pages
        apply_quiet_settings(home)
        end_telling(home)  # two servers at once would be in each other's way
        self._server = self._started(port)
        expect(self._server)
        self._had_ended = threading.Event()
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._keep, name="engine", daemon=True)

    def _started(self, port: int | None) -> Server:
        """A new server, which yields the processors to the loads that do not wait for it."""
        server = Server(self._home, port, pages=self._pages)
        yield_to(server.pid, _NICENESS)
        return server

    @property
    def address(self) -> str:
        """Address of the server's API."""
        return self._server.address

    def start(self) -> None:
        """Keep it from now on; no load waits for it."""
        self._thread.start()

    def _answers(self) -> None:
        """Wait until it answers and leave word of it for commands."""
        self._server.wait()
        if self._stopping.is_set():
            return
        leave_word(self._home, self.address)
        start_telling(self._home)
        if self._pages:
            where = address_file(self._home)
            pages = self.address.removesuffix("/api")
            self._log.info("Prefect's pages: %s (they ask for the secret in %s)", pages, where)

    def had_ended(self) -> bool:
        """Whether the server has ended since this was last asked."""
        ended = self._had_ended.is_set() or not self._server.is_running()
        self._had_ended.clear()
        return ended

    def _keep(self) -> None:
        """Start the server again whenever it has ended; the address stays the same."""
        backoff, answers = Backoff(), False
        while not self._stopping.wait(_TICK_S):
            if self._server.is_running():
                answers = answers or self._try(self._answers)
                continue
            answers = False
            self._had_ended.set()
            self._log.warning("the flow engine had ended and is started again")
            answers = self._try(self._restart)
            if answers:
                backoff.reset()
            else:
                self._stopping.wait(backoff.next_s())

    def _restart(self) -> None:
        self._server = self._started(self._server.port)
        expect(self._server)
        self._answers()

    def _try(self, work: Callable[[], None]) -> bool:
        """Do some work on the server; tells why it fails, and returns whether it did not."""
        try:
            work()
        except (HomeError, OSError) as error:
            if not self._stopping.is_set():
                self._log.error("%s", error)
            return False
        return True

    def stop(self) -> None:
        """End the server and take back the word of it."""
        self._stopping.set()
        address_file(self._home).unlink(missing_ok=True)
        self._server.stop()
