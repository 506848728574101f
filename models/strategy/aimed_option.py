"""A club and swing at its best aim, and by how much one such choice beats another."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from rangeledger.models.arrays import FloatArray
from rangeledger.models.clubs.shot_pattern import ShotPattern
from rangeledger.models.flight.day_flight import DayFlight, Launch
from rangeledger.models.strategy.expected_score import AimTable
from rangeledger.models.strategy.hole_geometry import Ground

# Aims that cost no more than this above the best are called as good [strokes].
AS_GOOD_STROKES = 0.02


@dataclass(frozen=True, slots=True)
class Option:
    """A club and swing to choose: the pattern in still air and the stock launch."""

    pattern: ShotPattern
    launch: Launch

    @property
    def stock(self) -> tuple[float, float]:
        """Still-air carry and side of the stock shot [m]."""
        return self.pattern.carry_m, self.pattern.side_m


@dataclass(frozen=True, slots=True)
class OptionAtBestAim:
    """A club and swing at its best aim.

    Parameters
    ----------
    option : Option
        Club and swing.
    aims : AimTable
        Score and chances at all aims searched.
    best : AimTable
        The row of the best aim.
    at_flag : AimTable
        The row of the aim from which the stock shot lands on the line to the flag.
    day : DayFlight
        Effect of the day at the best aim.
    landings : ndarray, shape (n, 2)
        Weighted landing points at the best aim [m].
    weights : ndarray, shape (n,)
        Their weights [1].
    draws : ndarray, shape (draws,)
        Score at the best aim for plausible models of the player [strokes].
    """

    option: Option
    aims: AimTable
    best: AimTable
    at_flag: AimTable
    day: DayFlight
    landings: FloatArray
    weights: FloatArray
    draws: FloatArray

    @property
    def score(self) -> float:
        """Expected strokes to hole out at the best aim [strokes]."""
        return float(self.best.score[0])

    @property
    def aim_rad(self) -> float:
        """Best angle of aim [rad], right of the target line positive."""
        return float(self.best.aims_rad[0])

    @property
    def carry_m(self) -> float:
        """Carry of the stock shot of the day along the line of aim [m]."""
        return float(self.day.stock_landing(self.option.stock)[0, 0])

    @property
    def run_m(self) -> float:
        """Run of the stock shot after it lands [m]."""
        return float(self.day.run_m[0])

    @property
    def land_rad(self) -> float:
        """Direction in which the stock shot of the day comes down [rad]."""
        carry, side = self.day.stock_landing(self.option.stock)[0]
        return self.aim_rad + float(np.arctan2(side, carry))

    @property
    def still_land_rad(self) -> float:
        """Direction in which the same stock shot comes down in still air [rad]."""
        carry, side = self.option.stock
        return self.aim_rad + float(np.arctan2(side, carry))

    @property
    def start_rad(self) -> float:
        """Direction in which the stock shot starts [rad]."""
        return self.aim_rad + float(np.radians(self.option.launch.launch_direction_deg))

    @property
    def flag_cost(self) -> float:
        """Strokes lost by landing the stock shot on the line to the flag [strokes], >= 0."""
        return max(float(self.at_flag.score[0]) - self.score, 0.0)

    @property
    def as_good_rad(self) -> tuple[float, float]:
        """First and last aim about the best that cost at most `AS_GOOD_STROKES` more [rad]."""
        good = self.aims.score <= self.score + AS_GOOD_STROKES
        nearest = int(np.argmin(np.abs(self.aims.aims_rad - self.aim_rad)))
        left = right = nearest
        while left > 0 and good[left - 1]:
            left -= 1
        while right < len(good) - 1 and good[right + 1]:
            right += 1
        aims = self.aims.aims_rad
        return min(float(aims[left]), self.aim_rad), max(float(aims[right]), self.aim_rad)

    def chance(self, ground: Ground) -> float:
        """Chance to finish on a kind of ground at the best aim [1]."""
        return float(self.best.chance[0, ground])

    def chance_to_carry(self, carry_m: float) -> float:
        """Chance that the ball carries at least this far along the line of aim [1]."""
        return float(self.weights[self.landings[:, 0] >= carry_m].sum())


@dataclass(frozen=True, slots=True)
class Advantage:
    """By how much one option beats another, with the uncertainty of the player's model.

    Parameters
    ----------
    strokes : float
        Mean advantage [strokes], positive where the first is better.
    low, high : float
        Central 90 % interval [strokes].
    """

    strokes: float
    low: float
    high: float

    @property
    def too_close_to_call(self) -> bool:
        """Whether the interval holds both signs."""
        return self.low <= 0.0 <= self.high


def advantage(first: OptionAtBestAim, second: OptionAtBestAim) -> Advantage:
    """Advantage of one option over another, carried through plausible models of the player.

    Parameters
    ----------
    first, second : OptionAtBestAim
        Two options of the same stroke.

    Returns
    -------
    Advantage
        Mean and central 90 % interval [strokes].

    Notes
    -----
    The models of two clubs are drawn independently; what they share (one ball, one day) would
    make the interval narrower, so the verdict errs towards "too close to call".
    """
    difference = second.draws - first.draws
    low, high = np.quantile(difference, (0.05, 0.95))
    return Advantage(second.score - first.score, float(low), float(high))
