"""Telling the flow engine of loads that have ended, by a process that nobody waits for.

    python -m rangeledger.pipelines.running.telling HOME

A command that loads keeps its account in the home and starts this process at its end. It takes
what processor time others leave, tells the service's engine if there is one, else one that it
starts, and ends; in a home that is removed meanwhile it ends at once. What it can't tell waits for
the next load, or for a service.
"""

from __future__ import annotations

import json
import os
import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from rangeledger.pipelines.faults import keep_fault
from rangeledger.pipelines.running.engine import (
    connect_for_account,
    engine,
    take_resident_server,
)
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.kept_accounts import is_wanted, kept_accounts, sole_teller, taken
from rangeledger.warehouse.system.limits import step_back

# With the first value in the environment commands start no such process: for a machine that counts
# what is left running, or many loads one after the other. With the second it does not step back.
WHEN_VARIABLE, LATER, AT_ONCE = "RANGELEDGER_ENGINE", "later", "at-once"
_TICK_S = 0.1
_DOING = "keeping the flow engine's account of a load"


@contextmanager
def telling_engine(home: Home) -> Iterator[None]:
    """Have the loads of this block told to the service's engine, else soon after the block."""
    with take_resident_server(home) as address:
        yield
    if address is None and os.environ.get(WHEN_VARIABLE) != LATER:
        start_telling(home)


def start_telling(home: Home) -> None:
    """Start a process that tells what is kept, if anything is; it outlives this one."""
    if not kept_accounts(home):
        return
    words = [sys.executable, "-m", "rangeledger.pipelines.running.telling", str(home.root)]
    nowhere = [(os.POSIX_SPAWN_OPEN, number, os.devnull, os.O_RDWR, 0) for number in (0, 1, 2)]
    try:
        os.posix_spawn(sys.executable, words, os.environ, file_actions=nowhere)
    except OSError as error:
        keep_fault(home, error, _DOING)


def tell_kept(home: Home) -> None:
    """Tell all that is kept, unless another process does."""
    while kept_accounts(home):
        with sole_teller(home) as lock:
            if lock is None:
                return
            with _ending_with_home(home, lock), engine(home, holding=[lock]):
                for path in kept_accounts(home):
                    _tell(home, path)
        # What came before the lock was free is seen now; what comes later brings its own process.


@contextmanager
def _ending_with_home(home: Home, lock: int) -> Iterator[None]:
    """End the process, and the engine that it started, when it is not wanted any more."""
    done, mark = threading.Event(), os.fstat(lock)

    def watch() -> None:
        while not done.wait(_TICK_S):
            if not is_wanted(home, mark):
                os._exit(0)

    threading.Thread(target=watch, name="end", daemon=True).start()
    try:
        yield
    finally:
        done.set()


def _tell(home: Home, path: Path) -> None:
    """Tell of one load; what was told goes, whatever the engine made of it."""
    with taken(path) as messages:
        if messages is None:
            return
        answer = _answer(messages) if messages else {"fault": ""}
        if answer["fault"] and messages and "end" in messages[-1] and not _has_failed(messages):
            keep_fault(home, RuntimeError(answer["fault"]), _DOING)
        path.unlink(missing_ok=True)


def _answer(messages: Sequence[dict[str, Any]]) -> dict[str, Any]:
    with connect_for_account() as connection:
        for message in messages:
            connection.send_bytes(json.dumps(message | {"recorded": True}).encode())
        if "end" not in messages[-1]:
            connection.send_bytes(json.dumps({"lost": True, "recorded": True}).encode())
        answer: dict[str, Any] = json.loads(connection.recv_bytes())
    return answer


def _has_failed(messages: Sequence[dict[str, Any]]) -> bool:
    return any("failed" in message for message in messages)


def main() -> None:
    """Tell what is kept in the home that is named."""
    with suppress(OSError):  # it leads a session already
        os.setsid()
    if os.environ.get(WHEN_VARIABLE) != AT_ONCE:
        step_back()
    home = Home(Path(sys.argv[1]))
    try:
        tell_kept(home)
    except EOFError:  # the service's engine has ended; what is left is told another time
        return
    except Exception as error:  # noqa: BLE001  nobody waits for it
        keep_fault(home, error, _DOING)


if __name__ == "__main__":
    main()
