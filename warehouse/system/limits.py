"""What the kernel allows a process to take, and which one goes first where it runs out."""

from __future__ import annotations

import contextlib
import os
import resource
import sys
from pathlib import Path

_TICKS_A_SECOND = os.sysconf("SC_CLK_TCK")

_FEW = 10  # niceness: a tenth of what others get


def end_first() -> None:
    """Where memory runs out, have the kernel end this process rather than the service."""
    if sys.platform == "linux":
        Path("/proc/self/oom_score_adj").write_text("800")


def bound_processor_time(more_s: float) -> None:
    """Have the kernel end this process if it takes more processor time from now on.

    A process that has outlived its parent in a loop without end is so ended too.

    Parameters
    ----------
    more_s : float
        What it may still take [s], rounded up; a lower limit that the system sets stays.
    """
    use = resource.getrusage(resource.RUSAGE_SELF)
    hard = resource.getrlimit(resource.RLIMIT_CPU)[1]
    soft = int(use.ru_utime + use.ru_stime + more_s) + 1
    if hard == resource.RLIM_INFINITY or soft <= hard:
        resource.setrlimit(resource.RLIMIT_CPU, (soft, hard))


def bound_address_space(most: int) -> None:
    """Have the kernel refuse this process memory beyond so many bytes, and write no core of it."""
    resource.setrlimit(resource.RLIMIT_AS, (most, most))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def processor_s(pid: int) -> float | None:
    """Processor time [s] that a process has used, to a hundredth; None where nothing tells it.

    References
    ----------
    proc(5), /proc/PID/stat: utime and stime, behind a name that may hold anything.
    """
    try:
        fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) / _TICKS_A_SECOND
    except (OSError, ValueError, IndexError):
        return None


def yield_to(pid: int, niceness: int) -> None:
    """Have a process yield the processor to others; it can't be taken back without privileges."""
    try:
        threads = os.listdir(f"/proc/{pid}/task")
    except OSError:
        threads = [str(pid)]
    for thread in threads:
        with contextlib.suppress(OSError):  # it ended meanwhile
            os.setpriority(os.PRIO_PROCESS, int(thread), niceness)


def step_back() -> None:
    """Leave most of the processor time to others, in this process and those it starts.

    All of it would be too much: on a busy machine such a process never ends.
    """
    with contextlib.suppress(OSError):
        os.nice(_FEW)
    with contextlib.suppress(OSError):  # Linux may share it out by session first
        Path("/proc/self/autogroup").write_text(str(_FEW))
