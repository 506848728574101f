"""Memory of the machine and of processes, as the kernel tells it."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

_PAGE_BYTES = os.sysconf("SC_PAGE_SIZE")
_MIB = 2**20


def resident_bytes(pid: int | None) -> int:
    """Resident memory [bytes] of a process; 0 where the system does not tell.

    References
    ----------
    proc(5), /proc/PID/statm.
    """
    try:
        return int(Path(f"/proc/{pid}/statm").read_text().split()[1]) * _PAGE_BYTES
    except (OSError, ValueError, IndexError):
        return 0


@dataclass(frozen=True, slots=True)
class Memory:
    """Memory [MiB]: what may still be taken, what there is in all, what this process has."""

    left: float
    in_all: float
    own: float


def memory_now() -> Memory:
    """How much memory there is, for the machine or the group that this process belongs to.

    References
    ----------
    proc(5), /proc/meminfo: MemAvailable; Linux kernel, cgroup-v2: memory.max, memory.current.
    """
    meminfo, own = dict(_meminfo()), resident_bytes(os.getpid()) / _MIB
    free, in_all = meminfo.get("MemAvailable", float("inf")), meminfo.get("MemTotal", float("inf"))
    group = Path("/sys/fs/cgroup")
    try:
        most = int((group / "memory.max").read_text()) / _MIB
        used = int((group / "memory.current").read_text()) / _MIB
        files = dict(_pairs((group / "memory.stat").read_text())).get("inactive_file", 0.0) / _MIB
    except (OSError, ValueError):
        return Memory(free, in_all, own)
    return Memory(min(free, most - used + files), min(in_all, most), own)


def _meminfo() -> Iterator[tuple[str, float]]:
    try:
        text = Path("/proc/meminfo").read_text()
    except OSError:
        return
    for name, value in _pairs(text.replace(" kB", "").replace(":", "")):
        yield name, value / 1024


def _pairs(text: str) -> Iterator[tuple[str, float]]:
    for line in text.splitlines():
        name, _, value = line.partition(" ")
        yield name, float(value)
