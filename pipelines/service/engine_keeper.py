"""The service's Prefect server: started with it, left word of, and replaced if it dies."""

from __future__ import annotations

import json
import os
from logging import Logger

from pipelines.engine import Server, address_file, apply_quiet_settings
from warehouse.home import Home, write_atomically


class EngineKeeper:
    """Keeps one Prefect server running at one address as long as the service lives.

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
        self._server = Server(home, port, pages=pages)
        os.environ["PREFECT_API_URL"] = self._server.address

    @property
    def address(self) -> str:
        """Address of the server's API."""
        return self._server.address

    def wait(self) -> None:
        """Wait until it answers and leave word of it for commands."""
        self._server.wait()
        word = json.dumps({"address": self.address, "pid": os.getpid()})
        write_atomically(address_file(self._home), word)

    def ensure(self) -> bool:
        """Start the server again if it has ended; the address stays the same.

        Returns
        -------
        bool
            Whether it had ended.
        """
        if self._server.is_running():
            return False
        self._log.warning("the flow engine had ended and is started again")
        self._server = Server(self._home, self._server.port, pages=self._pages)
        self._server.wait()
        return True

    def stop(self) -> None:
        """End the server and take back the word of it."""
        address_file(self._home).unlink(missing_ok=True)
        self._server.stop()
