"""The nursery as the pool speaks with it: orders to it, and what it tells, as lines of JSON."""

from __future__ import annotations

import asyncio
import json
import sys
from collections.abc import Callable
from typing import Any, Protocol

Hear = Callable[[dict[str, Any]], None]


class Nursing(Protocol):
    """What starts and ends workers."""

    async def open(self, hear: Hear) -> None:
        """Begin; what it tells from then on goes to `hear`."""

    def order(self, **order: Any) -> None:
        """Have a worker started or ended."""

    @property
    def has_ended(self) -> bool:
        """Whether it can start none any more."""


class NurseryProcess:
    """The nursery in a process of its own, which ends when this one does."""

    def __init__(self) -> None:
        self._process: asyncio.subprocess.Process | None = None
        self._listening: asyncio.Task[None] | None = None

    async def open(self, hear: Hear) -> None:
        """Start the process."""
        self._process = await asyncio.create_subprocess_exec(
            sys.executable, "-m", "rangeledger.warehouse.serving.nursery",
            stdin=asyncio.subprocess.PIPE, stdout=asyncio.subprocess.PIPE,
        )  # fmt: skip
        self._listening = asyncio.create_task(self._listen(hear))

    async def _listen(self, hear: Hear) -> None:
        assert self._process is not None
        assert self._process.stdout is not None
        async for line in self._process.stdout:
            hear(json.loads(line))

    def order(self, **order: Any) -> None:
        """Write an order; one that has ended takes it no more."""
        assert self._process is not None
        assert self._process.stdin is not None
        self._process.stdin.write((json.dumps(order) + "\n").encode())

    @property
    def has_ended(self) -> bool:
        """Whether the process has ended."""
        return self._listening is not None and self._listening.done()
