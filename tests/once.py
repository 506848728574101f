"""What takes long to make or to start, made once for all processes of a test run."""

from __future__ import annotations

import fcntl
import os
import pickle
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest


def made_once(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], object]) -> Path:
    """A folder that the first process to ask makes; the others wait for it.

    Parameters
    ----------
    factory : pytest.TempPathFactory
    name : str
        What tells it from other such folders.
    make : callable
        Fills the folder, which does not exist yet.
    """
    shared = _shared(factory)
    folder, made = shared / name, shared / f"{name}.made"
    with _locked(shared / f"{name}.lock"):
        if not made.exists():
            shutil.rmtree(folder, ignore_errors=True)
            make(folder)
            made.touch()
    return folder


@contextmanager
def held_by_all(
    factory: pytest.TempPathFactory, name: str, start: Callable[[Path, int], object]
) -> Iterator[Any]:
    """What the first process to ask starts; it runs until nobody holds it, killed or not.

    Each that uses it holds the writing end of a pipe, whose reading end is what it must end with.

    Parameters
    ----------
    factory : pytest.TempPathFactory
    name : str
        What tells it from other such things.
    start : callable
        Starts it in a new folder with the reading end, which it doesn't close, and returns what
        others must know; that is pickled.
    """
    shared = _shared(factory)
    folder, pipe = shared / name, shared / f"{name}.pipe"
    known = shared / f"{name}.known"
    with _locked(shared / f"{name}.lock"):
        held = _hold(pipe)
        if held is None:
            held = _start(pipe, folder, known, start)
    try:
        yield pickle.loads(known.read_bytes())
    finally:
        os.close(held)


def _start(pipe: Path, folder: Path, known: Path, start: Callable[[Path, int], object]) -> int:
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    pipe.unlink(missing_ok=True)
    os.mkfifo(pipe)
    reading = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    held = os.open(pipe, os.O_WRONLY)
    os.set_blocking(reading, True)
    try:
        known.write_bytes(pickle.dumps(start(folder, reading)))
    except BaseException:
        os.close(held)
        raise
    finally:
        os.close(reading)
    return held


def _hold(pipe: Path) -> int | None:
    """The writing end, None where nothing runs that reads."""
    try:
        return os.open(pipe, os.O_WRONLY | os.O_NONBLOCK)
    except OSError:
        return None


@contextmanager
def _locked(path: Path) -> Iterator[None]:
    with path.open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


def _shared(factory: pytest.TempPathFactory) -> Path:
    base = factory.getbasetemp()
    return base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
