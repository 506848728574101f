"""That a home has one service of a kind, which, since when, and how it fares."""

from __future__ import annotations

import json
import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path

from rangeledger.schemas.errors import BusyError, StorageError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.system.durable_files import write_atomically
from rangeledger.warehouse.system.file_locks import try_lock


@dataclass(slots=True)
class Presence:
    """What a running service says of itself.

    Attributes
    ----------
    pid : int
        Its process number.
    since : str
        When it started [UTC].
    doing : str
        'starting', 'watching', 'loading', 'waiting' or 'stopping'.
    problem : str
        What keeps it from its work; empty if nothing does.
    loaded : int
        Exports taken care of since it started.
    """

    pid: int
    since: str
    doing: str = "starting"
    problem: str = ""
    loaded: int = 0
    address: str = ""


WATCH, SERVE, PAGES = "service", "serve", "pages"
_ALREADY = {
    WATCH: "The inbox of {home} is watched already by {who}. One is enough: drop exports and it "
    "loads them. Stop that process first if you want to watch from here.",
    SERVE: "The database of {home} is served already by {who}. Stop that process first if you "
    "want to serve from here.",
    PAGES: "The pages of {home} are shown already by {who}. Stop that process first if you want "
    "to show them from here.",
}


def _lock_path(home: Home, kind: str) -> Path:
    return home.state / f"{kind}.lock"


def _state_path(home: Home, kind: str) -> Path:
    return home.state / f"{kind}.json"


@contextmanager
def sole_service(home: Home, kind: str = WATCH) -> Iterator[Presence]:
    """Be the home's one service of a kind for this block.

    Raises
    ------
    BusyError
        If another process is.
    StorageError
        If the home can't be written.
    """
    try:
        descriptor = os.open(_lock_path(home, kind), os.O_RDWR | os.O_CREAT, 0o644)
    except OSError as error:
        raise StorageError(
            f"{_lock_path(home, kind)} can't be opened ({error.strerror}). "
            "Permission to write the home is needed."
        ) from error
    try:
        _acquire(descriptor, home, kind)
        now = datetime.now(UTC).replace(tzinfo=None)
        presence = Presence(os.getpid(), now.isoformat(sep=" ", timespec="seconds"))
        write_presence(home, presence, kind)
        yield presence
        _state_path(home, kind).unlink(missing_ok=True)
    finally:
        os.close(descriptor)


def _acquire(descriptor: int, home: Home, kind: str) -> None:
    """Take the lock; another look covers the instant in which someone asks for the service."""
    for pause_s in (0.05, 0.2):
        if try_lock(descriptor):
            return
        time.sleep(pause_s)
    if not try_lock(descriptor):
        raise BusyError(_already(home, kind))


def _already(home: Home, kind: str) -> str:
    other = _read(home, kind)
    holder = f"process {other.pid}, since {other.since} UTC" if other else "another process"
    return _ALREADY[kind].format(home=home.root, who=holder)


def write_presence(home: Home, presence: Presence, kind: str = WATCH) -> None:
    """Leave word of how the service fares; a disk that refuses is let go."""
    try:
        write_atomically(_state_path(home, kind), json.dumps(asdict(presence), ensure_ascii=False))
    except OSError:
        return


def _read(home: Home, kind: str) -> Presence | None:
    try:
        return Presence(**json.loads(_state_path(home, kind).read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError):
        return None


def service_of(home: Home, kind: str = WATCH) -> Presence | None:
    """The home's running service of a kind; None where none runs."""
    try:
        descriptor = os.open(_lock_path(home, kind), os.O_RDONLY)
    except OSError:
        return None
    try:
        return None if try_lock(descriptor, shared=True) else _read(home, kind)
    finally:
        os.close(descriptor)
