"""A Dask scheduler and workers, each a process, on the loopback address alone."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.services.service import Elsewhere, Service, answers, free_port


@dataclass(frozen=True, slots=True)
class DaskCluster:
    """A running scheduler and its workers."""

    address: str
    scheduler: Service
    workers: tuple[Service, ...]


@dataclass(frozen=True, slots=True)
class SharedDaskCluster:
    """A running scheduler and its workers, which all processes of the test run use."""

    address: str
    workers: tuple[Elsewhere, ...]


@contextmanager
def running_cluster(
    place: Path,
    *,
    workers: int = 2,
    protocol: str = "tcp",
    options: Sequence[str] = (),
    nanny: bool = False,
    held: int | None = None,
) -> Iterator[DaskCluster]:
    """Run a scheduler and workers of one thread; skips the test where Dask is not installed.

    Parameters
    ----------
    place : Path
        Folder for what they leave.
    workers : int
    protocol : str
        'tcp' or 'tls'.
    options : sequence of str
        Further options of scheduler and workers alike.
    nanny : bool
        Whether each worker is another process's daemon, as Dask would have it by default.
    held : int, optional
        See `Service`.
    """
    pytest.importorskip("distributed", reason="needs the extra [fleet]")
    port = free_port()
    address = f"{protocol}://127.0.0.1:{port}"
    common = ["--host", "127.0.0.1", "--dashboard-address", "127.0.0.1:0", *options]
    scheduler = Service(
        _dask("scheduler", "--port", str(port), "--protocol", protocol, *common),
        lambda: answers(port), place / "scheduler.log", held=held,
    )  # fmt: skip
    with ExitStack() as running:
        running.callback(scheduler.stop)
        scheduler.start()
        started = []
        for number in range(workers):
            words = [*common, *([] if nanny else ["--no-nanny"])]
            one = _worker(place, address, number, words, held)
            running.callback(one.stop)
            one.start()
            started.append(one)
        yield DaskCluster(address, scheduler, tuple(started))


def start_shared_cluster(place: Path, held: int) -> SharedDaskCluster:
    """Run a scheduler and two workers as long as they are held."""
    with running_cluster(place, held=held) as cluster:
        cluster.scheduler.leave()
        return SharedDaskCluster(cluster.address, tuple(one.leave() for one in cluster.workers))


def _worker(
    place: Path, address: str, number: int, options: Sequence[str], held: int | None
) -> Service:
    log = place / f"worker-{number}.log"
    return Service(
        _dask(
            "worker", address, "--nthreads", "1", "--local-directory",
            str(place / f"worker-{number}"), *options,
        ),
        lambda: "Registered to:" in log.read_text(), log, held=held,
    )  # fmt: skip


def _dask(*words: str) -> list[str]:
    return [sys.executable, "-m", "dask", *words]
