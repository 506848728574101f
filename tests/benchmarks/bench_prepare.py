"""Time the preparation of exports: a small file, a backlog, and a million rows.

    python tests/benchmarks/bench_prepare.py [--quick]

Prints milliseconds a file, files a second, seconds and peak memory. The bars: 30 ms for 300 rows,
40 files a second, and 1,000,000 rows of 30 columns in 5 s and 2 GB.
"""

from __future__ import annotations

import argparse
import resource
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import polars as pl

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from models.flight import fly
from pipelines.prepare import prepare_export

SMALL_ROWS, FILES, MILLION = 300, 40, 1_000_000
SMALL_BAR_MS, FILES_BAR, SECONDS_BAR, MEMORY_BAR_GB = 30.0, 40.0, 5.0, 2.0
EXTRA_COLUMNS = 18


def export(rows: int, extra: int = 0) -> pl.DataFrame:
    """Return a clean table of shots with `extra` columns of no canonical meaning."""
    rng = np.random.default_rng(rows)
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


def seconds_of(path: Path, times: int = 1) -> float:
    """Return the mean seconds of preparing a file so many times."""
    began = time.perf_counter()
    for _ in range(times):
        prepare_export(path)
    return (time.perf_counter() - began) / times


def main() -> int:
    """Print the figures; exit 1 if a bar is missed."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--quick", action="store_true", help="a tenth of the rows, no bars")
    quick = parser.parse_args().quick
    with tempfile.TemporaryDirectory() as temporary:
        small = Path(temporary) / "small.csv"
        export(SMALL_ROWS).write_csv(small)
        prepare_export(small)  # compiles the solver
        each = seconds_of(small, 5 if quick else 30)
        print(f"{SMALL_ROWS} rows, warm: {1e3 * each:.1f} ms a file, {1 / each:.0f} files a second")
        rows = MILLION // 10 if quick else MILLION
        large = Path(temporary) / "large.csv"
        export(rows, EXTRA_COLUMNS).write_csv(large)
        taken = seconds_of(large)
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20
        print(
            f"{rows:,} rows x 30 columns: {taken:.1f} s, peak {peak:.2f} GB (the making included)"
        )
    met = 1e3 * each <= SMALL_BAR_MS and taken <= SECONDS_BAR and peak <= MEMORY_BAR_GB
    return 0 if quick or met else 1


if __name__ == "__main__":
    raise SystemExit(main())
