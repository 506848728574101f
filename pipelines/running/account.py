"""The flow engine's account of loads: a flow run for each, a task for each step, kept beside.

A load does not wait for the engine, whose answers take longer than some of the steps, and the
engine's own work is done in its own process (`engine_accounts.py`): a thread here tells it when a
step begins and ends, or fails. An engine that has ended or hangs holds up no load; what it missed
is told in the log of faults.
"""

from __future__ import annotations

import json
import queue
import threading
from collections.abc import Callable
from typing import Any

from rangeledger.pipelines.faults import keep_fault
from rangeledger.pipelines.stopwatch import timed
from rangeledger.warehouse.home import Home

# How long [s] an account waits for the one before; then the engine is told nothing of its load.
_PATIENCE_S = 5.0
# How long [s] a command that has loaded waits for it, which may still be starting.
_AT_THE_END_S = 60.0

_Message = dict[str, Any]


class AccountError(Exception):
    """The engine did not keep an account of a load."""


class Account:
    """What the engine is told of one load.

    Parameters
    ----------
    home : Home
        Whose log of faults tells what went wrong with the account itself.
    """

    def __init__(self, home: Home) -> None:
        self._home = home
        self._messages: queue.SimpleQueue[_Message] = queue.SimpleQueue()
        self._failed = False
        self._before: threading.Thread | None = None
        self._thread = threading.Thread(target=self._keep, name="account", daemon=True)

    def begin(self) -> None:
        """Begin the flow run, once the one before has ended; the load does not wait for that."""
        global _last
        self._before, _last = _last, self._thread
        self._thread.start()

    def step(self, function: Callable[..., Any], name: str) -> Callable[..., Any]:
        """Function whose calls are steps of the load."""
        measured = timed(function, name)

        def run(*args: Any, **kwargs: Any) -> Any:
            self._messages.put({"step": name})
            try:
                result = measured(*args, **kwargs)
            except BaseException as error:
                self._failed = True
                self._messages.put({"failed": repr(error)})
                raise
            self._messages.put({"done": name})
            return result

        return run

    def artifact(self, description: str, markdown: str) -> None:
        """Leave a page for who looks at the run."""
        self._messages.put({"artifact": {"description": description, "markdown": markdown}})

    def end(self) -> None:
        """Tell that the load has ended, well or not."""
        self._messages.put({"end": True})

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
        from rangeledger.pipelines.running.engine import connect_for_account

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
