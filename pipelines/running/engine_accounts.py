"""Accounts of loads as the flow engine keeps them: a flow run for each, a task for each step.

The engine's own process runs these flows, told of each step by the process that loads, which
imports nothing of the engine and waits for none of its answers. Messages are JSON objects: `step`
with a name, then `done` or `failed`, for each step; `artifact`; `end`. The answer to `end` tells
what went wrong with the account itself.
"""

from __future__ import annotations

import json
import threading
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
        fault = ""
        try:
            _flow()(_Told(connection))
        except BaseException as error:  # noqa: BLE001  it is the answer
            fault = repr(error)
        with suppress(OSError):
            connection.send_bytes(json.dumps({"fault": fault}).encode())


class LoadFailedError(Exception):
    """A step of the load failed, or the process that loaded has ended."""


class _Told:
    """What the process that loads tells; the engine doesn't look into it for other tasks' results.

    Parameters
    ----------
    connection : multiprocessing.connection.Connection
    """

    __slots__ = ("_connection",)

    def __init__(self, connection: Connection) -> None:
        self._connection = connection

    def next(self) -> dict[str, Any]:
        """The next message.

        Raises
        ------
        LoadFailedError
            If the process has ended.
        """
        try:
            message: dict[str, Any] = json.loads(self._connection.recv_bytes())
        except (EOFError, OSError) as error:
            raise LoadFailedError("The process that loaded has ended.") from error
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

        while "end" not in (message := self.next()):
            if "step" in message:
                _task(str(message["step"]))(self)
            else:
                create_markdown_artifact(key="load", **message["artifact"])


@cache
def _flow() -> Callable[[_Told], None]:
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
