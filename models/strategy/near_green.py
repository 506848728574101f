"""Putts and short game of a player who is as far from a professional as the player's shots are.

No range session shows putts and pitches, so they are simulated: the published strokes of tour
professionals hold for one whose full shots scatter as theirs do, and spreads grow from there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from rangeledger.models.arrays import FloatArray
from rangeledger.models.strategy.aimed_option import Option
from rangeledger.models.strategy.mean_putts import (
    DISTANCE_SD_FRACTION,
    START_LINE_SD_DEG,
    chance_to_hole,
    mean_putts,
)
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut
from rangeledger.schemas.units import FOOT_M, YARD_M
from scipy.optimize import brentq

# Median distance from the target after a professional's shot over the distance, 100 to 200 yd
# [james2008]; shots so far are judged.
PROFESSIONAL_MISS = 0.05
_JUDGED_YD = (100.0, 200.0)
# How far off, against a professional, from which putts fall as often as not [ft]: tour 8 ft, a
# 90-shooter, who misses the target by 2.5 times as much from 150 yd, 5 ft (articles quoting
# [broadie2014]); between and beyond on a straight line, never below 3 ft.
_WILDNESS, _EVEN_FT = (1.0, 2.5), (8.0, 5.0)
_LEAST_EVEN_FT, _MOST_WILDNESS = 3.0, 6.0
_POINTS = 400


def wildness(options: Sequence[Option]) -> float:
    """How widely a player's shots scatter against a professional's.

    Parameters
    ----------
    options : sequence of Option
        The player's clubs and swings.

    Returns
    -------
    float
        Median over the clubs that carry 100 to 200 yd, or over all where none does, of the median
        miss from the pattern's own centre over the carry, against a professional's [1], from 1 to
        6.

    References
    ----------
    [james2008]
    """
    low, high = (yards * YARD_M for yards in _JUDGED_YD)
    judged = [option for option in options if low <= option.pattern.carry_m <= high]
    misses = [_median_miss(option) for option in judged or options]
    return float(np.clip(np.median(misses) / PROFESSIONAL_MISS, 1.0, _MOST_WILDNESS))


def _median_miss(option: Option) -> float:
    """Median distance of next shots from the centre of clean ones over the carry [1]."""
    points, weights = option.pattern.without_doubt().points(_POINTS)
    away = np.hypot(*(points - np.array(option.stock)).T)
    order = np.argsort(away)
    return float(away[order][np.searchsorted(weights[order].cumsum(), 0.5)] / option.stock[0])


@dataclass(frozen=True, slots=True)
class NearGreen:
    """Putts and short game at a wildness.

    Parameters
    ----------
    published : StrokesToHoleOut
        Strokes of professionals.
    wildness : float
        Scatter against a professional's [1]; 1 leaves the published strokes.
    """

    published: StrokesToHoleOut
    wildness: float = 1.0

    def putts(self, distance_m: npt.ArrayLike) -> FloatArray:
        """Mean putts.

        Parameters
        ----------
        distance_m : array_like
            Distance to the hole [m].

        Returns
        -------
        ndarray
            The published mean plus what the wider spreads cost by the formula of the chance to
            hole [strokes].

        References
        ----------
        [gelman2002], [gelman2019], [broadie2014]
        """
        told = self.published.strokes(distance_m, "green")
        if self.wildness == 1.0:
            return told
        factor = putting_factor(self.wildness)
        wide = START_LINE_SD_DEG * factor, DISTANCE_SD_FRACTION * factor
        return np.asarray(told + mean_putts(distance_m, *wide) - mean_putts(distance_m))

    def short_game(self, distance_m: npt.ArrayLike) -> FloatArray:
        """Mean strokes of a pitch or chip from rough and what follows.

        Parameters
        ----------
        distance_m : array_like
            Distance to the hole [m].

        Returns
        -------
        ndarray
            The published strokes leave a putt of some length; the player's leave one as many times
            longer as the player is wilder [strokes].
        """
        told = self.published.strokes(distance_m, "rough")
        if self.wildness == 1.0:
            return told
        lengths = np.linspace(0.0, 40.0, 400)
        left = np.interp(told - 1.0, self.published.strokes(lengths, "green"), lengths)
        return np.asarray(1.0 + self.putts(self.wildness * left))


def putting_factor(wildness: float) -> float:
    """How much wider putts start and roll than a professional's [1].

    Parameters
    ----------
    wildness : float
        Scatter of full shots against a professional's [1].

    Returns
    -------
    float
        The factor on both spreads that halves the chance at the distance told of such players [1].

    References
    ----------
    [broadie2014]
    """
    slope = (_EVEN_FT[1] - _EVEN_FT[0]) / (_WILDNESS[1] - _WILDNESS[0])
    even_ft = max(_EVEN_FT[0] + slope * (wildness - 1.0), _LEAST_EVEN_FT)
    # The formula holds a little more than half at the professionals' own distance.
    return _factor_that_halves(even_ft) / _factor_that_halves(_EVEN_FT[0])


def _factor_that_halves(feet: float) -> float:
    """Factor on the professionals' spreads with which half the putts of a length fall [1]."""

    def beyond_half(factor: float) -> float:
        spreads = START_LINE_SD_DEG * factor, DISTANCE_SD_FRACTION * factor
        return float(chance_to_hole(feet * FOOT_M, *spreads)) - 0.5

    return float(brentq(beyond_half, 0.2, 10.0))
