"""What a process would compute with: equal builds give equal numbers."""

from __future__ import annotations

import hashlib
import multiprocessing
import platform
from dataclasses import dataclass
from functools import lru_cache
from importlib.metadata import version
from pathlib import Path

_LIBRARIES = (
    "dask", "distributed", "numba", "numpy", "polars", "pydantic", "scikit-learn", "scipy",
)  # fmt: skip
# What reads and fits; pages and commands may differ.
_ROOMS = ("schemas", "models", "pipelines/reader", "pipelines/loading", "pipelines/spreading")
_NOT_CODE = (".pyc", ".pyo", ".nbi", ".nbc")


@dataclass(frozen=True, slots=True)
class Build:
    """What a process runs.

    Attributes
    ----------
    python : str
        Version as far as it changes what can be sent.
    libraries : tuple of (str, str)
        Names and versions.
    code : str
        Hash of what reads and fits.
    """

    python: str
    libraries: tuple[tuple[str, str], ...]
    code: str


@lru_cache(maxsize=1)
def this_build() -> Build:
    """Build of this process."""
    python = ".".join(platform.python_version_tuple()[:2])
    return Build(python, tuple((name, version(name)) for name in _LIBRARIES), _hash_of_code())


def may_start_processes() -> bool:
    """Whether this process may have children, which read exports for it."""
    return not multiprocessing.current_process().daemon


def difference(ours: Build, theirs: Build) -> str:
    """In what another build differs from ours, in words; empty if in nothing."""
    if ours.python != theirs.python:
        return f"Python {theirs.python} in place of {ours.python}"
    here = dict(ours.libraries)
    differing = [
        f"{n} {v} in place of {here.get(n)}" for n, v in theirs.libraries if here.get(n) != v
    ]
    if differing:
        return ", ".join(differing)
    return "" if ours.code == theirs.code else "another release of rangeledger"


def _hash_of_code() -> str:
    root = Path(__file__).parents[2]
    digest = hashlib.sha256()
    for room in _ROOMS:
        for file in sorted((root / room).rglob("*")):
            if file.is_file() and file.suffix not in _NOT_CODE:
                digest.update(f"{file.relative_to(root)}\n".encode())
                digest.update(file.read_bytes())
    return digest.hexdigest()
