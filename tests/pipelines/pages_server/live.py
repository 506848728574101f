"""The pages as a process of their own, for tests that need a browser or a network."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

# Starting the flow engine and compiling takes this long on a machine with much else to do.
PATIENCE_S = 180.0


@dataclass
class Live:
    """Running pages: their address with a key that was not used, and the process."""

    entrance: str
    process: subprocess.Popen[str]

    @property
    def address(self) -> str:
        return self.entrance.partition("/enter")[0]


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def another_key(home: Path) -> str:
    """Address with a fresh key, as a second call of the command prints it."""
    words = [sys.executable, "-m", "rangeledger", "--home", str(home), "pages"]
    done = subprocess.run(words, capture_output=True, text=True, timeout=PATIENCE_S, check=True)
    return done.stdout.split()[1]


@contextmanager
def live_pages(home: Path, *words: str) -> Iterator[Live]:
    """Pages of a home until the end of the block."""
    command = [sys.executable, "-m", "rangeledger", "--home", str(home), "pages"]
    process = subprocess.Popen(
        [*command, "--port", str(free_port()), *words],
        stdout=subprocess.PIPE, text=True, env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )  # fmt: skip
    try:
        assert process.stdout is not None
        line = process.stdout.readline()
        assert line.startswith("Open "), line
        yield Live(line.split()[1], process)
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(timeout=60)
        assert process.stdout is not None
        process.stdout.close()


def wait_until_watched(home: Path) -> None:
    """Wait until the watcher beside the pages is ready for files."""
    log = home / "logs" / "service.log"
    ends = time.monotonic() + PATIENCE_S
    while not (log.exists() and "ready after" in log.read_text()):
        assert time.monotonic() < ends, log.read_text() if log.exists() else "no log"
        time.sleep(0.2)
