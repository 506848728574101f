"""A new population learned from many players, on explicit demand only.

Every player's fit starts from the population, so taking a new one changes everybody's numbers a
little: give it a new version and fit everything again.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
import numpy.typing as npt
import polars as pl

from models.carry_fit import default_spreads, fit_part, player_log_length
from models.nominal_carry import nominal_carry
from models.population import POPULATION, Population
from models.prior_regression import regress
from models.shot_groups import ShotGroups, group_shots
from schemas.errors import NotEnoughShotsError

FloatArray = npt.NDArray[np.float64]

LEAST_PLAYERS: Final = 10
ROUNDS: Final = 12
PART_SHOTS: Final = 100_000
# What is believed of the slope of spread over length before players are seen: mean from the
# population, this error; and the spread of players about it.
SLOPE_ERROR: Final = 0.5
PLAYER_LOG_SD: Final = 0.2
# Players whose clubs lie this close in loft leave the slope of side spread as it was.
LEAST_LOFT_SQUARE: Final = 0.01


def estimate_population(
    shots: pl.DataFrame, *, version: str, start: Population = POPULATION
) -> Population:
    """Return the population that these players come from.

    Parameters
    ----------
    shots : polars.DataFrame
        Shots of many players, as for `CarryModel.fit`.
    version : str
        Name of the new population; it becomes part of every result's model version.
    start : Population
        Where to start; what is not learned stays as it is here.

    Returns
    -------
    Population
        With new spreads, drifts, slope of spread over length, rate and size of mishits.

    Raises
    ------
    NotEnoughShotsError
        With fewer than 10 players.

    Notes
    -----
    Fit, take the mean of the players' own ratios to the defaults, fit again: twelve rounds of
    expectation and maximisation [dempster1977]. Each player counts the same.

    References
    ----------
    [dempster1977]
    """
    groups = group_shots(shots)
    if groups.players < LEAST_PLAYERS:
        raise NotEnoughShotsError(
            f"A population needs at least {LEAST_PLAYERS} players, and these shots hold "
            f"{groups.players}. Keep the default population until there are more."
        )
    population = replace(start, version=version)
    parts = list(groups.parts(PART_SHOTS))
    for _ in range(ROUNDS):
        tables = [_player_means(part, population) for part in parts]
        population = _updated(population, pl.concat(tables), start.length_slope)
    return population


def _player_means(groups: ShotGroups, population: Population) -> pl.DataFrame:
    """Return each player's mean ratios to the defaults, and mishits."""
    parameters = fit_part(groups, population).parameters
    nominal = nominal_carry(groups.keys)
    defaults = default_spreads(groups, nominal, population)
    player = groups.player_of_group
    centre = parameters["carry_m"].to_numpy()

    def log_ratio(name: str, default: FloatArray) -> FloatArray:
        return np.asarray(np.log(parameters[name].to_numpy() / centre / default))

    table = pl.DataFrame(
        {
            "player": player,
            "shots": parameters["shots"],
            "log_length": player_log_length(groups, nominal)[player],
            "carry_spread": log_ratio("within_carry_sd_m", defaults.carry_spread),
            "side_spread": log_ratio("within_side_sd_m", defaults.side_spread),
            "carry_drift": log_ratio("between_carry_sd_m", defaults.carry_drift[player]),
            "side_drift": log_ratio("between_side_sd_m", defaults.side_drift[player]),
            "loft": np.where(nominal.loft_known, nominal.loft, 0.0),
            "side_known": parameters["side_known"],
            "mishit_rate": parameters["mishit_rate"],
            "shortfall": parameters["mishit_shortfall_m"].to_numpy() / centre,
        }
    )
    sides = pl.when("side_known").then(pl.col("side_spread", "side_drift", "loft"))
    weight = pl.col("shots")
    # Loft and side spread about the player's means: what tells the slope of one over the other.
    loft, side = (pl.col(x) - _weighted(x, weight).over("player") for x in ("loft", "side_spread"))
    return (
        table.with_columns(sides)
        .with_columns(loft_square=loft**2, loft_product=loft * side)
        .group_by("player")
        .agg(_weighted(pl.all(), weight))
        .sort("player")
        .with_columns(pl.col(pl.Float64).fill_nan(None))
    )


def _weighted(values: str | pl.Expr, weight: pl.Expr) -> pl.Expr:
    """Return the weighted mean of what is known."""
    column = pl.col(values) if isinstance(values, str) else values
    return (column * weight).sum() / weight.filter(column.is_not_null()).sum()


def _side_update(population: Population, means: pl.DataFrame) -> tuple[float, float]:
    """Return the new side spread and its slope over loft."""
    known = means.drop_nulls("side_spread")
    if not known.height:
        return population.side_spread, population.side_spread_slope
    product, square, spread, loft = (
        float(known[name].to_numpy().mean())
        for name in ("loft_product", "loft_square", "side_spread", "loft")
    )
    slope = product / (square + LEAST_LOFT_SQUARE)
    move = float(np.exp(spread - slope * loft))
    return move * population.side_spread, slope + population.side_spread_slope


def _updated(population: Population, means: pl.DataFrame, prior_slope: float) -> Population:
    """Return the population with the players' means taken in."""
    log_length = means["log_length"].to_numpy()
    spread = means["carry_spread"].to_numpy()
    limits = np.log(population.length_ratio_limits)
    columns = np.column_stack([np.ones(len(spread)), np.clip(log_length, *limits)])
    move = regress(
        columns,
        spread,
        np.array([0.0, prior_slope - population.length_slope]),
        np.array([10.0, SLOPE_ERROR]),
        noise_sd=PLAYER_LOG_SD,
    ).slope
    # Spreads are unbiased as logarithms, drifts as variances.
    side_spread, side_slope = _side_update(population, means)
    drift, side_drift = (
        means[name].drop_nulls().to_numpy() for name in ("carry_drift", "side_drift")
    )
    return replace(
        population,
        carry_spread=float(np.exp(move[0])) * population.carry_spread,
        side_spread=side_spread,
        side_spread_slope=side_slope,
        carry_drift=_root_mean(drift) * population.carry_drift,
        side_drift=_root_mean(side_drift) * population.side_drift,
        length_slope=population.length_slope + float(move[1]),
        mishit_rate=float(np.clip(means["mishit_rate"].to_numpy().mean(), 0.005, 0.5)),
        mishit_shortfall=float(means["shortfall"].to_numpy().mean()),
    )


def _root_mean(log_ratio: FloatArray) -> float:
    """Return the root of the mean square of ratios; 1 without any."""
    return float(np.sqrt(np.exp(2.0 * log_ratio).mean())) if len(log_ratio) else 1.0
