"""Time target choice, the sampler and the report.

    python tests/benchmarks/bench_course.py [--quick]

Bars on two free cores: a target for 14 clubs with part swings below 1 s once warm, in a wind not
asked for before; going against laying up along a whole hole below 3 s; 1,000,000 drawn
shots below 10 s, in wind; a report of 20,000 shots below 3 s and 2 MB. Each time is the best of
three.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

import numpy as np
import polars as pl

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
sys.path.insert(0, str(Path(__file__).resolve().parents[2] / ".src"))

from rangeledger.models.clubs.shot_pattern import ShotPattern
from rangeledger.models.clubs.shot_sampler import sample_shots
from rangeledger.models.flight.day_flight import Conditions, Launch
from rangeledger.models.flight.launch_spread import usual_spread
from rangeledger.models.strategy.aimed_option import Option
from rangeledger.models.strategy.practice_gain import practice_advice
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut
from rangeledger.models.strategy.target_choice import choose_target
from rangeledger.pipelines.holes.course_file import read_hole
from rangeledger.pipelines.holes.target_plan import lay_ups
from rangeledger.warehouse.pages.bag import bag_of
from rangeledger.warehouse.pages.player_rows import player_rows
from rangeledger.warehouse.pages.report import report_page
from rangeledger.warehouse.pages.units import YARDS
from rangeledger.warehouse.published import published

from tests.benchmarks.figures import JSON, Figure, json_s
from tests.made_home import ADA, make_home

COURSES = Path(__file__).resolve().parents[2] / "sample_exports" / "courses"
TABLE = StrokesToHoleOut.published()
TARGET_BAR_S, LAY_UP_BAR_S, SAMPLER_BAR_S = 1.0, 3.0, 10.0
REPORT_BAR_S, REPORT_BAR_BYTES = 3.0, 2_000_000


def bag_of_26() -> list[Option]:
    """14 clubs, four of them wedges with three part swings each."""
    options = []
    for place in range(26):
        part = place >= 14
        carry = 215.0 - 10.5 * place if not part else 85.0 - 4.5 * (place - 14)
        pattern = ShotPattern(
            f"club {place}", "9:00" if part else "full", "premium", carry, 0.5, 0.045 * carry,
            0.055 * carry, 0.1, 1.5, 1.5, 25.0, 0.08, 0.18 * carry, 0.05, 0.1 * carry,
        )  # fmt: skip
        speed = 18.0 + 0.22 * carry
        options.append(Option(pattern, Launch(speed, 32.0 - 0.09 * carry, 0.0, 8500.0, 1.0)))
    return options


class Seconds(NamedTuple):
    """Seconds on the clock and of the processors."""

    clock: float
    processors: float


def best_of_three(job: Callable[[], object]) -> Seconds:
    """Least seconds of three runs, after one to warm up."""
    job()
    times = []
    for _ in range(3):
        started = time.perf_counter(), time.process_time()
        job()
        times.append(Seconds(time.perf_counter() - started[0], time.process_time() - started[1]))
    return min(times)


def target_seconds() -> Seconds:
    """Seconds of a target choice."""
    hole, options = read_hole(COURSES / "alder_meadow_3.toml"), bag_of_26()
    winds = iter(np.linspace(1.0, 9.0, 4))
    return best_of_three(
        lambda: choose_target(hole, options, TABLE, Conditions(4.0 + next(winds), 60.0))
    )


def lay_up_seconds() -> Seconds:
    """Seconds of going against laying up along a hole."""
    hole, options = read_hole(COURSES / "tern_point_12.geojson"), bag_of_26()
    winds = iter(np.linspace(1.0, 9.0, 4))
    return best_of_three(lambda: lay_ups(hole, options, TABLE, Conditions(4.0 + next(winds), 60.0)))


def sampler_seconds(count: int) -> Seconds:
    """Seconds of so many drawn shots in wind."""
    option = bag_of_26()[6]
    spread = usual_spread(option.launch)

    def draw() -> None:
        random = np.random.default_rng(1)
        sample_shots(option.pattern, spread, count, random, Conditions(5.0, 40.0))

    return best_of_three(draw)


def report_figures(shots: int) -> tuple[Seconds, int]:
    """Seconds and bytes of a report with so many shots."""
    with (
        tempfile.TemporaryDirectory() as folder,
        published(make_home(Path(folder), (ADA,))) as connection,
    ):
        rows, bag = player_rows(connection, ADA), bag_of(connection, ADA)
    copies = [rows.shots] * (shots // rows.shots.height + 1)
    many = replace(rows, shots=pl.concat(copies).head(shots))

    def page() -> str:
        gains = practice_advice([club.practice for club in bag], TABLE)
        return report_page(many, bag, gains, TABLE.source, YARDS)

    return best_of_three(page), len(page().encode())


def figures(quick: bool) -> Iterator[Figure]:
    """What a target, its simulation and a report take."""
    count = 100_000 if quick else 1_000_000
    each = {
        "target, 26 clubs and swings": (target_seconds(), TARGET_BAR_S),
        "going against laying up, 26 clubs and swings": (lay_up_seconds(), LAY_UP_BAR_S),
        f"{count:,} drawn shots in wind": (
            sampler_seconds(count), SAMPLER_BAR_S * count / 1_000_000,
        ),
        "report of 20,000 shots": (report_figures(20_000)[0], REPORT_BAR_S),
    }  # fmt: skip
    for what, (seconds, bar) in each.items():
        yield Figure(what, seconds.clock, "s", JSON, json_s(), bar)


def main() -> int:
    """Print the figures; return 1 if a bar is missed, but in quick mode always 0."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="100,000 drawn shots, not a million")
    quick = parser.parse_args().quick
    count = 100_000 if quick else 1_000_000
    target, lay_up, sampler = target_seconds(), lay_up_seconds(), sampler_seconds(count)
    report, size = report_figures(20_000)
    scaled = SAMPLER_BAR_S * count / 1_000_000
    bars = {
        "target, 26 clubs and swings": (target, TARGET_BAR_S),
        "going against laying up, 26 clubs and swings": (lay_up, LAY_UP_BAR_S),
        f"{count:,} drawn shots in wind": (sampler, scaled),
        "report of 20,000 shots": (report, REPORT_BAR_S),
    }
    for name, (seconds, bar) in bars.items():
        print(
            f"{name}: {seconds.clock:.2f} s on the clock, {seconds.processors:.2f} s of the "
            f"processors (bar {bar:g} s on two free cores)"
        )
    print(f"report of 20,000 shots: {size:,} bytes (bar {REPORT_BAR_BYTES:,})")
    met = all(seconds.clock < bar for seconds, bar in bars.values())
    return 0 if quick or (met and size < REPORT_BAR_BYTES) else 1


if __name__ == "__main__":
    sys.exit(main())
