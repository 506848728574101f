"""Time the carry model against a loop over a general robust estimator.

    python tests/benchmarks/bench_carry_models.py [--quick]

Prints shots and groups a second, peak memory, and the ratio to scikit-learn's MinCovDet called
once a group. The bars: 100,000 groups of 100 shots in 40 s on two cores, and 50 times the loop.
"""

from __future__ import annotations

import argparse
import resource
import sys
import time
import warnings
from collections.abc import Iterator
from pathlib import Path

import polars as pl
from sklearn.covariance import MinCovDet

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
sys.path.insert(0, str(Path(__file__).resolve().parents[2] / ".src"))

from rangeledger.models.clubs.carry_model import CarryModel
from rangeledger.models.clubs.shot_groups import GROUP_KEYS

from tests.benchmarks.figures import Figure
from tests.models.synthetic_players import make_players

LOOP_GROUPS = 100
SHOTS, SESSIONS, CLUBS = 100, 8, 8
SECONDS_BAR, RATIO_BAR = 40.0, 50.0


def many_shots(groups: int) -> pl.DataFrame:
    """Return shots of so many groups, players made in batches and repeated under new names."""
    made = min(groups // CLUBS, 500)
    learn, _, _ = make_players(made, SHOTS, SESSIONS, seed=1)
    copies = range(groups // CLUBS // made)
    return pl.concat(
        [learn.with_columns(player=pl.format("{}-{}", pl.lit(i), "player")) for i in copies]
    )


def seconds_of_loop(shots: pl.DataFrame) -> float:
    """Return the seconds a group that MinCovDet takes in a loop."""
    groups = list(shots.group_by(list(GROUP_KEYS), maintain_order=True))[:LOOP_GROUPS]
    started = time.perf_counter()
    for _, group in groups:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            MinCovDet(random_state=0).fit(group.select("still_carry_m", "still_side_m").to_numpy())
    return (time.perf_counter() - started) / len(groups)


def figures(quick: bool) -> Iterator[Figure]:
    """Fit and loop, by the group."""
    shots = many_shots(2_000 if quick else 100_000)
    CarryModel().fit(shots.head(100))
    started = time.perf_counter()
    groups = CarryModel().fit(shots).parameters_.height
    each = (time.perf_counter() - started) / groups
    yield Figure(
        f"a club of {SHOTS} shots fitted", 1e3 * each, "ms", "MinCovDet, called once a club",
        1e3 * seconds_of_loop(shots), 1e3 * SECONDS_BAR / 100_000, 1 / RATIO_BAR,
    )  # fmt: skip


def main() -> int:
    """Print the figures; return 1 if a bar is missed, but in quick mode always 0."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="2,000 groups instead of 100,000")
    quick = parser.parse_args().quick
    groups = 2_000 if quick else 100_000
    shots = many_shots(groups)
    CarryModel().fit(shots.head(100))
    started = time.perf_counter()
    model = CarryModel().fit(shots)
    seconds = time.perf_counter() - started
    ratio = seconds_of_loop(shots) / (seconds / model.parameters_.height)
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20
    bar = SECONDS_BAR * groups / 100_000
    print(
        f"{model.parameters_.height:,} groups of {SHOTS} shots: {seconds:.1f} s (bar {bar:.1f} s)"
    )
    print(f"{shots.height / seconds:,.0f} shots a second; peak memory {memory:.2f} GiB")
    print(f"{ratio:,.0f} times a loop over MinCovDet (bar {RATIO_BAR:.0f})")
    return int(not quick and (seconds > bar or ratio < RATIO_BAR))


if __name__ == "__main__":
    raise SystemExit(main())
