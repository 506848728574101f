"""Putts and short game of a player of some handicap, told or read off the spread of the clubs.

No range session shows putts and pitches, so they are simulated: tour professionals have the
published strokes, and spreads grow from there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
import numpy.typing as npt
from rangeledger.models.arrays import FloatArray
from rangeledger.models.clubs.nominal_carry import (
    LOFT_CENTRE_DEG,
    LOFT_SCALE_DEG,
    nominal_loft_deg,
)
from rangeledger.models.population import POPULATION, Population
from rangeledger.models.strategy.aimed_option import Option
from rangeledger.models.strategy.mean_putts import (
    DISTANCE_SD_FRACTION,
    START_LINE_SD_DEG,
    chance_to_hole,
    mean_putts,
)
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut
from rangeledger.schemas.units import FOOT_M
from scipy.optimize import brentq

# A tour professional as a handicap; spreads grow with the handicap as those of full shots do.
PROFESSIONAL: Final = -5.0
MOST_HANDICAP: Final = 36.0
# From how far half of all putts fall [ft], by handicap: tour 8 ft, handicaps from 0 to 9 6 ft, a
# 90-shooter 5 ft (articles quoting [broadie2014]); beyond on the last line, 3 ft at least.
_HANDICAPS, _EVEN_FT = (PROFESSIONAL, 4.5, 18.0), (8.0, 6.0, 5.0)
_LEAST_EVEN_FT = 3.0
# Lengths of putts at which their mean is worked out [m].
_LENGTHS_M = np.linspace(0.0, 40.0, 401)


def handicap_like(options: Sequence[Option], population: Population = POPULATION) -> float:
    """Handicap that the spread of a player's full swings suggests.

    Parameters
    ----------
    options : sequence of Option
        The player's clubs and swings.
    population : Population
        Spreads by handicap.

    Returns
    -------
    float
        Handicap [strokes], from -5 to 36; that of the defaults where no club tells.

    Notes
    -----
    The median over full swings with clubs of known loft of ln spread over the default one, along
    and across, by the growth of spreads with the handicap.
    """
    ratios = [_log_spreads(option, population) for option in options]
    known = [ratio for ratio in ratios if math.isfinite(ratio)]
    more = float(np.median(known)) / population.handicap_spread if known else 0.0
    return min(max(population.reference_handicap + more, PROFESSIONAL), MOST_HANDICAP)


def _log_spreads(option: Option, population: Population) -> float:
    """Mean of ln spread over the default one along and across [1]; NaN where it tells nothing."""
    pattern = option.pattern
    if pattern.swing != "full":
        return math.nan
    loft = (nominal_loft_deg(pattern.club) - LOFT_CENTRE_DEG) / LOFT_SCALE_DEG
    along = math.hypot(population.carry_spread, population.carry_drift)
    side = population.side_spread * math.exp(population.side_spread_slope * loft)
    across = math.hypot(side, population.side_drift)
    own = pattern.carry_sd_m * pattern.side_sd_m / pattern.carry_m**2
    return 0.5 * math.log(own / (along * across))


@dataclass(frozen=True, slots=True)
class NearGreen:
    """Putts and short game at a handicap.

    Parameters
    ----------
    published : StrokesToHoleOut
        Strokes of professionals.
    handicap : float
        Handicap [strokes]; a professional's leaves the published strokes.
    """

    published: StrokesToHoleOut
    handicap: float = PROFESSIONAL

    @property
    def as_published(self) -> bool:
        """Whether the published strokes are left as they are."""
        return self.handicap <= PROFESSIONAL

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
        published_strokes = self.published.strokes(distance_m, "green")
        if self.as_published:
            return published_strokes
        lengths = np.asarray(distance_m, dtype=np.float64)
        return np.asarray(
            published_strokes + np.interp(lengths, _LENGTHS_M, _extra_putts(self.handicap))
        )

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
            longer as full shots of that handicap scatter more [strokes].
        """
        published_strokes = self.published.strokes(distance_m, "rough")
        if self.as_published:
            return published_strokes
        published = self.published.strokes(_LENGTHS_M, "green")
        left = np.interp(published_strokes - 1.0, published, _LENGTHS_M)
        longer = math.exp(POPULATION.handicap_spread * (self.handicap - PROFESSIONAL))
        return np.asarray(1.0 + self.putts(longer * left))


@lru_cache(maxsize=64)
def _extra_putts(handicap: float) -> FloatArray:
    """Mean putts beyond a professional's from each of the lengths [strokes]."""
    factor = putting_factor(handicap)
    wide = mean_putts(_LENGTHS_M, START_LINE_SD_DEG * factor, DISTANCE_SD_FRACTION * factor)
    return np.asarray(wide - mean_putts(_LENGTHS_M))


def putting_factor(handicap: float) -> float:
    """How much wider putts start and roll than a professional's.

    Parameters
    ----------
    handicap : float
        Handicap [strokes].

    Returns
    -------
    float
        The factor on both spreads [1] with which half the putts fall from as far as told.

    References
    ----------
    [broadie2014]
    """
    beyond = max(handicap - _HANDICAPS[-1], 0.0)
    slope = (_EVEN_FT[-1] - _EVEN_FT[-2]) / (_HANDICAPS[-1] - _HANDICAPS[-2])
    even_ft = float(np.interp(handicap, _HANDICAPS, _EVEN_FT)) + slope * beyond
    # The formula holds a little more than half at the professionals' own distance.
    halves = _factor_that_halves(max(even_ft, _LEAST_EVEN_FT))
    return halves / _factor_that_halves(_EVEN_FT[0])


def _factor_that_halves(feet: float) -> float:
    """Factor on the professionals' spreads with which half the putts of a length fall [1]."""

    def beyond_half(factor: float) -> float:
        spreads = START_LINE_SD_DEG * factor, DISTANCE_SD_FRACTION * factor
        return float(chance_to_hole(feet * FOOT_M, *spreads)) - 0.5

    return float(brentq(beyond_half, 0.2, 10.0))
