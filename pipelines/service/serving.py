"""Keeping the SQL server running: its port held, its process watched and started again."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
import time
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from logging import Logger
from typing import cast

from rangeledger.pipelines.service.log import BARE, LogFormat, close_log, open_log
from rangeledger.pipelines.service.presence import SERVE, Presence, sole_service, write_presence
from rangeledger.schemas.errors import HomeError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.serving.server import CAN_NOT_START, Orders, listen
from rangeledger.warehouse.serving.worker import extension_files

_TICK_S = 0.1
# A process that lives for a shorter time than this [s] has ended at once; so many of them in a row
# are a fault that starting again does not mend.
_LONG_LIFE_S = 5.0
_MOST_SHORT_LIVES = 5
_PAUSE_S = 0.5
AUDIT = "audit"


@dataclass(slots=True)
class _Life:
    """One life of the server's process."""

    process: subprocess.Popen[str]
    began: float
    problem: str = ""


class Keeper:
    """Keeps the server's process alive until told to stop.

    The sockets that listen are opened here and handed on, so that the port stays ours, and clients
    that come meanwhile wait in it, however the process ends.

    Parameters
    ----------
    home : Home
    orders : rangeledger.warehouse.serving.server.Orders
    place : tuple of (str, int)
        Host and port to listen at.
    presence : Presence
    log, audit : logging.Logger
        For what happens, and for what was asked.
    """

    def __init__(
        self,
        home: Home,
        orders: Orders,
        place: tuple[str, int],
        presence: Presence,
        log: Logger,
        audit: Logger,
    ) -> None:
        self._home, self._presence = home, presence
        self._log, self._audit = log, audit
        self._stop = threading.Event()
        self._place = place
        self._sockets = listen(*place)
        self._orders = replace(orders, descriptors=tuple(s.fileno() for s in self._sockets))

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
        try:
            self._wait_for_a_publication()
            self._keep()
        finally:
            for listening in self._sockets:
                listening.close()

    def _keep(self) -> None:
        short_lives, served = 0, False
        while not self._stop.is_set():
            life = self._live()
            if self._stop.is_set():
                return
            lasted = time.monotonic() - life.began
            short_lives = short_lives + 1 if lasted < _LONG_LIFE_S else 0
            served = served or self._presence.doing == "serving"
            if life.process.returncode == CAN_NOT_START and not served:
                raise HomeError(life.problem or "The server can't start.")
            if short_lives >= _MOST_SHORT_LIVES:
                raise HomeError(f"The server ended {short_lives} times at once. {life.problem}")
            self._log.warning(
                "the server's process ended (status %s) and is started again; clients attach anew",
                life.process.returncode,
            )
            self._stop.wait(_PAUSE_S)

    def _wait_for_a_publication(self) -> None:
        if not self._home.database.exists():
            self._log.info("nothing is published yet; serving begins with the first load")
        while not self._home.database.exists() and not self._stop.wait(_TICK_S):
            continue

    def _live(self) -> _Life:
        """One life of the process, from its start to its end."""
        process = subprocess.Popen(
            [sys.executable, "-m", "rangeledger.warehouse.serving.server"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            pass_fds=self._orders.descriptors,
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
            self._note(life, json.loads(line))

    def _note(self, life: _Life, event: dict[str, object]) -> None:
        """Log one thing that the process tells."""
        if "ready" in event:
            self._presence.doing = "serving"
            self._presence.address = f"quack:{self._place[0]}:{self._place[1]}"
            write_presence(self._home, self._presence, SERVE)
            self._log.info("serving at %s", self._presence.address)
        elif "problem" in event:
            life.problem = str(event["problem"])
            self._log.warning("%s", life.problem)
        elif "audit" in event:
            at = datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
            statement = cast(dict[str, object], event["audit"])
            self._audit.info("%s", json.dumps({"at": at} | statement, ensure_ascii=False))
        elif "note" in event or "following" in event:
            self._log.info("%s", event.get("note") or event["following"])


def serve_database(
    home: Home,
    orders: Orders,
    place: tuple[str, int],
    *,
    where: str,
    quiet: bool = False,
    log_format: LogFormat = LogFormat.TEXT,
) -> None:
    """Serve a home's published database until SIGTERM or SIGINT.

    Parameters
    ----------
    home : Home
    orders : rangeledger.warehouse.serving.server.Orders
    place : tuple of (str, int)
        Host and port to listen at.
    where : str
        Where the token can be found; the token itself is never told.
    quiet : bool
        Whether to log to the file alone.
    log_format : LogFormat
        How the lines of the log are written; the audit log has JSON in any case.

    Raises
    ------
    BusyError
        If another process serves this home.
    HomeError
        If the addition for the network is missing, or the server can't start.
    """
    extension_files()
    with sole_service(home, SERVE) as presence:
        log = open_log(home, SERVE, quiet=quiet, form=log_format)
        audit = open_log(home, AUDIT, quiet=True, line=BARE)
        log.info("started as process %d; the owner's token is in %s", os.getpid(), where)
        try:
            keeper = Keeper(home, orders, place, presence, log, audit)
            for number in (signal.SIGTERM, signal.SIGINT):
                signal.signal(number, lambda *_: keeper.stop())
            keeper.run()
        finally:
            log.info("stopped")
            close_log(log)
            close_log(audit)
