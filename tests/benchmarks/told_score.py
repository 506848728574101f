"""Print the score that own strokes tell a handicap of 10 beside a game played ball by ball.

    python tests/benchmarks/told_score.py [--balls 20000]

The game shares the player's clubs with what is told and none of its laws: Laplace strikes, mishits
of even losses, pitches by a spread of the distance and duffs, putts whose start line is a t. Its
sizes are common practice, no source, but for the putts: half fall from 5.6 ft, between a handicap
under 9 and a 90-shooter (articles quoting Broadie 2014).
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
from scipy import optimize, stats

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
sys.path.insert(0, str(Path(__file__).resolve().parents[2] / ".src"))

from rangeledger.models.clubs.shot_pattern import ShotPattern
from rangeledger.models.flight.day_flight import STILL_AIR, day_flight
from rangeledger.models.flight.typical_launch import typical_launch
from rangeledger.models.strategy.aimed_option import Option
from rangeledger.models.strategy.near_green import NearGreen
from rangeledger.models.strategy.own_strokes import (
    FAIRWAY_HALF_WIDTH_M,
    GREEN_RADIUS_M,
    SHORT_GAME_M,
    own_strokes,
)
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut
from rangeledger.schemas.units import FOOT_M, YARD_M

from tests.models.strategy.test_own_strokes import LENGTHS

HANDICAP, HALF_FALL_M = 10.0, 5.6 * FOOT_M
FROM_FAIRWAY_YD, FROM_TEE_YD = (80, 100, 130, 160, 190), (320, 360, 400, 440)
WHOLE = [(club, loft, 0.8 * carry_yd * YARD_M) for club, loft, carry_yd in LENGTHS]
PART = [("60-wedge", 60.0, carry_yd * YARD_M) for carry_yd in (30, 40, 50, 60)]
# Carry, spread along and across, and run: all [m].
Clubs = np.ndarray


def player() -> tuple[list[Option], Clubs]:
    """Return the clubs as the planner takes them, and as the game does."""
    options, clubs = [], []
    for club, loft, carry in WHOLE + PART:
        whole = carry > 65.0
        along = (0.038 if whole else 0.08) * carry
        across = 0.0535 * np.exp(-0.2 * (loft - 36.0) / 16.0) * carry
        pattern = ShotPattern(
            club, "full" if whole else f"{carry:.0f}", "premium", carry, 0.0, along, across, 0.0,
            0.0, 0.0, np.inf, 0.08, 0.18 * carry, 0.05, 2.0**0.5 * across,
        )  # fmt: skip
        option = Option(pattern, typical_launch(carry, loft))
        options.append(option)
        clubs.append((carry, along, across, day_flight(option.launch, STILL_AIR).run_m[0]))
    return options, np.array(clubs)


class Game:
    """Balls played until they are holed."""

    def __init__(self, clubs: Clubs, rng: np.random.Generator) -> None:
        self.clubs, self.rng = clubs, rng
        self.start_sd_deg = optimize.brentq(
            lambda sd: float(self._falls(np.array(HALF_FALL_M), sd)) - 0.5, 0.2, 9.0
        )

    @staticmethod
    def _falls(left_m: np.ndarray, start_sd_deg: float) -> np.ndarray:
        """Return the chance that a putt falls: started within the hole, of a fair pace."""
        within = np.degrees(np.arctan(0.033 / np.maximum(left_m, 0.01)))
        paced = np.clip(0.98 - 0.004 * left_m / FOOT_M, 0.55, 1.0)
        return (2.0 * stats.t.cdf(within / start_sd_deg, 5.0) - 1.0) * paced

    def putts(self, left_m: np.ndarray) -> np.ndarray:
        """Return how many putts each ball takes."""
        left, count, live = left_m.copy(), np.zeros(len(left_m)), np.arange(len(left_m))
        for _ in range(6):
            count[live] += 1
            missed = self.rng.random(len(live)) >= self._falls(left[live], self.start_sd_deg)
            live = live[missed]
            along, across = self.rng.standard_normal((2, len(live))) * left[live]
            left[live] = np.hypot(0.11 * along + 0.25, np.radians(self.start_sd_deg) * across)
        return count

    def pitched(self, left_m: np.ndarray) -> np.ndarray:
        """Return what pitches leave; six of a hundred are duffed."""
        along, across = self.rng.standard_normal((2, len(left_m))) * left_m
        duffed = self.rng.random(len(left_m)) < 0.06
        short = np.where(duffed, left_m * self.rng.uniform(0.3, 0.8, len(left_m)), 0.25 * along)
        return np.hypot(short, 0.13 * across)

    def struck(
        self, left_m: np.ndarray, rough: np.ndarray, tee: bool
    ) -> tuple[np.ndarray, np.ndarray]:
        """Return what full shots leave, and how far from the line they lie."""
        clubs = self.clubs if tee else np.delete(self.clubs, self.clubs[:, 0].argmax(), axis=0)
        carry = clubs[:, 0] * np.where(rough, 0.97, 1.0)[:, None]
        chosen = np.abs(carry + clubs[:, 3] - left_m[:, None]).argmin(axis=1)
        carry = carry[np.arange(len(chosen)), chosen]
        _, along, across, run = clubs[chosen].T
        wilder = np.where(rough, 1.3, 1.0)
        x, y = self.rng.laplace(0.0, 0.5**0.5, (2, len(carry))) * wilder
        missed = self.rng.random(len(carry)) < 0.08
        lost = carry * self.rng.uniform(0.03, 0.36, len(carry))
        went = carry + run + np.where(missed, -lost, along * x)
        side = across * np.where(missed, 1.6 * self.rng.standard_normal(len(carry)), y)
        return np.hypot(left_m - went, side), np.abs(side)

    def score(self, left_m: float, tee: bool, balls: int) -> float:
        """Return the mean score from a distance."""
        left, strokes = np.full(balls, left_m), np.zeros(balls)
        rough, live, first = np.zeros(balls, dtype=bool), np.arange(balls), True
        while len(live):
            near = (left[live] <= SHORT_GAME_M) & (not first)
            short, far = live[near], live[~near]
            left[short] = self.pitched(left[short])
            left[far], off = self.struck(left[far], rough[far], tee and first)
            rough[far] = off > FAIRWAY_HALF_WIDTH_M
            strokes[live] += 1
            first, on = False, live[left[live] <= GREEN_RADIUS_M]
            strokes[on] += self.putts(left[on])
            live = live[left[live] > GREEN_RADIUS_M]
        return float(strokes.mean())


def main() -> None:
    """Print scores, and how far off each way to tell them is."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--balls", type=int, default=20_000)
    balls = parser.parse_args().balls
    options, clubs = player()
    game, tour = Game(clubs, np.random.default_rng(4)), StrokesToHoleOut.published()
    near = NearGreen(tour, HANDICAP)
    told: dict[str, Callable[..., np.ndarray]] = {
        "own strokes": own_strokes(options, tour, near).strokes,
        "own clubs, the tour's putts and short game": own_strokes(options, tour).strokes,
        "the tour's table": tour.strokes,
    }
    cases = [(yd, "fairway") for yd in FROM_FAIRWAY_YD] + [(yd, "tee") for yd in FROM_TEE_YD]
    played = np.array([game.score(yd * YARD_M, lie == "tee", balls) for yd, lie in cases])
    for name, strokes in told.items():
        off = np.array([float(strokes(yd * YARD_M, lie)) for yd, lie in cases]) - played
        print(f"{name}: {off.mean():+.2f} on average, {np.sqrt((off**2).mean()):.2f} a distance")
    for feet in (5, 10, 20, 30):
        putts = game.putts(np.full(balls, feet * FOOT_M)).mean()
        print(f"putts from {feet} ft: {putts:.2f}, told {float(near.putts(feet * FOOT_M)):.2f}")


if __name__ == "__main__":
    main()
