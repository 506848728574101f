"""Time the parsers of cells on long and on short columns.

    python tests/benchmarks/bench_normalising.py [--quick]

Prints seconds for 25 number columns and one column of times, clean and with units or sides in
the cells, and the ratio to a bare cast of the clean columns by polars. The bars: 25 clean columns
of 1,000,000 rows in 1.5 s on two cores, and 25 clean columns of 300 rows in 10 ms.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import polars as pl

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
sys.path.insert(0, str(Path(__file__).resolve().parents[2] / ".src"))

from rangeledger.pipelines.reader.normalising.number_format import detect_number_format
from rangeledger.pipelines.reader.normalising.numbers import parse_numbers
from rangeledger.pipelines.reader.normalising.times import read_times

from tests.benchmarks.figures import Figure

COLUMNS, ROWS, FEW_ROWS = 25, 1_000_000, 300
SECONDS_BAR, FEW_SECONDS_BAR = 1.5, 0.010


def best_of(run: Callable[[], object], times: int = 3) -> float:
    """Shortest wall time of a few runs [s]."""
    found = []
    for _ in range(times):
        began = time.perf_counter()
        run()
        found.append(time.perf_counter() - began)
    return min(found)


def columns_of(rows: int) -> dict[str, list[pl.Series]]:
    """Columns of one decimal, written cleanly, with a decimal comma, a unit, a side."""
    rng = np.random.default_rng(1)
    clean = [
        pl.Series(np.round(rng.normal(100, 25, rows), 1)).cast(pl.String) for _ in range(COLUMNS)
    ]
    return {
        "clean": clean,
        "decimal comma": [c.str.replace(".", ",", literal=True) for c in clean],
        "unit in the cell": [c + " yd" for c in clean],
        "side in the cell": [c + " R" for c in clean],
    }


def parse_all(columns: list[pl.Series]) -> None:
    """Detect the marks of some columns and parse them."""
    marks = detect_number_format(columns)
    for column in columns:
        parse_numbers(column, marks)


def figures(quick: bool) -> Iterator[Figure]:
    """Parsing of cells beside polars' cast of clean ones."""
    rows = 20_000 if quick else ROWS
    for count, bar in ((rows, SECONDS_BAR * rows / ROWS), (FEW_ROWS, FEW_SECONDS_BAR)):
        made = columns_of(count)
        cast = best_of(lambda made=made: [c.cast(pl.Float64) for c in made["clean"]], 20)
        for name, columns in made.items():
            taken = best_of(lambda columns=columns: parse_all(columns), 5)
            yield Figure(
                f"{COLUMNS} columns of {count} cells, {name}", 1e3 * taken, "ms", "a bare cast",
                1e3 * cast, 1e3 * bar if name == "clean" else None,
            )  # fmt: skip


def main() -> int:
    """Print the times; 1 if a bar is missed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="fewer rows, no bars")
    quick = parser.parse_args().quick
    rows = 20_000 if quick else ROWS
    many, few = columns_of(rows), columns_of(FEW_ROWS)
    cast = best_of(lambda: [c.cast(pl.Float64, strict=False) for c in many["clean"]])
    print(f"{COLUMNS} columns of {rows} rows, bare cast: {cast:.3f} s")
    taken = {}
    for name, columns in many.items():
        taken[name] = best_of(lambda columns=columns: parse_all(columns))
        print(f"  {name:18} {taken[name]:.3f} s, {taken[name] / cast:.1f} times the bare cast")
    for name, columns in few.items():
        taken[f"few {name}"] = best_of(lambda columns=columns: parse_all(columns), 20)
        print(f"  {FEW_ROWS} rows, {name:18} {taken[f'few {name}'] * 1000:.1f} ms")
    start = datetime(2025, 1, 1)
    stamps = pl.Series(
        [f"{start + timedelta(seconds=9 * k):%d.%m.%Y %H:%M:%S}" for k in range(rows)]
    )
    seconds = best_of(lambda: read_times(stamps, zone=ZoneInfo("Europe/Berlin")), 1)
    print(f"  {rows} times of day and date: {seconds:.3f} s")
    missed = taken["clean"] > SECONDS_BAR or taken["few clean"] > FEW_SECONDS_BAR
    return int(missed and not quick)


if __name__ == "__main__":
    raise SystemExit(main())
