"""Accounts of loads as the flow engine keeps them: a flow run for each, a task for each step.

The engine's own process runs these flows, told of each step by the process that loads, which
imports nothing of the engine and waits for none of its answers, or afterwards by another. Messages
are JSON objects: `step` with a name, then `done` or `failed`, for each step; `artifact`; `end`, or
`lost` where the process that loaded ended before. A step has `at`, when it began [UTC]. The last
may ask by `recorded` that all tasks stand in the engine's records before the answer, which tells
what went wrong with the account itself.
"""

from __future__ import annotations

import json
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from functools import cache
from multiprocessing import AuthenticationError
from multiprocessing.connection import (
    Connection,
    Listener,
    answer_challenge,
    deliver_challenge,
)
from typing import Any
from uuid import UUID


def listen(port: int, secret: str) -> None:
    """Begin to listen for accounts on the loopback address, in threads beside.

    Parameters
    ----------
    port : int
    secret : str
        What whoever tells of a load has to know.
    """
    listener = Listener(("127.0.0.1", port), backlog=16)
    threading.Thread(target=_accept, args=(listener, secret), daemon=True).start()


def _accept(listener: Listener, secret: str) -> None:
    while True:
        with suppress(OSError):  # who asked has gone again
            connection = listener.accept()
            thread = threading.Thread(target=_keep, args=(connection, secret), daemon=True)
            thread.start()


def _keep(connection: Any, secret: str) -> None:
    """Keep one account, then answer how that went."""
    with connection:
        try:
            deliver_challenge(connection, secret.encode())
            answer_challenge(connection, secret.encode())
        except (AuthenticationError, EOFError, OSError):
            return
        fault, told = "", _Told(connection)
        try:
            told.begin()
            _flow().with_options(flow_run_name=f"load of {told.began_at}")(told)
        except BaseException as error:  # noqa: BLE001  it is the answer
            fault = repr(error)
        with suppress(Exception):  # the records are as they are
            told.wait_until_recorded()
        with suppress(OSError):
            connection.send_bytes(json.dumps({"fault": fault}).encode())


_LOST = "The process that loaded has ended."
# The engine writes tasks down in bunches, every two seconds.
_RECORDED_S, _RECORDED_POLL_S, _MOST_TASKS = 20.0, 0.2, 200


class LoadFailedError(Exception):
    """A step of the load failed, or the process that loaded has ended."""


class _Told:
    """What the process that loads tells; the engine doesn't look into it for other tasks' results.

    Parameters
    ----------
    connection : multiprocessing.connection.Connection

    Attributes
    ----------
    began_at : str
        When the first step began.
    """

    __slots__ = ("_connection", "_first", "_flow_run", "_recorded", "_tasks", "began_at")

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._first: dict[str, Any] | None = None
        self._flow_run, self._tasks, self._recorded = "", 0, False
        self.began_at = ""

    def begin(self) -> None:
        """Wait for the first message."""
        self._first = self._received()
        self.began_at = str(self._first.get("at", ""))

    def _received(self) -> dict[str, Any]:
        if (first := self._first) is not None:
            self._first = None
            return first
        try:
            message: dict[str, Any] = json.loads(self._connection.recv_bytes())
        except (EOFError, OSError) as error:
            raise LoadFailedError(_LOST) from error
        self._recorded = bool(message.get("recorded"))
        return message

    def next(self) -> dict[str, Any]:
        """The next message.

        Raises
        ------
        LoadFailedError
            If the process has ended.
        """
        message = self._received()
        if "lost" in message:
            raise LoadFailedError(_LOST)
        return message

    def step(self) -> None:
        """Wait until the step that has begun is done.

        Raises
        ------
        LoadFailedError
            If it failed.
        """
        message = self.next()
        if "failed" in message:
            raise LoadFailedError(str(message["failed"]))

    def follow(self) -> None:
        """Run a task for each step as it comes; inside the flow."""
        from prefect.artifacts import create_markdown_artifact
        from prefect.runtime import flow_run

        self._flow_run = str(flow_run.id)
        while "end" not in (message := self.next()):
            if "step" in message:
                self._tasks += 1
                _task(str(message["step"]))(self)
            else:
                create_markdown_artifact(key="load", **message["artifact"])

    def wait_until_recorded(self) -> None:
        """Wait, if that was asked, until the engine has written down how each task ended."""
        if not self._recorded or not self._tasks:
            return
        from prefect.client.orchestration import get_client
        from prefect.client.schemas.filters import FlowRunFilter, FlowRunFilterId

        ours = FlowRunFilter(id=FlowRunFilterId(any_=[UUID(self._flow_run)]))
        until = time.monotonic() + _RECORDED_S
        with get_client(sync_client=True) as client:
            while time.monotonic() < until:
                runs = client.read_task_runs(flow_run_filter=ours, limit=_MOST_TASKS)
                final = [run for run in runs if run.state is not None and run.state.is_final()]
                if len(final) >= min(self._tasks, _MOST_TASKS):
                    return
                time.sleep(_RECORDED_POLL_S)


@cache
def _flow() -> Any:
    from prefect import flow

    @flow(name="load exports", validate_parameters=False, persist_result=False)
    def load_exports(told: _Told) -> None:
        told.follow()

    return load_exports


@cache
def _task(name: str) -> Callable[[_Told], None]:
    from prefect import task
    from prefect.cache_policies import NO_CACHE

    @task(name=name, persist_result=False, cache_policy=NO_CACHE)
    def step(told: _Told) -> None:
        told.step()

    return step
