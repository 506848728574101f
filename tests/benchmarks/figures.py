"""Figures of benchmarks, each beside an anchor that was measured in the same run.

The ratio to the anchor says the same on a slow machine, and beside others at work, as on a quick
one alone; the bars are for two free cores.
"""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from statistics import median


@dataclass(frozen=True, slots=True)
class Figure:
    """One measured cost.

    Parameters
    ----------
    what : str
    value : float
        Less is better, as of its anchor.
    unit : str
    anchor : str
        What it is compared with.
    beside : float
        The anchor's value, in the same unit.
    bar : float, optional
        Most that the value may be on two free cores.
    ratio_bar : float, optional
        Most that the ratio may be.
    """

    what: str
    value: float
    unit: str
    anchor: str
    beside: float
    bar: float | None = None
    ratio_bar: float | None = None

    @property
    def ratio(self) -> float:
        """The value over its anchor's."""
        return self.value / self.beside

    @property
    def missed(self) -> bool:
        """Whether a bar is missed."""
        return (self.bar is not None and self.value > self.bar) or (
            self.ratio_bar is not None and self.ratio > self.ratio_bar
        )


JSON = "100,000 numbers to JSON and back"
STARTING = "a process that imports polars and duckdb"
ONE_GB = "1 GB"


def json_s() -> float:
    """Seconds of a bit of work that no code of ours has a part in, nor the processor's width."""
    numbers = [number / 7 for number in range(100_000)]
    return median(_seconds(lambda: json.loads(json.dumps(numbers))) for _ in range(3))


def starting_s() -> float:
    """Seconds from start to end of a process that imports what nearly all of ours import."""
    words = [sys.executable, "-c", "import polars, duckdb"]
    return min(_seconds(lambda: subprocess.run(words, check=True)) for _ in range(2))


def peak_gb() -> float:
    """Most memory [GB] that this process has held since its program began."""
    told = Path("/proc/self/status").read_text()
    return int(told.partition("VmHWM:")[2].split()[0]) / 2**20


def _seconds(work: Callable[[], object]) -> float:
    began = time.perf_counter()
    work()
    return time.perf_counter() - began
