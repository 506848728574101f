"""A server that tests need beside them: started, killed, started again on the same port."""

from __future__ import annotations

import os
import random
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

_KEEPER = Path(__file__).with_name("keeper.py")
_LIMIT_S = 60.0
_PORTS = range(20_000, 30_000)  # below those that outgoing connections are given
_left: list[subprocess.Popen[str]] = []


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """A service that some process of the test run started for all: none ends it."""

    pid: int


class Service:
    """One server process, which ends with this one whatever becomes of it.

    Parameters
    ----------
    command : sequence of str
    ready : callable
        Whether it answers.
    log : Path
        What it printed since it was started.
    ending : signal.Signals
        Asks it to end.
    user : str
        Who runs it; '' for the same user.
    environment : mapping of str to str, optional
        Variables beside those of this process.
    held : int, optional
        What it ends with instead: the reading end of a pipe (`tests.once.held_by_all`).
    leaves : Path, optional
        Folder that is removed when it has ended for that reason.
    """

    def __init__(
        self,
        command: Sequence[str],
        ready: Callable[[], bool],
        log: Path,
        *,
        ending: signal.Signals = signal.SIGTERM,
        user: str = "",
        environment: Mapping[str, str] | None = None,
        held: int | None = None,
        leaves: Path | None = None,
    ) -> None:
        removed = str(leaves) if leaves is not None and held is not None else ""
        self._words = [sys.executable, str(_KEEPER), str(int(ending)), user, removed, *command]
        self._ready, self._log, self._held = ready, log, held
        self._environment = {**os.environ, "PYTHONPATH": _search_path(), **(environment or {})}
        self._keeper: subprocess.Popen[str] | None = None
        self.pid = 0

    def start(self) -> None:
        """Start it, and wait until it answers."""
        with self._log.open("wb") as log:
            self._keeper = subprocess.Popen(
                self._words, stdin=subprocess.PIPE if self._held is None else self._held,
                stdout=subprocess.PIPE, stderr=log, text=True,
                env=self._environment, cwd=self._log.parent, start_new_session=True,
            )  # fmt: skip
        assert self._keeper.stdout is not None
        self.pid = int(self._keeper.stdout.readline())
        deadline = time.monotonic() + _LIMIT_S
        while not self._ready():
            assert self._keeper.poll() is None, f"it ended: {self._log.read_text()}"
            assert time.monotonic() < deadline, f"it does not answer: {self._log.read_text()}"
            time.sleep(0.02)

    def leave(self) -> Elsewhere:
        """Let it run as long as it is held; returns what others know of it."""
        assert self._held is not None
        assert self._keeper is not None
        assert self._keeper.stdout is not None
        self._keeper.stdout.close()
        _left.append(self._keeper)  # nobody waits for it, which Python would remark on
        self._keeper = None
        return Elsewhere(self.pid)

    def stop(self) -> None:
        """Ask it to end, and wait until it has."""
        if self._keeper is not None:
            self._keeper.communicate()  # closes its standard input
            self._keeper = None

    def kill(self) -> None:
        """End it without a warning."""
        if self._keeper is not None:
            os.kill(self.pid, signal.SIGKILL)
            self.stop()

    def restart(self) -> None:
        """Stop and start it."""
        self.stop()
        self.start()


def _search_path() -> str:
    """Where this process finds packages, as seen from any folder."""
    parts = os.environ.get("PYTHONPATH", "").split(os.pathsep)
    return os.pathsep.join(str(Path(part).absolute()) for part in parts if part)


def free_port() -> int:
    """A port of the loopback address that nobody listens at."""
    while True:
        port = random.choice(_PORTS)
        with socket.socket() as tried:
            try:
                tried.bind(("127.0.0.1", port))
            except OSError:
                continue
            return port


def answers(port: int) -> bool:
    """Whether somebody listens at a port of the loopback address."""
    with socket.socket() as tried:
        return tried.connect_ex(("127.0.0.1", port)) == 0
