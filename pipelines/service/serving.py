"""Keeping the SQL server running: started, watched, started again when it had to end."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
import time
from dataclasses import dataclass
from logging import Logger

from rangeledger.pipelines.service.log import close_log, open_log
from rangeledger.pipelines.service.presence import SERVE, Presence, sole_service, tell
from rangeledger.schemas.errors import HomeError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.sql_server import CAN_NOT_START, Orders, extension_files

_TICK_S = 0.1
_LONG_LIFE_S = 5.0
_MOST_SHORT_LIVES = 5


@dataclass(slots=True)
class _Life:
    """One life of the server's process."""

    process: subprocess.Popen[str]
    began: float
    ready: bool = False
    problem: str = ""


class Keeper:
    """Keeps the server's process alive until told to stop.

    Parameters
    ----------
    home : Home
    orders : rangeledger.warehouse.sql_server.Orders
    presence : Presence
    log : logging.Logger
    """

    def __init__(self, home: Home, orders: Orders, presence: Presence, log: Logger) -> None:
        self._home, self._orders, self._presence, self._log = home, orders, presence, log
        self._stop = threading.Event()

    def stop(self) -> None:
        """Tell it to stop."""
        self._stop.set()

    def run(self) -> None:
        """Serve until told to stop.

        Raises
        ------
        HomeError
            If the server can't start, or ends again and again at once.
        """
        self._wait_for_a_publication()
        short_lives = 0
        while not self._stop.is_set():
            life = self._live()
            if self._stop.is_set():
                return
            if life.process.returncode == CAN_NOT_START:
                raise HomeError(life.problem or "The server can't start.")
            lasted = time.monotonic() - life.began
            short_lives = short_lives + 1 if lasted < _LONG_LIFE_S else 0
            if short_lives >= _MOST_SHORT_LIVES:
                raise HomeError(f"The server ended {short_lives} times at once. {life.problem}")
            self._log.warning("started again; clients connect anew")

    def _wait_for_a_publication(self) -> None:
        if not self._home.database.exists():
            self._log.info("nothing is published yet; serving begins with the first load")
        while not self._home.database.exists() and not self._stop.wait(_TICK_S):
            continue

    def _live(self) -> _Life:
        """One life of the process, from its start to its end."""
        process = subprocess.Popen(
            [sys.executable, "-m", "rangeledger.warehouse.sql_server"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        life = _Life(process, time.monotonic())
        assert process.stdin is not None
        process.stdin.write(self._orders.as_line())
        process.stdin.flush()
        listener = threading.Thread(target=self._listen, args=(life,), daemon=True)
        listener.start()
        while process.poll() is None and not self._stop.wait(_TICK_S):
            continue
        process.stdin.close()
        try:
            process.wait(timeout=5)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        listener.join(timeout=5)
        return life

    def _listen(self, life: _Life) -> None:
        """Log what the process tells."""
        assert life.process.stdout is not None
        for line in life.process.stdout:
            event = json.loads(line)
            if "ready" in event:
                self._presence.doing = "serving"
                self._presence.address = f"quack:{event['ready']}"
                tell(self._home, self._presence, SERVE)
                self._log.info("serving at %s", self._presence.address)
            elif "problem" in event:
                life.problem = event["problem"]
                self._log.warning("%s", life.problem)
            elif "following" in event:
                self._log.info("%s", event["following"])


def serve_database(home: Home, orders: Orders, *, where: str, quiet: bool = False) -> None:
    """Serve a home's published database until SIGTERM or SIGINT.

    Parameters
    ----------
    home : Home
    orders : rangeledger.warehouse.sql_server.Orders
    where : str
        Where the token can be found; the token itself is never told.
    quiet : bool
        Whether to log to the file alone.

    Raises
    ------
    BusyError
        If another process serves this home.
    HomeError
        If the addition for the network is missing, or the server can't start.
    """
    extension_files()
    with sole_service(home, SERVE) as presence:
        log = open_log(home, SERVE, quiet=quiet)
        keeper = Keeper(home, orders, presence, log)
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, lambda *_: keeper.stop())
        log.info("started as process %d; the token is in %s", os.getpid(), where)
        try:
            keeper.run()
        finally:
            log.info("stopped")
            close_log(log)
