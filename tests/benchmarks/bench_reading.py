"""Time reading: a large clean file, the same in other dialects, a dirty one, small ones.

    python tests/benchmarks/bench_reading.py [--quick]

Prints seconds, peak memory and the ratio to polars, which reads the same file as text without
finding encoding, dialect, lines or repairs. Each file is read in a process of its own. The bars:
1,000,000 rows of 30 columns in 2 s and 1.2 GB on two idle cores, a file of 300 rows in 5 ms.
"""

from __future__ import annotations

import argparse
import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.benchmarks.figures import JSON, ONE_GB, Figure, json_s, peak_gb  # noqa: E402

LARGE_SECONDS, LARGE_MIB, SMALL_MS = 2.0, 1144, 5.0
COLUMNS = 30
SMALL_ROWS, SMALL_FILES = 300, 200


def write_clean(path: Path, rows: int) -> None:
    """Write a table of a word and 29 numbers a row."""
    import numpy as np
    import polars as pl

    made = np.random.default_rng(1)
    frame = pl.DataFrame(
        {f"v{column}": made.normal(100, 30, rows).round(4) for column in range(1, COLUMNS)}
    )
    club = pl.Series(
        "club", np.array(["Driver", "7 Iron", "Sand Wedge"])[made.integers(0, 3, rows)]
    )
    frame.insert_column(0, club).write_csv(path)


def _crlf(text: bytes) -> bytes:
    return b"Player: A\nDate: 2024-05-01\n\n".replace(b"\n", b"\r\n") + text.replace(b"\n", b"\r\n")


def _quoted(text: bytes) -> bytes:
    return b'"' + text[:-1].replace(b",", b'","').replace(b"\n", b'"\n"') + b'"\n'


def _semicolons(text: bytes) -> bytes:
    return text.replace(b",", b";").replace(b".", b",")


def _dirty(text: bytes) -> bytes:
    """Every hundredth line loses a cell or gets a stray mark."""
    lines = text.split(b"\n")
    for at in range(100, len(lines) - 1, 200):
        lines[at] = lines[at].replace(b",", b',"', 1)
        lines[at + 50] = lines[at + 50].rsplit(b",", 1)[0]
    return b"\n".join(lines)


DIALECTS: dict[str, Callable[[bytes], bytes]] = {
    "clean": lambda text: text,
    "preamble, CRLF": _crlf,
    "all quoted": _quoted,
    "semicolons, decimal comma": _semicolons,
    "1 % dirty lines": _dirty,
    "UTF-16": lambda text: text.decode().encode("utf-16"),
}


def read_one(path: str, reader: str) -> None:
    """Read one file and print seconds and peak memory [MiB]."""
    import polars as pl
    from rangeledger.pipelines.reader.reading.grid import read_grid

    started = time.perf_counter()
    if reader == "grid":
        read_grid(path)
    else:
        pl.read_csv(path, has_header=False, infer_schema=False, truncate_ragged_lines=True)
    seconds = time.perf_counter() - started
    print(seconds, round(1024 * peak_gb()))


def measure(path: Path, reader: str) -> tuple[float, int]:
    """Seconds and peak memory [MiB] in a new process, the better of two."""
    command = [sys.executable, __file__, "--one", str(path), reader]
    runs = [
        subprocess.run(command, capture_output=True, text=True, check=True).stdout.split()
        for _ in range(2)
    ]
    return min((float(seconds), int(mebibytes)) for seconds, mebibytes in runs)


def small_files() -> float:
    """Milliseconds a file of 300 rows, warm."""
    from rangeledger.pipelines.reader.reading.grid import read_grid

    made = random.Random(1)
    rows = [
        ["7 Iron", *(f"{made.uniform(0, 200):.1f}" for _ in range(11))] for _ in range(SMALL_ROWS)
    ]
    heading = [f"Heading {column} (m)" for column in range(12)]
    text = "\n".join(",".join(row) for row in [heading, *rows]).encode()
    read_grid(text)
    started = time.perf_counter()
    for _ in range(SMALL_FILES):
        read_grid(text)
    return 1000 * (time.perf_counter() - started) / SMALL_FILES


def figures(quick: bool) -> Iterator[Figure]:
    """Reading in each dialect beside polars, which is told everything."""
    rows = 20_000 if quick else 1_000_000
    with tempfile.TemporaryDirectory() as folder:
        clean, other = Path(folder, "clean.csv"), Path(folder, "other.csv")
        write_clean(clean, rows)
        base, _ = measure(clean, "polars")
        for name, change in DIALECTS.items():
            other.write_bytes(change(clean.read_bytes()))
            seconds, peak = measure(other, "grid")
            yield Figure(
                f"reading {rows:,} rows, {name}", 1e3 * seconds, "ms", "polars, told everything",
                1e3 * base, 1e3 * LARGE_SECONDS if name == "clean" else None,
            )  # fmt: skip
            if name == "clean":
                yield Figure(
                    f"memory of reading {rows:,} rows", peak / 1024, "GB", ONE_GB, 1.0,
                    LARGE_MIB / 1024,
                )  # fmt: skip
    small = small_files()
    yield Figure("reading 300 rows, warm", small, "ms", JSON, 1e3 * json_s(), SMALL_MS)


def main() -> int:
    """Print the figures; return 1 if a bar is missed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="20,000 rows instead of 1,000,000")
    parser.add_argument("--one", nargs=2, help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.one:
        read_one(*given.one)
        return 0
    rows = 20_000 if given.quick else 1_000_000
    missed = False
    with tempfile.TemporaryDirectory() as folder:
        clean, other = Path(folder, "clean.csv"), Path(folder, "other.csv")
        write_clean(clean, rows)
        base, base_peak = measure(clean, "polars")
        print(f"{'polars, told everything':28}{base:8.2f} s {base_peak:6} MiB")
        for name, change in DIALECTS.items():
            other.write_bytes(change(clean.read_bytes()))
            seconds, peak = measure(other, "grid")
            size = os.path.getsize(other) >> 20
            print(f"{name:28}{seconds:8.2f} s {peak:6} MiB  x{seconds / base:5.1f}  ({size} MiB)")
            if name == "clean":
                missed |= seconds > LARGE_SECONDS or peak > LARGE_MIB
    small = small_files()
    print(f"{'300 rows, warm':28}{small:8.2f} ms")
    missed |= small > SMALL_MS
    print("a bar was missed" if missed else "all bars held")
    return int(missed and not given.quick)


if __name__ == "__main__":
    sys.exit(main())
