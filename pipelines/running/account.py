"""The flow engine's account of loads: a flow run for each, a task for each step, kept beside.

A load does not wait for the engine, whose answers take longer than some of the steps, and the
engine's own work is done in its own process (`engine_accounts.py`): a thread here tells it when a
step begins and ends, or fails. Where no service keeps an engine, the account is written down and
told afterwards (`telling.py`). An engine that has ended or hangs holds up no load; what it missed
is told in the log of faults.
"""

from __future__ import annotations

import json
import queue
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import Any

from rangeledger.pipelines.faults import keep_fault
from rangeledger.pipelines.running.engine import connect_for_account, is_engine_at_hand
from rangeledger.pipelines.stopwatch import timed
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.kept_accounts import KeptAccount

# How long [s] an account waits for the one before; then the engine is told nothing of its load.
_PATIENCE_S = 5.0
# How long [s] a command that has loaded waits for it, which may still be starting.
_AT_THE_END_S = 60.0

_Message = dict[str, Any]


class AccountError(Exception):
    """The engine did not keep an account of a load."""


class Account:
    """What the engine is told of one load: by a thread beside, or once the command has ended.

    Parameters
    ----------
    home : Home
        Where it is kept if there is no engine yet; its log of faults tells what went wrong with the
        account itself.
    """

    def __init__(self, home: Home) -> None:
        self._home = home
        self._messages: queue.SimpleQueue[_Message] = queue.SimpleQueue()
        self._seconds: dict[str, float] = {}
        self._failed = False
        self._kept: KeptAccount | None = None
        self._before: threading.Thread | None = None
        self._thread = threading.Thread(target=self._keep, name="account", daemon=True)

    def begin(self) -> None:
        """Begin the flow run, once the one before has ended; the load does not wait for that."""
        global _last
        if is_engine_at_hand():
            self._before, _last = _last, self._thread
            self._thread.start()
            return
        with self._noting_faults():
            self._kept = KeptAccount(self._home)

    def step(self, function: Callable[..., Any], name: str) -> Callable[..., Any]:
        """Function whose calls are steps of the load."""
        measured = timed(function, name)

        def run(*args: Any, **kwargs: Any) -> Any:
            self._say({"step": name, "at": datetime.now(UTC).isoformat(timespec="milliseconds")})
            began = time.perf_counter()
            try:
                result = measured(*args, **kwargs)
            except BaseException as error:
                self._failed = True
                self._say({"failed": repr(error)})
                raise
            self._seconds[name] = self._seconds.get(name, 0.0) + time.perf_counter() - began
            self._say({"done": name})
            return result

        return run

    def artifact(self, description: str, markdown: str) -> None:
        """Leave a page for who looks at the run, with the seconds of each step."""
        steps = "".join(f"\n| {name} | {taken:.3f} |" for name, taken in self._seconds.items())
        markdown = f"{markdown}\n\n| step | seconds |\n|---|---|{steps}"
        self._say({"artifact": {"description": description, "markdown": markdown}})

    def end(self) -> None:
        """Tell that the load has ended, well or not."""
        self._say({"end": True})
        kept, self._kept = self._kept, None
        if kept is not None:
            kept.close()

    def _say(self, message: _Message) -> None:
        if self._thread.ident is not None:
            self._messages.put(message)
        elif self._kept is not None:
            with self._noting_faults():
                self._kept.write(message)

    @contextmanager
    def _noting_faults(self) -> Iterator[None]:
        """Note that an account can't be kept; the load itself is not concerned."""
        try:
            yield
        except OSError as error:
            keep_fault(self._home, error, "keeping the flow engine's account of a load")

    def _keep(self) -> None:
        """Tell the engine; in a thread of its own."""
        before, self._before = self._before, None
        if before is not None:
            before.join(_PATIENCE_S)
            if before.is_alive():
                late = TimeoutError(f"the account before had not ended after {_PATIENCE_S:g} s")
                keep_fault(self._home, late, "keeping the flow engine's account of a load")
                return
        try:
            self._tell()
        except Exception as error:  # noqa: BLE001  the load itself is not concerned
            if not self._failed:  # else who called the step that failed tells of it
                keep_fault(self._home, error, "keeping the flow engine's account of a load")

    def _tell(self) -> None:
        with connect_for_account() as engine:
            message: _Message = {}
            while "end" not in message:
                message = self._messages.get()
                engine.send_bytes(json.dumps(message).encode())
            answer = json.loads(engine.recv_bytes())
        if answer["fault"]:
            raise AccountError(answer["fault"])


_last: threading.Thread | None = None


def wait_for_accounts(seconds: float = _AT_THE_END_S) -> None:
    """Wait until the engine has been told of all loads, at most so long [s]."""
    if _last is not None and _last.is_alive():
        _last.join(seconds)
