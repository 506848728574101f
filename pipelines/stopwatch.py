"""How long the steps of a load take, for logs and benchmarks."""

from __future__ import annotations

import functools
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

_running: ContextVar[dict[str, float] | None] = ContextVar("steps", default=None)


@contextmanager
def step_times() -> Iterator[dict[str, float]]:
    """Collect the durations [s] of the timed steps that run in this block, by name."""
    steps: dict[str, float] = {}
    token = _running.set(steps)
    try:
        yield steps
    finally:
        _running.reset(token)


def timed(function: Callable[..., Any], name: str) -> Callable[..., Any]:
    """Function that adds its duration to the steps of the block around it."""

    @functools.wraps(function)
    def run(*args: Any, **kwargs: Any) -> Any:
        began = time.perf_counter()
        try:
            return function(*args, **kwargs)
        finally:
            steps = _running.get()
            if steps is not None:
                steps[name] = steps.get(name, 0.0) + time.perf_counter() - began

    return run


def in_words(steps: dict[str, float]) -> str:
    """Steps and seconds in a line, such as 'identify 0.01, prepare 0.12'."""
    return ", ".join(f"{name} {seconds:.2f}" for name, seconds in steps.items())
