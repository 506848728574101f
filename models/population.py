"""What is assumed of a player before any shot is seen: frozen, versioned, the same every time.

Every spread is a fraction of carry. A fit of one player depends on that player's shots and on
these constants alone, so a refit after one new session equals a rebuild of everything. Whoever
changes one gives the population a new version: it is part of every result's model version.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from rangeledger.models.arrays import FloatArray

MODEL_VERSION = "1.7"


@dataclass(frozen=True, slots=True)
class Population:
    """Default spreads, rates and the weights they carry against a player's own shots.

    A weight is the number of shots (degrees of freedom, sessions, mishits) that the default is
    worth. Values without a source are "common practice, no source"; the level of the spreads is
    set between elite players (carry of a 7-iron varies by 5 % with mishits, a pitch by 9 %
    [halmstad2014]) and the usual range player.
    """

    version: str = "3"
    # Spread of clean strikes within a session, full swing, player of reference length [1].
    carry_spread: float = 0.035
    side_spread: float = 0.0525
    # Change of ln side spread for 16 deg more loft: side_spread holds at 36 deg, a driver's is
    # 1.4 times and a sand wedge's 0.8 times that (2 to 3 % of distance for a pitch and a 7-iron
    # [halmstad2014]; the size of the slope is common practice, no source).
    side_spread_slope: float = -0.2
    # How far a player's own slope may lie from that one (standard deviation; common practice, no
    # source).
    side_slope_freedom: float = 0.25
    # Spread of a session's centre about the player's long-run centre [1].
    carry_drift: float = 0.0143
    side_drift: float = 0.009
    # Share of the drift's variance that all clubs of one session have in common [1].
    shared_drift: float = 0.8
    # Mishits: their rate, their mean loss of carry, the share that flies too far instead [1].
    mishit_rate: float = 0.08
    mishit_shortfall: float = 0.20
    mishit_long_share: float = 0.05
    # Side spread of mishits: scale of a t with 3 degrees of freedom, in clean side spreads [1].
    mishit_side_scale: float = 2.0**0.5
    # The defaults are those of a player of this handicap; spreads and mishits grow by these powers
    # of e for each stroke more. The side spread of drives of a tour player and of a golfer who
    # scores 90 (handicap near 18) stand as 3.4 to 6.5 deg (Broadie 2014, from memory), which is e
    # to 0.65 over some 22 strokes; mishits: common practice, no source.
    reference_handicap: float = 10.0
    handicap_spread: float = 0.03
    handicap_mishits: float = 0.045
    # A player whose handicap nobody said is taken for the usual one of that length, so many strokes
    # lower for 1 more in ln length: players of more speed repeat better [smoliga2006]. The size is
    # common practice, no source, set so that bands of short, weak players hold after five shots of
    # one club already.
    length_strokes: float = 67.0
    usual_handicaps: tuple[float, float] = (-5.0, 36.0)
    # Carry spread grows by this much as a swing is shortened from full to nothing
    # (4.5 % full, 9 % at 45 % of full carry [halmstad2014], [ossj2021]).
    partial_swing_growth: float = 1.82
    # Weights of the defaults: light enough that five shots of a new player who is twice as
    # variable count. Of players of one handicap ln spread has a standard deviation of about
    # 1 / sqrt(2 weight), that of their clubs about the player's likewise.
    spread_weight: float = 7.0
    club_spread_weight: float = 14.0
    drift_weight: float = 6.0
    mishit_weight: float = 20.0
    club_mishit_weight: float = 25.0
    shortfall_weight: float = 20.0
    # The player's line of log carry over loft: freedom of its level, slope and curvature [1],
    # and how far a club may lie off the line (median and log spread of that deviation).
    level_freedom: float = 0.2
    slope_freedom: float = 0.06
    curvature_freedom: float = 0.03
    club_deviation: float = 0.025
    club_deviation_log_sd: float = 0.6
    # The centre left or right of the target, as a fraction of carry: player, then club.
    side_level_freedom: float = 0.04
    side_club_deviation: float = 0.010
    # Standard errors are stretched because the variances behind them are estimates too.
    error_stretch: float = 1.10

    def usual_handicap(self, length_ratio: FloatArray) -> FloatArray:
        """Return the handicap that is usual of players of a given length.

        Parameters
        ----------
        length_ratio : array
            Carry of the player relative to the reference player [1], any shape, > 0.

        Returns
        -------
        array
            Handicap [strokes], within `usual_handicaps`.

        Notes
        -----
        reference_handicap - length_strokes ln(length_ratio). Carry is nearly proportional to ball
        speed, so players of like speed share one default.

        References
        ----------
        [smoliga2006]
        """
        handicap = self.reference_handicap - self.length_strokes * np.log(length_ratio)
        return np.clip(handicap, *self.usual_handicaps)

    def handicap_factors(self, handicap: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return how spreads and mishits of players of a handicap compare with the defaults.

        Parameters
        ----------
        handicap : array
            Handicap [strokes], any shape.

        Returns
        -------
        spread, mishits : array
            Factors on the default spreads and on the default rate of mishits [1].

        Notes
        -----
        exp(handicap_spread (h - reference_handicap)), and likewise for mishits.
        """
        more = handicap - self.reference_handicap
        return np.exp(self.handicap_spread * more), np.exp(self.handicap_mishits * more)

    def partial_swing_factor(self, swing_fraction: FloatArray) -> FloatArray:
        """Return how the default carry spread of a shortened swing compares with the full one.

        Parameters
        ----------
        swing_fraction : array
            Carry of the swing relative to the full swing with the same club [1], any shape.

        Returns
        -------
        array
            Factor on the carry spread [1]: 1 for a full swing, at most 2.3.

        Notes
        -----
        factor = 1 + partial_swing_growth (1 - clip(swing_fraction, 0.3, 1)).

        References
        ----------
        [halmstad2014], [ossj2021]
        """
        return 1.0 + self.partial_swing_growth * (1.0 - np.clip(swing_fraction, 0.3, 1.0))

    @property
    def model_version(self) -> str:
        """Version of the statistics and of the population they start from."""
        return f"{MODEL_VERSION}-population-{self.version}"


POPULATION = Population()
