"""The flow engine's account of loads: a flow run for each, a task for each step, kept beside.

A load does not wait for the engine, whose answers take longer than some of the steps. A thread
runs the flow: each of its tasks begins and ends, or fails, with the step that it stands for. An
engine that has ended or hangs holds up no load; what it missed is told in the log of faults.
"""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable
from concurrent.futures import Future
from functools import cache
from typing import Any

from rangeledger.pipelines.faults import keep_fault
from rangeledger.pipelines.stopwatch import timed
from rangeledger.warehouse.home import Home

# How long [s] an account waits for the one before; then the engine is told nothing of its load.
_PATIENCE_S = 5.0
# How long [s] a command that has loaded waits for it, which may still be starting.
_AT_THE_END_S = 60.0

_Step = tuple[str, "Future[None]"]


class Account:
    """What the engine is told of one load.

    Parameters
    ----------
    home : Home
        Whose log of faults tells what went wrong with the account itself.
    """

    def __init__(self, home: Home) -> None:
        self._home = home
        self._steps: queue.SimpleQueue[_Step | None] = queue.SimpleQueue()
        self._artifact: tuple[str, str] | None = None
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
            done: Future[None] = Future()
            self._steps.put((name, done))
            try:
                result = measured(*args, **kwargs)
            except BaseException as error:
                self._failed = True
                done.set_exception(error)
                raise
            done.set_result(None)
            return result

        return run

    def artifact(self, description: str, markdown: str) -> None:
        """Leave a page for who looks at the run."""
        self._artifact = description, markdown

    def end(self) -> None:
        """Tell that the load has ended, well or not."""
        self._steps.put(None)

    def _keep(self) -> None:
        """Run the flow; in a thread of its own."""
        from rangeledger.pipelines.running.engine import wait_for_engine

        before, self._before = self._before, None
        if before is not None:
            before.join(_PATIENCE_S)
            if before.is_alive():
                late = TimeoutError(f"the account before had not ended after {_PATIENCE_S:g} s")
                keep_fault(self._home, late, "keeping the flow engine's account of a load")
                return
        try:
            wait_for_engine()
            _flow()(_Sealed(self))
        except BaseException as error:  # noqa: BLE001  the load itself is not concerned
            if not self._failed:  # else who called the step that failed tells of it
                keep_fault(self._home, error, "keeping the flow engine's account of a load")

    def follow(self) -> None:
        """Run a task for each step as it comes; inside the flow."""
        from prefect.artifacts import create_markdown_artifact

        while (step := self._steps.get()) is not None:
            name, done = step
            _task(name)(_Sealed(done))
        if self._artifact is not None:
            description, markdown = self._artifact
            create_markdown_artifact(key="load", markdown=markdown, description=description)


class _Sealed:
    """Something that the engine hands on without looking into it for other tasks' results."""

    __slots__ = ("inside",)

    def __init__(self, inside: Any) -> None:
        self.inside = inside


@cache
def _flow() -> Callable[[_Sealed], None]:
    from prefect import flow

    @flow(name="load exports", validate_parameters=False, persist_result=False)
    def load_exports(account: _Sealed) -> None:
        account.inside.follow()

    return load_exports


@cache
def _task(name: str) -> Callable[[_Sealed], None]:
    from prefect import task
    from prefect.cache_policies import NO_CACHE

    @task(name=name, persist_result=False, cache_policy=NO_CACHE)
    def step(done: _Sealed) -> None:
        done.inside.result()

    return step


_last: threading.Thread | None = None


def wait_for_accounts(seconds: float = _AT_THE_END_S) -> None:
    """Wait until the engine has been told of all loads, at most so long [s]."""
    if _last is not None and _last.is_alive():
        _last.join(seconds)
