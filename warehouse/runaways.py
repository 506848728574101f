"""Threads that work on one statement without end."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

# A thread that answers many statements waits for the next one many times a second.
_FEW_WAITS_PER_S = 40.0


@dataclass(frozen=True, slots=True)
class ThreadUse:
    """Processor time [ticks] that a thread has used, and how often it waited of itself."""

    ticks: int
    waits: int


class Runaways:
    """Watches the threads of this process for some that never pause.

    A statement that runs for long keeps its thread busy without a pause, however little of the
    processor it gets, whereas a client that merely leaves a result unread uses none.

    Parameters
    ----------
    read : callable
        Gives the use of each thread by number.
    """

    def __init__(self, read: Callable[[], dict[int, ThreadUse]] | None = None) -> None:
        self._read = read or threads_of_this_process
        self._last: dict[int, ThreadUse] = {}
        self._busy_s: dict[int, float] = {}

    def look(self, seconds: float) -> list[float]:
        """For how long [s] each busy thread has not paused, longest first.

        Parameters
        ----------
        seconds : float
            Time [s] since the last look.
        """
        now = self._read()
        busy = {}
        for thread, use in now.items():
            before = self._last.get(thread)
            if before is None or use.ticks == before.ticks:
                continue
            if (use.waits - before.waits) <= _FEW_WAITS_PER_S * seconds:
                busy[thread] = self._busy_s.get(thread, 0.0) + seconds
        self._last, self._busy_s = now, busy
        return sorted(busy.values(), reverse=True)


def threads_of_this_process() -> dict[int, ThreadUse]:
    """Use of each thread of this process, where the system tells it; else nothing."""
    found = {}
    try:
        for folder in Path("/proc/self/task").iterdir():
            stat = (folder / "stat").read_text().rpartition(")")[2].split()
            status = (folder / "status").read_text()
            waits = int(status.split("voluntary_ctxt_switches:", 1)[1].split()[0])
            found[int(folder.name)] = ThreadUse(int(stat[11]) + int(stat[12]), waits)
    except (OSError, ValueError, IndexError):
        return found
    return found
