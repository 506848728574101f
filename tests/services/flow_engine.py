"""The flow engine of a home that nobody watches, for all processes of a test run.

    python -m tests.services.flow_engine HOME

runs it until standard input closes.
"""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

from rangeledger.pipelines.running.engine import (
    START_TIMEOUT_S,
    Server,
    address_file,
    apply_quiet_settings,
    leave_word,
)
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.opening import open_home

_left: list[subprocess.Popen[bytes]] = []


def start_shared_engine(folder: Path, held: int) -> str:
    """Run it as long as it is held; returns the word that it leaves for commands."""
    home = open_home(Home(folder))
    words = [sys.executable, "-m", "tests.services.flow_engine", str(folder)]
    with (home.logs / "keeper.log").open("wb") as log:
        running = subprocess.Popen(words, stdin=held, stderr=log, start_new_session=True)
    _left.append(running)  # nobody waits for it, which Python would remark on
    word, deadline = address_file(home), time.monotonic() + START_TIMEOUT_S
    while not word.exists():
        assert running.poll() is None, (home.logs / "keeper.log").read_text()
        assert time.monotonic() < deadline, (home.logs / "engine.log").read_text()
        time.sleep(0.02)
    return word.read_text()


def main(folder: str) -> None:
    """Run the engine."""
    home = Home(Path(folder))
    apply_quiet_settings(home)
    server = Server(home)
    server.wait()
    leave_word(home, server.address)
    sys.stdin.buffer.read()
    server.stop()


if __name__ == "__main__":
    main(*sys.argv[1:])
