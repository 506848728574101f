"""Measure the memory of all processes together while one large export goes from drop to answer.

    python tests/benchmarks/bench_tree_memory.py [ROWS | --quick]

Writes an export of ROWS rows (1,450,000 by default, about 280 MB), has `rangeledger ingest` load it
into a fresh home, and prints the seconds, the peak of the proportional set sizes of the whole tree
of processes, and that of each process at its own peak. The bar: 2 GB.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / ".src")]

from tests.benchmarks.figures import ONE_GB, Figure  # noqa: E402

ROWS, QUICK_ROWS, EXTRA_COLUMNS, BAR_GB, TICK_S = 1_450_000, 20_000, 18, 2.0, 0.25


def tree(root: int) -> list[int]:
    """Return a process and all that it has started, directly or not."""
    children = defaultdict(list)
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            children[int(stat.read_text().rsplit(")", 1)[1].split()[1])].append(
                int(stat.parent.name)
            )
        except (OSError, ValueError):
            continue
    found = [root]
    for pid in found:
        found += children[pid]
    return found


def set_size_gb(pid: int) -> float:
    """Return the proportional set size of a process [GB], 0 where it has ended."""
    try:
        lines = Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines()
    except OSError:
        return 0.0
    return next((int(ln.split()[1]) / 2**20 for ln in lines if ln.startswith("Pss:")), 0.0)


def name_of(pid: int) -> str:
    """Return the end of a process's command line."""
    try:
        words = Path(f"/proc/{pid}/cmdline").read_bytes().decode(errors="replace").split("\0")
    except OSError:
        return "?"
    return " ".join(words).strip()[-60:]


class Watched(NamedTuple):
    """A command: exit code, seconds, peak [GB] of all its processes, when [s], and of each."""

    code: int
    seconds: float
    most_gb: float
    at_s: float
    of_each: dict[str, float]


def watched(command: list[str], place: Path) -> Watched:
    """Run a command in a folder, and look at its processes meanwhile."""
    paths = os.pathsep.join([str(ROOT / ".src"), str(ROOT)])
    began = time.perf_counter()
    run = subprocess.Popen(
        command, env={**os.environ, "PYTHONPATH": paths}, cwd=place, stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )  # fmt: skip
    most, of_each, at = 0.0, defaultdict(float), 0.0
    while run.poll() is None:
        sizes = {pid: set_size_gb(pid) for pid in tree(run.pid)}
        for pid, size_gb in sizes.items():
            key = f"{pid} {name_of(pid)}"
            of_each[key] = max(of_each[key], size_gb)
        if sum(sizes.values()) > most:
            most, at = sum(sizes.values()), time.perf_counter() - began
        with suppress(subprocess.TimeoutExpired):
            run.wait(TICK_S)
    return Watched(run.returncode, time.perf_counter() - began, most, at, of_each)


def measure(rows: int) -> tuple[Watched, float]:
    """Have an export of so many rows loaded; the size of the export [MB] too."""
    from tests.benchmarks.bench_prepare import alone, write_export

    with tempfile.TemporaryDirectory() as temporary:
        place = Path(temporary)
        export, home = place / "large.csv", place / "home"
        alone(write_export, export, rows, EXTRA_COLUMNS)
        command = [sys.executable, "-m", "rangeledger", "--home", str(home), "ingest", str(export)]
        return watched(command, place), export.stat().st_size / 1e6


def figures(quick: bool) -> Iterator[Figure]:
    """The peak of all processes together; in quick mode `bench_commands` watches its one load."""
    if not quick:
        found, _ = measure(ROWS)
        assert found.code == 0
        yield Figure(
            f"memory of all processes, {ROWS:,} rows", found.most_gb, "GB", ONE_GB, 1.0, BAR_GB
        )


def main() -> int:
    """Print the figures; exit 1 if the bar is missed."""
    asked = sys.argv[1] if len(sys.argv) > 1 else str(ROWS)
    rows = QUICK_ROWS if asked == "--quick" else int(asked)
    found, size_mb = measure(rows)
    print(
        f"{rows:,} rows, {size_mb:.0f} MB: {found.seconds:.0f} s, "
        f"peak {found.most_gb:.2f} GB at {found.at_s:.0f} s"
    )
    for key, size_gb in sorted(found.of_each.items(), key=lambda entry: -entry[1])[:6]:
        print(f"  {size_gb:.2f} GB  {key}")
    return int(found.code or found.most_gb > BAR_GB)


if __name__ == "__main__":
    raise SystemExit(main())
