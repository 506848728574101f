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

from rangeledger.warehouse.home import Home

from tests.benchmarks.bench_service import (
    RANGELEDGER,
    export_text,
    new_home,
    processor_s,
    tell,
    watching,
)

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
    path = home.root.parent / f"{number}.csv"
    path.write_text(export_text(ROWS, number))
    seconds, used = run_measured([*command, "ingest", str(path)])
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


def main() -> None:
    """Measure."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="once, to see that it runs")
    commands(1 if parser.parse_args().quick else RUNS)


if __name__ == "__main__":
    main()
