"""The flow engine of a home that nobody watches, for all processes of a test run.

    python -m tests.services.flow_engine HOME

runs it until standard input closes.
"""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from rangeledger.pipelines.running.engine import (
    START_TIMEOUT_S,
    Server,
    address_file,
    apply_quiet_settings,
    engine_folder,
    leave_word,
)
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.opening import open_home

_left: list[subprocess.Popen[bytes]] = []


@dataclass(frozen=True, slots=True)
class SharedEngine:
    """The word that it leaves for commands, and its records as they were before any load."""

    word: str
    records: Path

    def begin(self, home: Home) -> None:
        """Give a home the records of an engine that started once, which take seconds to make."""
        engine_folder(home).mkdir(parents=True)
        shutil.copyfile(self.records, engine_folder(home) / _RECORDS)


_RECORDS = "prefect.db"


def start_shared_engine(folder: Path, held: int) -> SharedEngine:
    """Run it as long as it is held."""
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
    records = folder / "records-before.db"
    with (
        closing(sqlite3.connect(engine_folder(home) / _RECORDS)) as there,
        closing(sqlite3.connect(records)) as copy,
    ):
        there.backup(copy)
    return SharedEngine(word.read_text(), records)


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
