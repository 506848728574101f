"""Measurements of other games and of clubs themselves: balls that fly, but no golf shots."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from tests.exports.printing import pick


def _table(heading: str, rows: Iterator[str]) -> bytes:
    return ("\n".join([heading, *rows]) + "\n").encode()


def baseball_hits(rng: np.random.Generator) -> bytes:
    """Batted balls: speed, launch angle, distance in feet, time aloft."""
    rows = (
        f"{pick(rng, ('wood bat', 'metal bat'))},{rng.normal(88, 9):.1f},{rng.normal(14, 12):.1f},"
        f"{rng.normal(240, 80):.0f},{rng.uniform(1, 6):.1f}"
        for _ in range(25)
    )
    return _table("Bat,Ball speed (mph),Launch angle (°),Distance (ft),Hang time (s)", rows)


def tennis_serves(rng: np.random.Generator) -> bytes:
    """Serves: ball speed, spin, net clearance."""
    rows = (
        f"{k},{rng.normal(165, 20):.0f},{rng.normal(2400, 500):.0f},{rng.uniform(-6, 2):.1f},"
        f"{rng.uniform(0.1, 0.9):.2f},{pick(rng, ('in', 'out', 'net'))}"
        for k in range(1, 31)
    )
    heading = "Serve,Ball speed (km/h),Spin (rpm),Launch angle (°),Height over net (m),Result"
    return _table(heading, rows)


def javelin_throws(rng: np.random.Generator) -> bytes:
    """Throws: release speed and angle, distance."""
    rows = (
        f"{k};{rng.normal(26, 2):.1f};{rng.normal(35, 2):.1f};{rng.normal(68, 6):.2f}"
        for k in range(1, 20)
    )
    return _table("Wurf;Abwurfgeschwindigkeit (m/s);Abwurfwinkel (°);Weite (m)", rows)


def disc_throws(rng: np.random.Generator) -> bytes:
    """Thrown discs named driver and putter, with speed, spin and distance."""
    rows = (
        f"{pick(rng, ('Driver', 'Midrange', 'Putter'))},{rng.normal(55, 6):.1f},"
        f"{rng.normal(1050, 90):.0f},{rng.normal(9, 2):.1f},{rng.normal(280, 40):.0f}"
        for _ in range(24)
    )
    return _table("Disc,Speed (mph),Spin (rpm),Nose angle (°),Distance (ft)", rows)


def football_kicks(rng: np.random.Generator) -> bytes:
    """Free kicks: ball speed, launch angle, carry over the wall."""
    rows = (
        f"{pick(rng, ('left', 'right'))},{rng.normal(27, 3):.1f},{rng.normal(17, 3):.1f},"
        f"{rng.normal(7, 2):.1f},{rng.normal(24, 3):.1f}"
        for _ in range(20)
    )
    return _table("Foot,Ball speed (m/s),Launch angle (°),Spin (rev/s),Distance to goal (m)", rows)


def club_specifications(rng: np.random.Generator) -> bytes:
    """Loft, lie, length and swing weight of a set of clubs."""
    clubs = ("Driver", "3 Wood", "5 Hybrid", "6 Iron", "7 Iron", "8 Iron", "9 Iron", "PW", "SW")
    rows = (
        f"{club},{10 + 5 * k},{57 + k * 0.6:.1f},{45.5 - k:.2f},{rng.uniform(300, 460):.0f}"
        for k, club in enumerate(clubs)
    )
    return _table("Club,Loft (°),Lie angle (°),Length (in),Weight (g)", rows)


def drone_log(rng: np.random.Generator) -> bytes:
    """A drone's flight: speed, height, distance, heading."""
    rows = (
        f"{k * 0.5:.1f},{rng.uniform(0, 16):.1f},{rng.uniform(0, 60):.1f},{k * 4.1:.1f},"
        f"{rng.uniform(0, 360):.0f}"
        for k in range(60)
    )
    return _table("Flight time (s),Speed (m/s),Height (m),Distance (m),Direction (°)", rows)


def round_shots(rng: np.random.Generator) -> bytes:
    """Shots of a round by club and hole with distances to the pin, nothing of their flight."""
    rows = (
        f"{hole},{shot},{pick(rng, ('Driver', '7 Iron', 'PW', 'Putter'))},"
        f"{rng.integers(1, 420)},{pick(rng, ('Fairway', 'Rough', 'Green', 'Bunker'))}"
        for hole in range(1, 10)
        for shot in range(1, 5)
    )
    return _table("Hole,Shot,Club,Distance to pin (yards),Lie", rows)


def speed_training(rng: np.random.Generator) -> bytes:
    """Swings without a ball."""
    rows = (
        f"{k},{pick(rng, ('light', 'heavy', 'driver'))},{rng.normal(105, 6):.1f},"
        f"{rng.uniform(0.7, 0.9):.2f}"
        for k in range(1, 30)
    )
    return _table("Swing,Stick,Peak speed (mph),Swing time (s)", rows)


GAMES: tuple[tuple[str, Callable[[np.random.Generator], bytes], str], ...] = (
    ("hits.csv", baseball_hits, "batted balls of another game"),
    ("serves.csv", tennis_serves, "tennis serves"),
    ("throws.csv", javelin_throws, "javelin throws"),
    ("discs.csv", disc_throws, "thrown discs"),
    ("kicks.csv", football_kicks, "free kicks"),
    ("clubs.csv", club_specifications, "lofts and lengths of clubs"),
    ("drone.csv", drone_log, "a drone's flight"),
    ("round.csv", round_shots, "shots of a round without flight data"),
    ("swings.csv", speed_training, "swings without a ball"),
)
