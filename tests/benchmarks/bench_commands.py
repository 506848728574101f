"""What a user of the command line waits for, and the processor time of it, beside targets.

    python -m tests.benchmarks.bench_commands [--quick]

One export by hand, alone and handed to a running `watch`; and how soon commands start.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import time
from collections.abc import Iterator

from rangeledger.warehouse.home import Home

from tests.benchmarks.bench_service import (
    RANGELEDGER,
    export_text,
    new_home,
    processor_s,
    tell,
    watching,
)
from tests.benchmarks.bench_tree_memory import BAR_GB, watched
from tests.benchmarks.figures import ONE_GB, STARTING, Figure, starting_s

ROWS, RUNS = 300, 9


def commands(runs: int) -> None:
    """Every command that is measured; so often, or in short if only once."""
    with new_home() as home:
        command = [*RANGELEDGER, "--home", str(home.root)]
        offer_one(home, command, 0, "ingest one export, alone, a new home", 3.5)
        if runs > 1:
            offer_one(home, command, 1, "ingest one export, alone", 3.5)
        tell_run("--help", [*RANGELEDGER, "--help"], 0.15, runs)
        tell_run("sql", [*command, "sql", "FROM carry_by_club"], 0.3, runs)
        began = time.monotonic()
        with watching(home) as process:
            ready = time.monotonic() - began
            tell("watch ready", ready, "s", "<= 5", ready <= 5.0)
            print(f"  of processor time: {processor_s(process.pid):.2f} s")
            for number in range(2, 2 + min(runs, 3)):
                offer_one(home, command, number, "ingest one export, handed to watch", 1.0)


def offer_one(home: Home, command: list[str], number: int, what: str, most_s: float) -> None:
    """Ingest one export by the command line."""
    seconds, used = run_measured([*command, "ingest", _export(home, number)])
    tell(what, seconds, "s", f"<= {most_s}", seconds <= most_s)
    print(f"  of processor time: {used:.2f} s")


def tell_run(what: str, command: list[str], most_s: float, runs: int) -> None:
    """Run a command some times, and tell its median."""
    each = [run_measured(command) for _ in range(runs)]
    seconds, used = (statistics.median(column) for column in zip(*each, strict=True))
    tell(what, seconds, "s", f"<= {most_s}", seconds <= most_s)
    print(f"  of processor time: {used:.2f} s")


def run_measured(command: list[str]) -> tuple[float, float]:
    """Time [s] that a command takes, and processor time [s] of it and its children."""
    began = time.monotonic()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, _, use = os.wait4(process.pid, 0)
    process.returncode = 0  # it was waited for
    return time.monotonic() - began, use.ru_utime + use.ru_stime


def figures(quick: bool) -> Iterator[Figure]:
    """What commands take from start to end, and the memory of a load."""
    with new_home() as home:
        command = [*RANGELEDGER, "--home", str(home.root)]
        found = watched([*command, "ingest", _export(home, 0)], home.root)
        yield _started("ingest one export, alone", found.seconds, 3.5)
        yield Figure("memory of all its processes", found.most_gb, "GB", ONE_GB, 1.0, BAR_GB)
        for what, words, most_s in (
            ("--help", [*RANGELEDGER, "--help"], 0.15),
            ("sql", [*command, "sql", "FROM carry_by_club"], 0.3),
        ):
            each = [run_measured(words)[0] for _ in range(1 if quick else RUNS)]
            yield _started(what, statistics.median(each), most_s)
        began = time.monotonic()
        with watching(home):
            yield _started("watch ready", time.monotonic() - began, 5.0)
            seconds, _ = run_measured([*command, "ingest", _export(home, 1)])
            yield _started("ingest one export, handed to watch", seconds, 1.0)


def _started(what: str, seconds: float, most_s: float) -> Figure:
    return Figure(what, seconds, "s", STARTING, starting_s(), most_s)


def _export(home: Home, number: int) -> str:
    path = home.root.parent / f"{number}.csv"
    path.write_text(export_text(ROWS, number))
    return str(path)


def main() -> None:
    """Measure."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="once, to see that it runs")
    commands(1 if parser.parse_args().quick else RUNS)


if __name__ == "__main__":
    main()
