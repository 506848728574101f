"""Accounts of loads that wait in the home until the flow engine is told of them.

One file a load, a JSON object a line, locked as long as the load goes on. Whoever tells the engine
holds another lock; it ends by itself, soon, when the file of that lock is gone: so that a home can
be removed or moved, and names in it forgotten, while accounts are told.
"""

from __future__ import annotations

import json
import os
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from rangeledger.schemas.errors import BusyError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.system.file_locks import try_lock

_ENDING = ".jsonl"
_KEPT_S = 7 * 86400.0  # as long as the engine keeps its own records
_WAIT_S, _POLL_S = 20.0, 0.02


class KeptAccount:
    """Account of a load that goes on.

    Parameters
    ----------
    home : Home

    Raises
    ------
    OSError
        If the home can't be written.
    """

    def __init__(self, home: Home) -> None:
        home.accounts.mkdir(mode=0o700, exist_ok=True)
        _drop_old(home)
        path = home.accounts / f"{time.time_ns():020d}-{os.getpid()}{_ENDING}"
        hidden = path.with_name(f".{path.name}")
        self._descriptor = os.open(hidden, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        try_lock(self._descriptor)
        os.rename(hidden, path)  # locked already: nobody takes it for one whose load has ended

    def write(self, message: dict[str, Any]) -> None:
        """Append a message."""
        line = json.dumps(message, ensure_ascii=False) + "\n"
        left = memoryview(line.encode())
        while left:
            left = left[os.write(self._descriptor, left) :]

    def close(self) -> None:
        """The load has ended; from now on the engine may be told."""
        os.close(self._descriptor)


def _drop_old(home: Home) -> None:
    """Drop what the engine could not be told of for long, or was left half begun."""
    for path in home.accounts.glob("*.jsonl*"):
        with suppress(OSError):
            if time.time() - path.stat().st_mtime > _KEPT_S:
                path.unlink()


def kept_accounts(home: Home) -> list[Path]:
    """Accounts whose loads have ended, the oldest first."""
    return [path for path in sorted(home.accounts.glob(f"[0-9]*{_ENDING}")) if _has_ended(path)]


def _has_ended(path: Path) -> bool:
    with _opened(path) as descriptor:
        return descriptor is not None and try_lock(descriptor, shared=True)


@contextmanager
def taken(path: Path) -> Iterator[list[dict[str, Any]] | None]:
    """Messages of an account while nobody else takes it; None if somebody does or has."""
    with _opened(path) as descriptor:
        free = descriptor is not None and try_lock(descriptor)
        yield list(_messages(path)) if free and path.exists() else None


def _messages(path: Path) -> Iterator[dict[str, Any]]:
    """Messages up to the end, or to where the process that wrote them was ended."""
    for line in path.read_text(encoding="utf-8", errors="replace").splitlines():
        try:
            message = json.loads(line)
        except ValueError:
            return
        yield message


@contextmanager
def _opened(path: Path) -> Iterator[int | None]:
    try:
        descriptor = os.open(path, os.O_RDWR)
    except OSError:
        yield None
        return
    try:
        yield descriptor
    finally:
        os.close(descriptor)


def _lock_file(home: Home) -> Path:
    return home.accounts / "teller.lock"


@contextmanager
def sole_teller(home: Home) -> Iterator[int | None]:
    """Be the one process that tells the engine; None if another one is.

    Yields
    ------
    int or None
        Descriptor of the lock; who is given it holds the lock too.
    """
    try:
        descriptor = os.open(_lock_file(home), os.O_RDWR | os.O_CREAT, 0o600)
    except OSError:  # the home has gone
        yield None
        return
    try:
        free = try_lock(descriptor) and is_wanted(home, os.fstat(descriptor))
        yield descriptor if free else None
    finally:
        os.close(descriptor)


def is_wanted(home: Home, lock: os.stat_result) -> bool:
    """Whether the process that holds a lock shall go on telling."""
    try:
        return os.path.samestat(os.stat(_lock_file(home)), lock)
    except OSError:
        return False


def end_telling(home: Home) -> None:
    """End the process that tells the engine, and the engine that it started, if there is one.

    Raises
    ------
    BusyError
        If it doesn't end.
    """
    with _opened(_lock_file(home)) as descriptor:
        if descriptor is None:
            return
        _lock_file(home).unlink(missing_ok=True)
        until = time.monotonic() + _WAIT_S
        while not try_lock(descriptor):
            if time.monotonic() > until:
                raise BusyError(
                    f"A process that tells the flow engine of loads in {home.root} does not end. "
                    "Try again in a minute."
                )
            time.sleep(_POLL_S)


def remove_kept_accounts(home: Home) -> None:
    """Remove all accounts that wait, and end their telling; no load may go on meanwhile."""
    for path in home.accounts.glob("*.jsonl*"):
        path.unlink(missing_ok=True)
    end_telling(home)
