"""Time the preparation of exports: small files in a warm process, a million rows in a fresh one.

    python tests/benchmarks/bench_prepare.py [--quick]

Prints milliseconds a file at first sight of its layout and where the layout is remembered, beside
DuckDB's COPY of the same files; then, for 1,000,000 rows of 30 columns, the seconds
of normalising and screening beside those of DuckDB's own `COPY (FROM read_csv(...))` to Parquet in
the same run, their ratio, and the peak memory. The bars: 50 ms for 200 rows of 12 columns at first
sight, 10 ms remembered, three times DuckDB's time for the large one, and 2 GB.
"""

from __future__ import annotations

import argparse
import multiprocessing
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
sys.path.insert(0, str(Path(__file__).resolve().parents[2] / ".src"))

from tests.benchmarks.figures import ONE_GB, Figure, peak_gb

SMALL_ROWS, MILLION = 200, 1_000_000
FIRST_BAR_MS, REMEMBERED_BAR_MS, RATIO_BAR, MEMORY_BAR_GB = 50.0, 10.0, 3.0, 2.0
SMALL_FILES, ROUNDS = 40, 3
EXTRA_COLUMNS = 18


def export(rows: int, extra: int = 0, seed: int | None = None) -> pl.DataFrame:
    """Return a clean table of shots with `extra` columns of no canonical meaning."""
    from rangeledger.models.flight.trajectory import fly

    rng = np.random.default_rng(rows if seed is None else seed)
    speed, launch = rng.normal(48.0, 1.5, rows), rng.normal(17.5, 1.0, rows)
    spin, direction = rng.normal(6200.0, 300.0, rows), rng.normal(0.0, 1.5, rows)
    axis = rng.normal(0.0, 4.0, rows)
    flight = fly(speed, launch, direction, spin, axis)
    start = pl.datetime(2026, 5, 2, 9, 0, 0)
    seconds = pl.int_range(0, rows, eager=True) * 20
    frame = pl.DataFrame({
        "Golfer": np.where(np.arange(rows) % 2, "Ann Breck", "Bo Ek"),
        "Stick": np.where(np.arange(rows) % 3, "7 Iron", "8 Iron"),
        "Ball velocity (m/s)": speed.round(2), "Take-off angle (°)": launch.round(1),
        "Start direction (°)": direction.round(1), "Spin (rpm)": spin.round(0).astype(int),
        "Axis (°)": axis.round(1), "Flown (m)": np.round(flight.carry_m, 1),
        "Offline (m)": np.round(flight.carry_side_m, 1), "Peak (m)": np.round(flight.apex_m, 1),
        "Hang time (s)": np.round(flight.hang_time_s, 2),
        **{f"Gauge {k}": rng.normal(0, 1, rows).round(3) for k in range(extra)},
    })  # fmt: skip
    when = start + pl.duration(seconds=pl.lit(seconds))
    return frame.with_columns(when.dt.to_string("%Y-%m-%d %H:%M:%S").alias("When"))


def write_export(path: Path, rows: int, extra: int) -> None:
    """Write one large export."""
    export(rows, extra).write_csv(path)


def small_seconds(folder: Path, extra: int, files: int) -> tuple[float, float, float]:
    """Return median seconds of small files of one layout: at first sight, remembered, copied.

    All differ, and are prepared by a process that has met other layouts; copied by DuckDB.
    """
    from rangeledger.pipelines.reader.prepare import prepare_export

    from tests.remembered_words import forget_words

    first, remembered, copied = [], [], []
    for seed in range(files + 2):
        path = folder / f"small-{extra}-{seed}.csv"
        export(SMALL_ROWS, extra, seed).write_csv(path)
        for taken in (first, remembered):
            if taken is first:
                forget_words()
            began = time.perf_counter()
            prepare_export(path)
            taken.append(time.perf_counter() - began)
            path = folder / f"again-{extra}-{seed}.csv"
            export(SMALL_ROWS, extra, files + 2 + seed).write_csv(path)
        copied.append(copy_seconds(path))
    told = [float(np.median(taken[2:])) for taken in (first, remembered, copied)]
    return told[0], told[1], told[2]


def large_figures(path: Path, warming: Path) -> tuple[float, float]:
    """Return the seconds of normalising and screening an export, and the peak memory [GB]."""
    from rangeledger.pipelines.loading.validation import judge
    from rangeledger.pipelines.reader.prepare import prepare_export

    judge(prepare_export(warming).shots)  # imports, compiles, builds the expectations
    began = time.perf_counter()
    if not judge(prepare_export(path).shots).passed:
        raise AssertionError("the shots do not meet the expectations")
    seconds = time.perf_counter() - began
    return seconds, peak_gb()


def copy_seconds(path: Path) -> float:
    """Return the seconds of DuckDB's own way from the same file to Parquet."""
    import duckdb

    connection = duckdb.connect()
    began = time.perf_counter()
    connection.execute(
        f"COPY (FROM read_csv('{path}')) TO '{path.with_suffix('.parquet')}' (FORMAT parquet)"
    )
    return time.perf_counter() - began


def alone(function: Callable[..., Any], *arguments: Any) -> Any:
    """Call a function in a fresh process, so that its memory is its own."""
    fresh = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(1, mp_context=fresh) as pool:
        return pool.submit(function, *arguments).result()


def time_small(folder: Path, files: int) -> bool:
    """Print the figures of small files; return whether the bars are met."""
    met = True
    for extra in (0, EXTRA_COLUMNS):
        first, again, copied = (1e3 * t for t in alone(small_seconds, folder, extra, files))
        met &= extra > 0 or (first <= FIRST_BAR_MS and again <= REMEMBERED_BAR_MS)
        print(
            f"{SMALL_ROWS} rows x {12 + extra} columns: {first:.1f} ms a file at first sight, "
            f"{again:.1f} ms remembered, DuckDB's COPY {copied:.1f} ms"
        )
    return met


def time_large(folder: Path, rows: int, rounds: int) -> bool:
    """Print the figures of a large file; return whether the bars are met."""
    large, warming = folder / "large.csv", folder / "warming.csv"
    alone(write_export, large, rows, EXTRA_COLUMNS)
    alone(write_export, warming, SMALL_ROWS, EXTRA_COLUMNS)
    copied, prepared, peaks = [], [], []
    for _ in range(rounds):  # in turns, so that both meet the same load of the machine
        copied.append(alone(copy_seconds, large))
        seconds, peak = alone(large_figures, large, warming)
        prepared.append(seconds)
        peaks.append(peak)
    ratio = float(np.median(prepared) / np.median(copied))
    print(
        f"{rows:,} rows x {12 + EXTRA_COLUMNS} columns: {np.median(prepared):.2f} s, DuckDB's COPY "
        f"{np.median(copied):.2f} s, ratio {ratio:.2f}, peak {max(peaks):.2f} GB"
    )
    return ratio <= RATIO_BAR and max(peaks) <= MEMORY_BAR_GB


def figures(quick: bool) -> Iterator[Figure]:
    """Preparing beside DuckDB's COPY of the same files."""
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary)
        for extra in (0, EXTRA_COLUMNS):
            told = alone(small_seconds, folder, extra, 6 if quick else SMALL_FILES)
            *ours, copied = (1e3 * seconds for seconds in told)
            bars = (FIRST_BAR_MS, REMEMBERED_BAR_MS) if extra == 0 else (None, None)
            for word, taken, bar in zip(("at first sight", "remembered"), ours, bars, strict=True):
                yield Figure(
                    f"{SMALL_ROWS} rows x {12 + extra} columns {word}", taken, "ms",
                    "DuckDB's COPY", copied, bar,
                )  # fmt: skip
        rows, large, warming = (
            MILLION // 20 if quick else MILLION, folder / "large.csv", folder / "warming.csv"
        )  # fmt: skip
        alone(write_export, large, rows, EXTRA_COLUMNS)
        write_export(warming, SMALL_ROWS, EXTRA_COLUMNS)
        rounds = [
            (alone(copy_seconds, large), *alone(large_figures, large, warming))
            for _ in range(1 if quick else ROUNDS)
        ]
        copied, seconds, peak = np.median(rounds, axis=0)
        yield Figure(
            f"{rows:,} rows x {12 + EXTRA_COLUMNS} columns", float(seconds), "s", "DuckDB's COPY",
            float(copied), None, RATIO_BAR,
        )  # fmt: skip
        yield Figure(f"memory of {rows:,} rows", float(peak), "GB", ONE_GB, 1.0, MEMORY_BAR_GB)


def main() -> int:
    """Print the figures; exit 1 if a bar is missed."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--quick", action="store_true", help="a tenth of the rows, no bars")
    quick = parser.parse_args().quick
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary)
        met = time_small(folder, 10 if quick else SMALL_FILES)
        met &= time_large(folder, MILLION // 10 if quick else MILLION, 1 if quick else ROUNDS)
    return 0 if quick or met else 1


if __name__ == "__main__":
    raise SystemExit(main())
