"""Time the flight solver and the still-air adjustment.

    python tests/benchmarks/bench_flight.py [--quick]

Prints trajectories a second on the processors there are, the error against scipy's solve_ivp
(DOP853 at 1e-10) of the same equations, the ratio to it, and the seconds that a million shots
take to bring to still air. The bars, for two cores: 1,000,000 trajectories a second in a uniform
wind and 400,000 in one that grows with height, carry and side within 0.01 m, 500 times
solve_ivp a shot, and 3 s for the million shots.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import polars as pl

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
sys.path.insert(0, str(Path(__file__).resolve().parents[2] / ".src"))

from rangeledger.models.air.wind_profile import log_law
from rangeledger.models.calibration.still_air import still_air
from rangeledger.models.flight.trajectory import fly

from tests.benchmarks.figures import Figure
from tests.models.flight_reference import reference_flight

RATE_BAR, RATIO_BAR, ERROR_BAR_M, SECONDS_BAR = 1_000_000.0, 500.0, 0.01, 3.0
PROFILE_BAR = 400_000.0
STOCK = np.array([(74.5, 11.0, 2700.0), (53.5, 16.5, 7000.0), (42.5, 26.0, 9500.0)])
CLUBS = np.array(["driver", "7-iron", "sand-wedge"])


def random_shots(count: int) -> tuple[np.ndarray, ...]:
    """Drives, irons and wedges with the spread of play, and winds up to 10 m/s."""
    random = np.random.default_rng(0)
    stock = STOCK[np.arange(count) % 3] * random.normal(1.0, (0.03, 0.06, 0.06), (count, 3))
    direction, axis = random.normal(0.0, 2.0, count), random.normal(0.0, 5.0, count)
    wind, origin = random.uniform(0.0, 10.0, count), random.uniform(0.0, 360.0, count)
    return (*stock[:, :2].T, direction, stock[:, 2], axis, wind, origin)


def fly_in_wind(shots: tuple[np.ndarray, ...], **conditions: object):
    """Fly the shots in their winds."""
    return fly(*shots[:5], wind_speed_mps=shots[5], wind_from_deg=shots[6], **conditions)


def best_seconds(work, repeats: int = 5, clock=time.perf_counter) -> float:
    """Least time of several runs."""
    times = []
    for _ in range(repeats):
        started = clock()
        work()
        times.append(clock() - started)
    return min(times)


def judge_accuracy(shots: tuple[np.ndarray, ...], count: int) -> tuple[float, float]:
    """Largest error of carry and side [m], and seconds a shot of the reference solver."""
    some = tuple(column[:count] for column in shots)
    ours = fly_in_wind(some)
    started = time.perf_counter()
    exact = [
        reference_flight(*shot[:5], wind_speed_mps=shot[5], wind_from_deg=shot[6])
        for shot in zip(*some, strict=True)
    ]
    seconds = (time.perf_counter() - started) / count
    carry = np.array([flight.carry_m for flight in exact])
    side = np.array([flight.carry_side_m for flight in exact])
    error = np.maximum(np.abs(ours.carry_m - carry), np.abs(ours.carry_side_m - side))
    return float(error.max()), seconds


def still_air_seconds(shots: tuple[np.ndarray, ...]) -> float:
    """Seconds to bring the shots to still air."""
    flown = fly_in_wind(shots)
    count = len(shots[0])
    names = (
        "ball_speed_mps launch_angle_deg launch_direction_deg spin_rate_rpm spin_axis_deg "
        "wind_speed_mps wind_from_deg"
    ).split()
    frame = pl.DataFrame(dict(zip(names, shots, strict=True))).with_columns(
        player=pl.lit("p"),
        club=pl.Series(CLUBS[np.arange(count) % 3]),
        swing=pl.lit("full"),
        ball=pl.lit("premium"),
        session_id=pl.lit("s"),
        flight_basis=pl.lit("measured"),
        carry_m=pl.Series(flown.carry_m),
        carry_side_m=pl.Series(flown.carry_side_m),
    )
    return best_seconds(lambda: still_air(frame), 2)


def figures(quick: bool) -> Iterator[Figure]:
    """What flights take beside scipy's solver."""
    shots = random_shots(100_000 if quick else 1_000_000)
    part = tuple(column[:100_000] for column in shots)
    flown = best_seconds(lambda: fly_in_wind(part))
    profile = best_seconds(lambda: fly_in_wind(part, wind_profile=log_law()))
    _, reference = judge_accuracy(shots, 60 if quick else 300)
    for what, seconds, rate in (
        ("100,000 flights in a uniform wind", flown, RATE_BAR),
        ("100,000 flights in a wind that grows with height", profile, PROFILE_BAR),
    ):
        yield Figure(
            what, seconds, "s", "scipy's solve_ivp", 100_000 * reference, 100_000 / rate,
            1 / RATIO_BAR,
        )  # fmt: skip
    still = still_air_seconds(shots) * 1_000_000 / len(shots[0])
    yield Figure(
        "still air of 1,000,000 shots", still, "s", "their flights", 10 * flown, SECONDS_BAR
    )


def main() -> int:
    """Print the figures; return 1 if a bar is missed, but in quick mode always 0."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="a tenth of the shots")
    quick = parser.parse_args().quick
    count = 100_000 if quick else 1_000_000
    shots = random_shots(count)
    fly_in_wind(tuple(column[:8] for column in shots))
    part = tuple(column[:100_000] for column in shots)
    rate = 100_000 / best_seconds(lambda: fly_in_wind(part))
    alone = 100_000 / best_seconds(lambda: fly_in_wind(part), clock=time.process_time)
    profile = 100_000 / best_seconds(lambda: fly_in_wind(part, wind_profile=log_law()))
    error, reference = judge_accuracy(shots, 60 if quick else 300)
    seconds = still_air_seconds(shots) * 1_000_000 / count
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    print(f"trajectories/s, uniform wind  {rate:>12,.0f}   {rate / RATE_BAR:.2f} x the bar")
    print(f"the same, a processor second  {alone:>12,.0f}   whatever else the machine does")
    print(
        f"trajectories/s, log profile   {profile:>12,.0f}   {profile / PROFILE_BAR:.2f} x the bar"
    )
    print(f"solve_ivp, trajectories/s     {1 / reference:>12,.0f}")
    print(f"ratio to solve_ivp            {rate * reference:>12,.0f}   bar {RATIO_BAR:.0f}")
    print(f"largest error, carry and side {error:>12.4f} m bar {ERROR_BAR_M} m")
    print(f"still air of 1,000,000 shots  {seconds:>12.1f} s bar {SECONDS_BAR:.0f} s")
    print(f"on {cores} processors, load {os.getloadavg()[0]:.1f}")
    missed = (
        rate < RATE_BAR
        or profile < PROFILE_BAR
        or rate * reference < RATIO_BAR
        or error > ERROR_BAR_M
        or seconds > SECONDS_BAR
    )
    return 0 if quick else int(missed)


if __name__ == "__main__":
    sys.exit(main())
