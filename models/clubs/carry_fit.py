"""One fit of a part of the shots: mixture, related clubs, and both again until they agree."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl
from rangeledger.models.arrays import FloatArray
from rangeledger.models.clubs.current_level import (
    CurrentLevels,
    PlayerLevel,
    current_levels,
    current_sides,
)
from rangeledger.models.clubs.nominal_carry import NominalCarry, nominal_carry
from rangeledger.models.clubs.related_clubs import CarryRelations, Shrunk
from rangeledger.models.clubs.session_noise import noise_blocks
from rangeledger.models.clubs.session_variance import spread_freedom
from rangeledger.models.clubs.shot_groups import (
    CARRY,
    GROUP_KEYS,
    ShotGroups,
    group_shots,
    sum_by,
)
from rangeledger.models.clubs.strike_mixture import Defaults, StrikeMixture
from rangeledger.models.population import POPULATION, Population

FIRST_ROUNDS = 8
LATER_ROUNDS = 2
REFINEMENTS = 2


@dataclass(frozen=True, slots=True)
class CarryFit:
    """What was learned from a part of the shots.

    Attributes
    ----------
    parameters : polars.DataFrame
        Parameter frame, see `rangeledger.models.clubs.shot_distribution`.
    row : array of int, shape (shots,)
        Row of the input frame of each shot.
    mishit_probability : array, shape (shots,)
        Probability that the shot was a mishit [1].
    groups : ShotGroups
        The shots.
    levels : list of PlayerLevel
        The level of carry that each player's groups share, through the sessions.
    """

    parameters: pl.DataFrame
    row: npt.NDArray[np.int64]
    mishit_probability: FloatArray
    groups: ShotGroups
    levels: list[PlayerLevel]


def fit_part(
    groups: ShotGroups, population: Population, handicaps: Mapping[str, float] | None = None
) -> CarryFit:
    """Return what a part of the shots says of its players' clubs.

    Parameters
    ----------
    groups : ShotGroups
        Sorted shots of whole players, at least one shot.
    population : Population
        Defaults.
    handicaps : mapping of str to float, optional
        Handicap by player [strokes], where it is known.

    Returns
    -------
    CarryFit
        Parameters of each group and strike of each shot.
    """
    nominal = nominal_carry(groups.keys)
    defaults = default_spreads(groups, nominal, population, handicaps)
    mixture = StrikeMixture(groups, defaults, population)
    relations = CarryRelations(groups.keys, nominal, population)
    mixture.run(FIRST_ROUNDS)
    carry = log_centres(mixture, relations)
    for _ in range(REFINEMENTS):
        mixture.rebase(np.exp(carry.mean), carry.without_own, carry.without_own_variance)
        mixture.run(LATER_ROUNDS)
        carry = log_centres(mixture, relations)
    now, side = current_levels(mixture, relations), current_sides(mixture)
    return CarryFit(
        _parameters(mixture, carry, now, side),
        groups.row,
        1.0 - mixture.state.clean,
        groups,
        now.players,
    )


def default_spreads(
    groups: ShotGroups,
    nominal: NominalCarry,
    population: Population,
    handicaps: Mapping[str, float] | None = None,
) -> Defaults:
    """Return the spreads assumed before the shots are looked at.

    Parameters
    ----------
    groups : ShotGroups
        Sorted shots.
    nominal : NominalCarry
        Nominal values of the groups.
    population : Population
        Defaults.
    handicaps : mapping of str to float, optional
        Handicap by player [strokes], where it is known.

    Returns
    -------
    Defaults
        Spreads of each group and drift of each player.

    Notes
    -----
    The population's spreads times its factors for the player's handicap, where that is not known
    for the one that is usual of the player's length, for shortened swings (carry) and for the loft
    of the club (side). The player's own slope of side spread over loft
    is learned later, about the population's.
    """
    player = groups.player_of_group
    expected = nominal.log_carry + nominal.log_ball
    log_share = np.log(groups.middle_carry()) - expected
    log_length = player_log_length(groups, nominal)
    fraction = np.where(nominal.full, 1.0, np.exp(log_share - log_length[player]))
    handicap = _handicaps(groups, handicaps or {})
    known = np.isfinite(handicap)
    usual = population.usual_handicap(np.exp(log_length))
    factor, mishits = population.handicap_factors(np.where(known, handicap, usual))
    partial = population.partial_swing_factor(fraction)
    by_loft = np.exp(population.side_spread_slope * nominal.loft)
    return Defaults(
        carry_spread=population.carry_spread * factor[player] * partial,
        side_spread=population.side_spread * factor[player] * by_loft,
        carry_drift=population.carry_drift * factor,
        side_drift=population.side_drift * factor,
        loft=np.where(nominal.loft_known, nominal.loft, np.nan),
        mishit_rate=population.mishit_rate * mishits,
    )


def _handicaps(groups: ShotGroups, handicaps: Mapping[str, float]) -> FloatArray:
    """Return the handicap of each player, NaN where it is unknown."""
    first = np.searchsorted(groups.player_of_group, np.arange(groups.players))
    names = groups.keys["player"].cast(pl.String)[first]
    return np.array([handicaps.get(name, np.nan) for name in names], dtype=np.float64)


def player_log_length(groups: ShotGroups, nominal: NominalCarry) -> FloatArray:
    """Return the ln of each player's carry relative to the reference player.

    Parameters
    ----------
    groups : ShotGroups
        Sorted shots.
    nominal : NominalCarry
        Nominal values of the groups.

    Returns
    -------
    array, shape (players,)
        ln length ratio [1]: the median over full swings with clubs of known loft, else over all
        swings with such clubs, else 0.
    """
    expected = nominal.log_carry + nominal.log_swing + nominal.log_ball
    table = pl.DataFrame(
        {
            "player": groups.player_of_group,
            "log_ratio": np.log(groups.middle_carry()) - expected,
            "known": nominal.loft_known,
            "full": nominal.loft_known & nominal.full,
        }
    )
    log_ratio = pl.col("log_ratio")
    medians = table.group_by("player").agg(
        pl.coalesce(log_ratio.filter("full").median(), log_ratio.filter("known").median())
    )
    return medians.sort("player")["log_ratio"].fill_null(0.0).to_numpy()


def log_centres(mixture: StrikeMixture, relations: CarryRelations) -> Shrunk:
    """Return the ln of every group's centre, shrunk to the player's other groups.

    Parameters
    ----------
    mixture : StrikeMixture
        Centres from each group's own shots.
    relations : CarryRelations
        How the groups are related.

    Returns
    -------
    Shrunk
        Arrays of shape (groups,), in ln m.
    """
    carry = mixture.state.carry
    own = np.log(mixture.base * np.maximum(1.0 + carry.mean, 0.05))
    slope = 1.0 / np.maximum(1.0 + carry.mean, 0.05)
    shared = mixture.population.shared_drift
    whole = Shrunk(*(np.zeros(len(own)) for _ in range(5)))
    for members, noise in noise_blocks(mixture.groups, carry, slope, shared):
        block = relations.shrunk(own[members], noise, members)
        whole.mean[members], whole.variance[members] = block.mean, block.variance
        whole.without_own[members] = block.without_own
        whole.without_own_variance[members] = block.without_own_variance
        whole.log_likelihood[members] = block.log_likelihood[:, None]
    return whole


def _parameters(
    mixture: StrikeMixture,
    carry: Shrunk,
    now: CurrentLevels,
    side: CurrentLevels,
) -> pl.DataFrame:
    """Return the parameter frame in metres."""
    groups, state, population = mixture.groups, mixture.state, mixture.population
    player, centre = groups.player_of_group, np.exp(now.mean)
    sides = np.bincount(groups.group_of_shot, weights=mixture.has_side, minlength=len(centre))
    stretch = population.error_stretch * centre
    within_carry, within_side = np.sqrt(state.carry.variance), np.sqrt(state.side.variance)
    columns = {
        "carry_m": centre,
        "side_m": centre * side.mean,
        # Averaged over what the days' variance may be: half the stretch is left for the rest.
        "carry_se_m": 0.5 * (centre + stretch) * np.sqrt(now.variance),
        "side_se_m": 0.5 * (centre + stretch) * np.sqrt(side.variance),
        "within_carry_sd_m": centre * within_carry,
        "within_side_sd_m": centre * within_side,
        "within_correlation": state.covariance / (within_carry * within_side),
        "between_carry_sd_m": centre * np.sqrt(now.between_variance)[player],
        "between_side_sd_m": centre * np.sqrt(side.between_variance)[player],
        "degrees_of_freedom": _spread_freedom(mixture),
        "mishit_rate": state.mishit_rate,
        "mishit_shortfall_m": centre * state.shortfall[player],
        "mishit_long_share": np.full(len(centre), population.mishit_long_share),
        "mishit_side_scale_m": centre * within_side * population.mishit_side_scale,
        "carry_mean_m": np.exp(carry.mean),
    }
    return groups.keys.drop("middle_carry_m").with_columns(
        *(pl.Series(name, values) for name, values in columns.items()),
        side_known=pl.Series(sides > 0.0),
        model_version=pl.lit(population.model_version),
    )


def _spread_freedom(mixture: StrikeMixture) -> FloatArray:
    """Return the degrees of freedom of each group's spread along, with all that it leans on [1]."""
    groups, population = mixture.groups, mixture.population
    player, own = groups.player_of_group, mixture.state.carry.freedom
    pooled = sum_by(player, own, groups.players)[player]
    return spread_freedom(own, pooled, population.club_spread_weight, population.spread_weight)


def empty_parameters(shots: pl.DataFrame) -> pl.DataFrame:
    """Return a parameter frame without rows.

    Parameters
    ----------
    shots : polars.DataFrame
        Shots whose key columns give their types.

    Returns
    -------
    polars.DataFrame
        Columns of a parameter frame.
    """
    row = dict.fromkeys((*GROUP_KEYS, "session_id"), "") | {"shot_number": 1, CARRY: 100.0}
    empty = fit_part(group_shots(pl.DataFrame([row])), POPULATION).parameters.clear()
    return empty.cast({name: shots.schema[name] for name in GROUP_KEYS})
