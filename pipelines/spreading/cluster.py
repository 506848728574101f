"""The workers of a Dask scheduler: asked for one thing at a time, watched, and done without.

Whatever keeps them from answering is told once in a sentence, and the caller does the work itself;
after a while they are tried again. So a lost scheduler costs time and loses nothing.
"""

from __future__ import annotations

import atexit
import logging
import sys
import threading
import time
from collections.abc import Callable
from concurrent.futures import CancelledError, Future
from contextlib import suppress
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from rangeledger.pipelines.spreading.build import (
    Build,
    difference,
    may_start_processes,
    this_build,
)
from rangeledger.warehouse.spread_settings import SpreadSettings

if TYPE_CHECKING:
    from distributed import Client

Result = TypeVar("Result")
_CONNECT_S = 5.0
_RETRY_S = 30.0
_POLL_S = 5.0
_LEAST_PLACES, _MOST_PLACES = 2, 64
_INSTALL = "pip install 'rangeledger[fleet]'"


class NotHereError(Exception):
    """The workers gave no answer; the caller does the work itself."""


class _TroubleError(Exception):
    """Why the workers can't be asked at the moment, in a sentence."""


class Cluster:
    """Workers to which pure functions are given; safe to share among threads.

    Parameters
    ----------
    settings : SpreadSettings
    tell : callable, optional
        Takes a sentence when the workers are found, lost, or unfit; by default it is written to
        standard error.

    Attributes
    ----------
    trouble : str
        Why they can't be asked at the moment; empty if they can, or nobody tried yet.
    """

    def __init__(
        self, settings: SpreadSettings, report: Callable[[str], None] | None = None
    ) -> None:
        self.settings = settings
        self.report = report or _print_plainly
        self.trouble = ""
        self._lock = threading.Lock()
        self._client: Client | None = None
        self._threads = 0
        self._retry_at = 0.0

    @property
    def address(self) -> str:
        """Address of the scheduler."""
        return self.settings.scheduler

    def places(self) -> int:
        """How many things to ask for at once: two for each thread that was found, at least two."""
        return min(max(2 * self._threads, _LEAST_PLACES), _MOST_PLACES)

    def is_there(self) -> bool:
        """Whether the workers can be asked; connects if that was not tried of late."""
        return self._connected() is not None

    def begin(self, function: Callable[..., Result], *args: Any) -> Question[Result]:
        """Have a worker call a pure function.

        Parameters
        ----------
        function : callable
            Importable there.
        words : object
            What it is called with.

        Raises
        ------
        NotHereError
            If nobody can be asked at the moment.
        """
        client = self._connected()
        if client is None:
            raise NotHereError(self.trouble)
        try:
            future = client.get_executor(pure=False).submit(_call, this_build(), function, *args)
        except Exception as error:  # whatever it is, the work can be done here
            raise NotHereError(_first_line(error)) from error
        return Question(self, client, future)

    def close(self) -> None:
        """Let go of the workers."""
        with self._lock:
            client, self._client = self._client, None
        if client is not None:
            with suppress(Exception):
                client.close(timeout=1)

    def _connected(self) -> Client | None:
        with self._lock:
            if self._client is not None or time.monotonic() < self._retry_at:
                return self._client
            try:
                self._client = self._connect()
            except _TroubleError as trouble:
                self._note(str(trouble))
                return None
            self._threads = _thread_count(self._client)
            self.trouble = ""
            self.report(f"Reading and fitting by {self._threads} workers at {self.address}.")
            return self._client

    def lose(self, client: Client, sentence: str) -> None:
        """Let go of a connection that gives no answers, and say why."""
        with self._lock:
            if self._client is not client:  # another thread met the same before
                return
            self._client = None
            self._note(sentence)
        threading.Thread(target=_close_quietly, args=(client,), daemon=True).start()

    def _note(self, sentence: str) -> None:
        """Tell once what is wrong, and leave the workers alone for a while."""
        self._retry_at = time.monotonic() + _RETRY_S
        self._threads = 0
        if sentence != self.trouble:
            self.trouble = sentence
            self.report(f"{sentence}; the work is done here meanwhile.")

    def _connect(self) -> Client:
        try:
            from distributed import Client
        except ImportError:
            raise _TroubleError(
                f"The settings name {self.address}, but Dask is not installed ({_INSTALL})"
            ) from None
        for name in ("distributed", "distributed.client"):  # what they report is told here
            logging.getLogger(name).setLevel(logging.CRITICAL)
        try:
            client = Client(
                self.address, timeout=_CONNECT_S, set_as_default=False, name="rangeledger",
                security=_security(self.settings),
            )  # fmt: skip
        except (OSError, ValueError) as error:
            raise _TroubleError(
                f"The scheduler at {self.address} can't be reached ({_first_line(error)})"
            ) from None
        try:
            self._refuse_unfit(client)
        except Exception as error:
            _close_quietly(client)
            if isinstance(error, _TroubleError):
                raise
            raise _TroubleError(
                f"The scheduler at {self.address} can't be asked ({_first_line(error)})"
            ) from error
        return client

    def _refuse_unfit(self, client: Client) -> None:
        """Refuse workers that would give other numbers, or could not shield themselves."""
        if not _thread_count(client):
            raise _TroubleError(f"No worker is at {self.address}; start one: dask worker")
        try:
            scheduler, _ = client.run_on_scheduler(_introduce)
        except Exception as error:
            raise _TroubleError(
                f"The scheduler at {self.address} can't load rangeledger "
                f"({_first_line(error)}); install the same release there: {_INSTALL}"
            ) from error
        _refuse_other(f"The scheduler at {self.address}", this_build(), scheduler)
        found = client.run(_introduce, on_error="return")
        for address, answer in found.items():
            if isinstance(answer, BaseException):
                raise _TroubleError(
                    f"The worker {address} can't load rangeledger ({_first_line(answer)}); "
                    f"install the same release there: {_INSTALL}"
                )
            build, shielded = answer
            _refuse_other(f"The worker {address}", this_build(), build)
            if not shielded:
                raise _TroubleError(
                    f"The worker {address} may start no processes, so that a bad export would end "
                    "it; start it with dask worker --no-nanny"
                )


class Question(Generic[Result]):
    """One call that a worker was asked for.

    Parameters
    ----------
    cluster : Cluster
    client : distributed.Client
    asked : concurrent.futures.Future
    """

    def __init__(self, cluster: Cluster, client: Client, future: Future[Result]) -> None:
        self._cluster, self._client, self._future = cluster, client, future
        self._dropped = False

    def answer(self, seconds: float) -> Result:
        """What the worker's call returned.

        Parameters
        ----------
        seconds : float
            How long [s] to wait for it, other people's work before it included.

        Raises
        ------
        NotHereError
            If no answer came, for whatever reason; the call may be made here, or again.
        """
        try:
            self._await(seconds)
            return self._future.result()
        except _TroubleError as trouble:
            reason = str(trouble)
        except Exception as error:  # whatever it is, the work can be done here
            if not isinstance(error, CancelledError) and self._client.status == "running":
                raise NotHereError(_first_line(error)) from error
            reason = self._lost_sentence()
        if not self._dropped:
            self._cluster.lose(self._client, reason)
        raise NotHereError(reason)

    def drop(self) -> None:
        """Wait no longer; may be called by another thread."""
        self._dropped = True
        self._future.cancel()

    def _await(self, seconds: float) -> None:
        """Wait for an answer while there is somebody who can give it."""
        until = time.monotonic() + seconds
        while not _done_within(self._future, _POLL_S):
            if self._client.status != "running":
                raise _TroubleError(self._lost_sentence())
            if not _thread_count(self._client):
                raise _TroubleError(f"No worker is left at {self._cluster.address}")
            if time.monotonic() > until:
                self._future.cancel()
                raise NotHereError(f"no answer within {seconds:.0f} s")

    def _lost_sentence(self) -> str:
        return f"The scheduler at {self._cluster.address} was lost"


def _refuse_other(party: str, ours: Build, theirs: Build) -> None:
    differs = difference(ours, theirs)
    if differs:
        raise _TroubleError(f"{party} has {differs}; install the same release on all machines")


def _introduce() -> tuple[Build, bool]:
    """What a scheduler or a worker is; called there."""
    return this_build(), may_start_processes()


def _call(build: Build, function: Callable[..., Result], *args: Any) -> Result:
    """Call a function on a worker, which may have come after all were compared."""
    if build != this_build():
        from distributed import get_worker

        _refuse_other(f"The worker {get_worker().address}", build, this_build())
    return function(*args)


def _done_within(future: Future[Any], seconds: float) -> bool:
    """Wait for a future to end, for a while; whatever it ended with."""
    with suppress(TimeoutError):
        future.exception(seconds)
        return True
    return future.done()


def _thread_count(client: Client) -> int:
    """Threads of all workers; waits a few seconds for a scheduler that is slow to tell."""
    found: dict[str, int] = client.sync(client.scheduler.ncores, callback_timeout=_CONNECT_S)
    return sum(found.values())


def _security(settings: SpreadSettings) -> Any:
    if settings.certificate is None:
        return None
    from distributed.security import Security

    for file in (settings.authority, settings.certificate, settings.key):
        if file is not None and not file.is_file():
            raise _TroubleError(f"The file {file}, named under [spread], is missing")
    return Security(
        tls_ca_file=str(settings.authority), tls_client_cert=str(settings.certificate),
        tls_client_key=str(settings.key), require_encryption=True,
    )  # fmt: skip


def _close_quietly(client: Client) -> None:
    with suppress(Exception):
        client.close(timeout=1)


def _first_line(error: BaseException) -> str:
    text = str(error).strip().splitlines()
    return text[0] if text else type(error).__name__


def _print_plainly(sentence: str) -> None:
    sys.stderr.write(f"rangeledger: {sentence}\n")


@lru_cache(maxsize=4)
def _shared(settings: SpreadSettings) -> Cluster:
    cluster = Cluster(settings)
    atexit.register(cluster.close)
    return cluster


def cluster_of(settings: SpreadSettings | None) -> Cluster | None:
    """The workers that a home's settings name, one connection for the process; None if none."""
    return _shared(settings) if settings is not None else None
