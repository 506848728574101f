"""Clean strikes and mishits told apart while the clean spread is learned.

A clean strike lies about its session's centre as a two-dimensional normal; a mishit falls short
(rarely: flies too far) by a loss of its own law (`mishit_loss`) and scatters sideways with heavy
tails. Both are fitted together by expectation and maximisation [dempster1977], with a player's
other clubs and the population as defaults.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from rangeledger.models.arrays import FloatArray
from rangeledger.models.clubs.mishit_loss import log_loss_density
from rangeledger.models.clubs.session_variance import (
    NO_WEIGHT,
    CellMoments,
    between_variance,
    cell_moments,
    degrees_of_freedom,
    long_run_mean,
    within_variance,
)
from rangeledger.models.clubs.shot_groups import ShotGroups, sum_by
from rangeledger.models.population import Population

# Height of the density of Student's t with 3 degrees of freedom: 2 / (pi sqrt(3)).
T3_HEIGHT = 2.0 / (np.pi * np.sqrt(3.0))
LARGEST_EXPONENT = 500.0
LARGEST_CORRELATION = 0.95
# No player's ln side spread changes more than this over 16 deg beyond the defaults.
LARGEST_TILT = 1.0
# A group with fewer clean strikes asks its relatives first, if they know within this fraction.
FEW_SHOTS = 2.5
CLOSE_RELATION = 0.15


@dataclass(frozen=True, slots=True)
class Defaults:
    """Starting spreads, as fractions of carry.

    Attributes
    ----------
    carry_spread, side_spread : array, shape (groups,)
        Default spread of clean strikes within a session [1].
    carry_drift, side_drift : array, shape (players,)
        Default spread of session centres [1].
    loft : array, shape (groups,)
        Loft from 36 deg in 16 deg [1]; NaN where it is unknown.
    mishit_rate : array, shape (players,)
        Default rate of mishits [1].
    """

    carry_spread: FloatArray
    side_spread: FloatArray
    carry_drift: FloatArray
    side_drift: FloatArray
    loft: FloatArray
    mishit_rate: FloatArray


@dataclass(slots=True)
class Direction:
    """What is believed of one direction, carry or side, as a fraction of the base carry.

    Attributes
    ----------
    mean, mean_variance : array, shape (groups,)
        Long-run centre of clean strikes from the group's own shots, and its variance.
    variance, freedom : array, shape (groups,)
        Variance of clean strikes within a session, and the shots' degrees of freedom.
    drift_variance : array, shape (players,)
        Variance of session centres about the long-run centre.
    centre, share : array, shape (cells,)
        Centre of each session, shrunk to the long-run one; weight of the session in the mean.
    """

    mean: FloatArray
    mean_variance: FloatArray
    variance: FloatArray
    freedom: FloatArray
    drift_variance: FloatArray
    centre: FloatArray
    share: FloatArray


@dataclass(slots=True)
class MixtureState:
    """What is believed after a round.

    Attributes
    ----------
    carry, side : Direction
        Centres and spreads.
    covariance : array, shape (groups,)
        Covariance of carry and side of clean strikes within a session.
    mishit_rate : array, shape (groups,)
        Chance of a mishit.
    shortfall : array, shape (players,)
        Mean loss of carry of a mishit, as a fraction of the base carry.
    side_tilt : array, shape (players,)
        Slope of ln side spread over loft beyond the defaults', a 16 deg.
    clean : array, shape (shots,)
        Probability that a shot was a clean strike.
    """

    carry: Direction
    side: Direction
    covariance: FloatArray
    mishit_rate: FloatArray
    shortfall: FloatArray
    side_tilt: FloatArray
    clean: FloatArray


class StrikeMixture:
    """Expectation and maximisation over the shots of one or many players.

    Parameters
    ----------
    groups : ShotGroups
        Sorted shots.
    defaults : Defaults
        Starting spreads.
    population : Population
        Rates and weights.

    Notes
    -----
    Works on u = (carry / base - 1, side / base). `base` is the median carry of each group until
    `rebase` replaces it; `state` holds what is believed.
    """

    def __init__(self, groups: ShotGroups, defaults: Defaults, population: Population) -> None:
        self.groups = groups
        self.defaults = defaults
        self.population = population
        self.group_shots = groups.keys["shots"].to_numpy().astype(np.float64)
        self.has_side = np.isfinite(groups.side)
        self.loft_known = np.isfinite(defaults.loft)
        self.loft = np.where(self.loft_known, defaults.loft, 0.0)
        self.base = groups.middle_carry()
        # What the player's other clubs say of each group's centre: mean and variance.
        self.relatives: tuple[FloatArray, FloatArray] | None = None
        self.carry, self.side = self._fractions()
        self.state = self._start()
        self.state.clean = self._clean_probability()

    def run(self, rounds: int) -> None:
        """Improve the state.

        Parameters
        ----------
        rounds : int
            Rounds of expectation and maximisation, at least 1.
        """
        for _ in range(rounds):
            self._maximise()
            self.state.clean = self._clean_probability()

    def rebase(self, base: FloatArray, log_others: FloatArray, others_variance: FloatArray) -> None:
        """Take better centres as base, and hear what the player's other clubs say of each.

        Parameters
        ----------
        base : array, shape (groups,)
            Best estimate of each group's centre [m].
        log_others : array, shape (groups,)
            ln of the centre as predicted from the player's other groups [ln m].
        others_variance : array, shape (groups,)
            Variance of that prediction [1].

        Notes
        -----
        A group of one or two shots starts again from its relatives' word, so that a lone mishit
        is not taken for the club's centre; a clean strike soon pulls it back.
        """
        carry, group = self.state.carry, self.groups.group_of_cell
        ratio = self.base / base
        others = np.exp(log_others) / base - 1.0
        variance = others_variance * (1.0 + others) ** 2
        unsure = (self._per_group(self.state.clean) < FEW_SHOTS) & (
            others_variance < CLOSE_RELATION**2
        )
        kept = (1.0 + carry.centre) * ratio[group] - 1.0
        carry.centre = np.where(unsure[group], others[group], kept)
        self.state.side.centre = self.state.side.centre * ratio[group]
        self.base, self.relatives = base, (others, variance)
        self.carry, self.side = self._fractions()
        self.state.clean = self._clean_probability()

    def _fractions(self) -> tuple[FloatArray, FloatArray]:
        """Carry beyond the base carry, and side, of each shot as fractions of the base carry."""
        base = self.base[self.groups.group_of_shot]
        side = np.where(self.has_side, self.groups.side / base, 0.0)
        return self.groups.carry / base - 1.0, side

    def _start(self) -> MixtureState:
        """Return the defaults as a state."""
        groups, cells = self.groups.keys.height, len(self.groups.group_of_cell)

        def direction(spread: FloatArray, drift: FloatArray) -> Direction:
            nothing = [np.zeros(groups) for _ in range(3)]
            variances = nothing[0], nothing[1], spread**2, nothing[2], drift**2
            return Direction(*variances, np.zeros(cells), np.zeros(cells))

        return MixtureState(
            carry=direction(self.defaults.carry_spread, self.defaults.carry_drift),
            side=direction(self.defaults.side_spread, self.defaults.side_drift),
            covariance=np.zeros(groups),
            mishit_rate=self.defaults.mishit_rate[self.groups.player_of_group],
            shortfall=np.full(self.groups.players, self.population.mishit_shortfall),
            side_tilt=np.zeros(self.groups.players),
            clean=np.ones(len(self.groups.carry)),
        )

    def _clean_probability(self) -> FloatArray:
        """Return the probability that each shot was a clean strike."""
        state, cell, group = self.state, self.groups.cell_of_shot, self.groups.group_of_cell
        slope = state.covariance / state.carry.variance
        rest_variance = state.side.variance - slope * state.covariance
        side_scale = self.population.mishit_side_scale * np.sqrt(state.side.variance)
        shortfall = state.shortfall[self.groups.player_of_group]

        def at_shots(values: FloatArray) -> FloatArray:
            return values[group][cell]

        carry = self.carry - state.carry.centre[cell]
        side = np.where(self.has_side, self.side - state.side.centre[cell], 0.0)
        rest = np.where(self.has_side, side - at_shots(slope) * carry, 0.0)
        exponent = carry**2 * at_shots(0.5 / state.carry.variance)
        exponent += log_loss_density(np.abs(carry), at_shots(shortfall))
        exponent += rest**2 * at_shots(0.5 / rest_variance)
        odds = np.exp(np.minimum(exponent, LARGEST_EXPONENT))
        odds *= at_shots(self._mishit_odds()) * self._direction_share(carry)
        side_odds = T3_HEIGHT / side_scale * np.sqrt(2.0 * np.pi * rest_variance)
        odds *= np.where(self.has_side, at_shots(side_odds), 1.0)
        odds /= (1.0 + side**2 * at_shots(1.0 / (3.0 * side_scale**2))) ** 2
        return 1.0 / (1.0 + odds)

    def _mishit_odds(self) -> FloatArray:
        """Return the odds of a mishit over the height of the density of clean carries."""
        rate, variance = self.state.mishit_rate, self.state.carry.variance
        return rate / (1.0 - rate) * np.sqrt(2.0 * np.pi * variance)

    def _direction_share(self, carry: FloatArray) -> FloatArray:
        """Return the share of mishits that miss to the same end, short or long."""
        long = self.population.mishit_long_share
        return np.where(carry < 0.0, 1.0 - long, long)

    def _maximise(self) -> None:
        """Update everything from the probabilities of clean strikes."""
        state, cell = self.state, self.groups.cell_of_shot
        self._update_mishits()
        side_weight = np.where(self.has_side, state.clean, 0.0)
        carry = cell_moments(self.carry, state.clean, cell, state.carry.centre)
        side = cell_moments(self.side, side_weight, cell, state.side.centre)
        product = (self.carry - carry.mean[cell]) * (self.side - side.mean[cell]) * side_weight
        cross = sum_by(cell, product, len(carry.mean))
        self._update_spread(state.carry, carry, self.defaults.carry_spread)
        self._update_tilt(side)
        side_scale = self.side_scale()
        self._update_spread(state.side, side, side_scale)
        self._update_covariance(cross, side_scale)
        self._update_centres(state.carry, carry, self.defaults.carry_spread, self.relatives)
        self._update_centres(state.side, side, side_scale, None)

    def _update_mishits(self) -> None:
        """Update rate and shortfall of mishits."""
        state, population, groups = self.state, self.population, self.groups
        player, of_shot = groups.player_of_group, groups.cell_of_shot
        missed = 1.0 - state.clean
        shortfall = missed * np.abs(self.carry - state.carry.centre[of_shot])
        group_missed, group_shortfall = self._per_group(missed), self._per_group(shortfall)
        mishits = sum_by(player, group_missed, groups.players)
        shots = sum_by(player, self.group_shots, groups.players)
        weight, rate = population.mishit_weight, self.defaults.mishit_rate
        rate_of_player = (weight * rate + mishits) / (weight + shots)
        weight = population.club_mishit_weight
        expected = weight * rate_of_player[player] + group_missed
        state.mishit_rate = expected / (weight + self.group_shots)
        weight, total = population.shortfall_weight, sum_by(player, group_shortfall, groups.players)
        state.shortfall = (weight * population.mishit_shortfall + total) / (weight + mishits)

    def _per_group(self, values: FloatArray) -> FloatArray:
        """Return the sums of a quantity of the shots over each group."""
        by_cell = sum_by(self.groups.cell_of_shot, values, len(self.groups.group_of_cell))
        return self._cells_per_group(by_cell)

    def _cells_per_group(self, values: FloatArray) -> FloatArray:
        """Return the sums of a quantity of the cells over each group."""
        return sum_by(self.groups.group_of_cell, values, self.groups.keys.height)

    def _update_spread(self, direction: Direction, cells: CellMoments, scale: FloatArray) -> None:
        """Update the spread within sessions: the club's own, its player's and the default."""
        direction.freedom = self._cells_per_group(degrees_of_freedom(cells.weight))
        scatter = self._cells_per_group(cells.scatter) / scale**2
        direction.variance = self._pooled(scatter, direction.freedom, 1.0) * scale**2

    def side_scale(self) -> FloatArray:
        """Return the default side spread of each group, tilted over loft as its player's is.

        Returns
        -------
        array, shape (groups,)
            Spread as a fraction of carry [1].
        """
        tilt = self.state.side_tilt[self.groups.player_of_group]
        tilted: FloatArray = self.defaults.side_spread * np.exp(tilt * self.loft)
        return tilted

    def _update_tilt(self, cells: CellMoments) -> None:
        """Move each player's slope of ln side spread over loft one step to its best value.

        Fisher's scoring of scatter ~ scale^2 chi2(freedom) with a log link [mccullagh1989]: each
        club's spread is free about the line as far as `club_spread_weight` says.
        """
        player, players = self.groups.player_of_group, self.groups.players
        population, tilt = self.population, self.state.side_tilt
        freedom = self._cells_per_group(degrees_of_freedom(cells.weight))
        scatter = self._cells_per_group(cells.scatter) / self.side_scale() ** 2
        freedom, scatter = (np.where(self.loft_known, x, 0.0) for x in (freedom, scatter))
        all_scatter, all_freedom = (sum_by(player, x, players) for x in (scatter, freedom))
        level = within_variance(all_scatter, all_freedom, 1.0, population.spread_weight)
        counts = population.club_spread_weight / (population.club_spread_weight + freedom)
        known = 2.0 * counts * freedom
        total = np.maximum(sum_by(player, known, players), NO_WEIGHT)
        loft = self.loft - (sum_by(player, known * self.loft, players) / total)[player]
        pull = sum_by(player, counts * loft * (scatter / level[player] - freedom), players)
        firm = population.side_slope_freedom**-2
        step = (pull - firm * tilt) / (sum_by(player, known * loft**2, players) + firm)
        self.state.side_tilt = np.clip(tilt + step, -LARGEST_TILT, LARGEST_TILT)

    def _update_covariance(self, cross: FloatArray, side_scale: FloatArray) -> None:
        """Update the covariance of carry and side, kept away from a perfect correlation."""
        state = self.state
        scale = self.defaults.carry_spread * side_scale
        own = self._cells_per_group(cross) / scale
        covariance = self._pooled(own, state.side.freedom, 0.0) * scale
        limit = LARGEST_CORRELATION * np.sqrt(state.carry.variance * state.side.variance)
        state.covariance = np.clip(covariance, -limit, limit)

    def _pooled(self, scatter: FloatArray, freedom: FloatArray, default: float) -> FloatArray:
        """Return scatter per degree of freedom, shrunk to the player's and to the default."""
        population, player = self.population, self.groups.player_of_group
        all_scatter, all_freedom = (
            sum_by(player, values, self.groups.players) for values in (scatter, freedom)
        )
        pooled = within_variance(all_scatter, all_freedom, default, population.spread_weight)
        return within_variance(scatter, freedom, pooled[player], population.club_spread_weight)

    def _update_centres(
        self,
        direction: Direction,
        cells: CellMoments,
        scale: FloatArray,
        relatives: tuple[FloatArray, FloatArray] | None,
    ) -> None:
        """Update drift, long-run centre and the centres of sessions in one direction."""
        group, player = self.groups.group_of_cell, self.groups.player_of_group
        direction.drift_variance = self._drift(direction, cells, scale)
        drift = direction.drift_variance[player]
        direction.mean, direction.mean_variance, direction.share = long_run_mean(
            cells.mean, cells.weight, group, direction.variance, drift
        )
        centre = direction.mean
        if relatives is not None:
            own, other = 1.0 / direction.mean_variance, 1.0 / np.maximum(relatives[1], 1e-12)
            centre = (own * direction.mean + other * relatives[0]) / (own + other)
        known = drift[group] * cells.weight
        pull = known / (known + direction.variance[group])
        direction.centre = centre[group] + pull * (cells.mean - centre[group])

    def _drift(self, direction: Direction, cells: CellMoments, scale: FloatArray) -> FloatArray:
        """Return the variance of session centres of each player."""
        player, players = self.groups.player_of_group, self.groups.players
        count = sum_by(player, np.ones_like(scale), players)
        wider = sum_by(player, direction.variance / scale**2, players) / count
        side = direction is self.state.side
        default = (self.defaults.side_drift if side else self.defaults.carry_drift) ** 2
        return between_variance(
            cells.mean,
            cells.weight,
            self.groups.group_of_cell,
            direction.variance,
            player,
            default * wider,
            self.population.drift_weight,
        )
