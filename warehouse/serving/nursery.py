"""The process that workers are forked from: it has imported the database and opened none.

Run as `python -m rangeledger.warehouse.serving.nursery`. It reads lines of JSON from standard
input, `{"start": NUMBER, "task": {...}}` and `{"end": NUMBER}`, and tells on standard output:
`{"ready": NUMBER, "port": PORT, "pid": PID}`, `{"failed": NUMBER, "problem": SENTENCE}`,
`{"ended": NUMBER, "status": STATUS}`. Only it knows which processes are its own, so only it ends
them; all of them end when it does.
"""

from __future__ import annotations

import contextlib
import json
import os
import select
import signal
import sys
import threading
from typing import Any

# What a worker needs, and what the database imports when it first calls a function, is imported
# here once: it would cost each worker half a second.
import duckdb  # noqa: F401
import numpy as np  # noqa: F401
import pandas as pd  # noqa: F401
import pyarrow as pa  # noqa: F401
from rangeledger.schemas.errors import RangeledgerError
from rangeledger.warehouse.serving import worker
from rangeledger.warehouse.serving.worker import Task
from rangeledger.warehouse.statements import macros
from rangeledger.warehouse.system.limits import yield_to

# How often a worker that was ended is looked for, where no signal tells of it.
_POLL_S = 0.5
# Workers that answer yield to the front and to workers that start.
_NICE = 5


class Nursery:
    """Starts and ends workers as standard input says."""

    def __init__(self) -> None:
        self._pids: dict[int, int] = {}
        self._life, self._ours = os.pipe()

    def run(self) -> None:
        """Work until standard input closes."""
        macros()
        waking, woken = os.pipe()
        os.set_blocking(woken, False)
        signal.set_wakeup_fd(woken)
        signal.signal(signal.SIGCHLD, lambda *_: None)
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        partial = b""
        while True:
            readable, _, _ = select.select([0, waking], [], [], _POLL_S)
            if waking in readable:
                os.read(waking, 4096)
            if 0 in readable:
                more = os.read(0, 65536)
                if not more:
                    break
                *lines, partial = (partial + more).split(b"\n")
                for line in lines:
                    self._obey(json.loads(line))
            self._reap()
        for pid in self._pids:
            with contextlib.suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)

    def _obey(self, order: dict[str, Any]) -> None:
        if "end" in order:
            pid = self._pids.get(order["end"])
            if pid is not None:
                os.kill(pid, signal.SIGKILL)
            return
        number = int(order["start"])
        raw = order["task"]
        players = None if raw["players"] is None else tuple(raw["players"])
        task = Task(**{**raw, "players": players})
        pid = os.fork()
        if pid == 0:
            os._exit(self._be_worker(number, task))
        self._pids[number] = pid

    def _be_worker(self, number: int, task: Task) -> int:
        signal.set_wakeup_fd(-1)
        signal.signal(signal.SIGCHLD, signal.SIG_DFL)
        os.close(self._ours)
        os.close(0)
        threading.Thread(target=worker.end_with, args=(self._life,), daemon=True).start()
        try:
            connection, port = worker.open_worker(task)
        except RangeledgerError as error:
            report(failed=number, problem=str(error))
            return 1
        except Exception as error:  # noqa: BLE001  whatever the database says is told in a sentence
            first_line = (str(error).strip().splitlines() or [repr(error)])[0]
            sentence = first_line.replace(task.token, "...")
            report(failed=number, problem=f"The published database can't be served: {sentence}")
            return 1
        yield_to(os.getpid(), _NICE)
        report(ready=number, port=port, pid=os.getpid())
        worker.sleep_forever(connection)

    def _reap(self) -> None:
        for number, pid in list(self._pids.items()):
            found, status = os.waitpid(pid, os.WNOHANG)
            if found:
                del self._pids[number]
                report(ended=number, status=os.waitstatus_to_exitcode(status))


def report(**event: Any) -> None:
    """Tell something in one write, so that lines of several processes don't mix."""
    try:
        os.write(1, (json.dumps(event) + "\n").encode())
    except BrokenPipeError:  # the front has gone, and so do we
        os._exit(0)


def main() -> None:
    """Start and end workers until standard input closes."""
    Nursery().run()
    sys.stdout.close()
    os._exit(0)


if __name__ == "__main__":
    main()
