"""Folders that take long to make, made once for all processes of a test run."""

from __future__ import annotations

import fcntl
import os
import shutil
from collections.abc import Callable
from pathlib import Path

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
    base = factory.getbasetemp()
    shared = base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
    folder, made = shared / name, shared / f"{name}.made"
    with (shared / f"{name}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not made.exists():
            shutil.rmtree(folder, ignore_errors=True)
            make(folder)
            made.touch()
    return folder
