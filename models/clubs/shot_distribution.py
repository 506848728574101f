"""The next shot as a distribution: quantiles of carry, regions on the ground, draws.

All functions read the parameter frame of `CarryModel.parameters_`, one row a group:

- `carry_m`, `side_m`: centre of clean strikes today [m]; `carry_se_m`, `side_se_m`: how sure [m];
- `within_carry_sd_m`, `within_side_sd_m`, `within_correlation`: clean strikes in one session;
- `between_carry_sd_m`, `between_side_sd_m`: centres of sessions about that centre [m];
- `degrees_of_freedom`: shots that the spread rests on [1];
- `mishit_rate` [1]; `mishit_shortfall_m`: mean loss of carry [m]; `mishit_long_share`: share of
  mishits that fly too far instead [1]; `mishit_side_scale_m`: scale of a t3 sideways [m];
- `side_known`: whether any shot of the group had a side.

Clean strike: bivariate t about the centre, its scale matrix the sum of within, between and
centre error. Mishit: centre less (rarely plus) a gamma of shape 2, sideways a t3. So a plan drawn
from it carries the doubt about the player's own centre and spread.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import polars as pl
from rangeledger.models.arrays import FloatArray
from rangeledger.models.clubs.mishit_loss import draw_losses, loss_beyond, loss_quantile
from rangeledger.models.clubs.shot_groups import GROUP_KEYS
from scipy import special

T3_NODES: Final = special.stdtrit(3.0, (np.arange(16) + 0.5) / 16)
BISECTIONS: Final = 44


def total_variance(parameters: pl.DataFrame) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the scale matrix of a clean next shot.

    Parameters
    ----------
    parameters : polars.DataFrame
        Parameter frame, one row a group.

    Returns
    -------
    carry, side, covariance : array, shape (groups,)
        Entries of within + between + centre error [m^2].
    """
    value = _columns(parameters)
    within_carry, within_side = value["within_carry_sd_m"], value["within_side_sd_m"]
    carry = within_carry**2 + value["between_carry_sd_m"] ** 2 + value["carry_se_m"] ** 2
    side = within_side**2 + value["between_side_sd_m"] ** 2 + value["side_se_m"] ** 2
    return carry, side, value["within_correlation"] * within_carry * within_side


def carry_below(parameters: pl.DataFrame, carry_m: FloatArray) -> FloatArray:
    """Return the chance that the next shot carries no farther than a distance.

    Parameters
    ----------
    parameters : polars.DataFrame
        Parameter frame, one row a group.
    carry_m : array, shape (groups,) or (groups, n)
        Distances [m].

    Returns
    -------
    array of the shape of `carry_m`
        Probability [1], mishits included.

    Notes
    -----
    F(x) = (1 - p) T_df(d / s) + p M(d), d = x - m; M(d) = short S(-d) below the centre and
    1 - long S(d) above it, S(d) = (1 + 2 d / l) exp(-2 d / l).
    """
    value = _columns(parameters)
    spread = np.sqrt(total_variance(parameters)[0])
    if carry_m.ndim > 1:
        value = {name: column[:, None] for name, column in value.items()}
        spread = spread[:, None]
    return _below(carry_m - value["carry_m"], spread, value)


def carry_places(parameters: pl.DataFrame, n: int = 64) -> tuple[FloatArray, FloatArray]:
    """Return places that stand for the carry of the next shot, with their weights.

    Parameters
    ----------
    parameters : polars.DataFrame
        Parameter frame, one row a group.
    n : int
        Places for clean strikes, and as many for mishits.

    Returns
    -------
    carry, weight : array, shape (groups, 2 n)
        Carries [m] and weights that add up to 1 in each group.

    Notes
    -----
    Middles of equally likely parts of the t of clean strikes and of the loss of
    mishits; those that fly too far are counted as clean.
    """
    value = {name: column[:, None] for name, column in _columns(parameters).items()}
    chance = (np.arange(n) + 0.5) / n
    spread = np.sqrt(total_variance(parameters)[0])[:, None]
    clean = value["carry_m"] + spread * special.stdtrit(value["degrees_of_freedom"], chance)
    loss = value["mishit_shortfall_m"] * loss_quantile(chance)
    missed = np.maximum(value["carry_m"] - loss, 0.0)
    rate = value["mishit_rate"] * (1.0 - value["mishit_long_share"])
    weight = np.concatenate([(1.0 - rate) + 0.0 * clean, rate + 0.0 * missed], axis=1) / n
    return np.concatenate([clean, missed], axis=1), weight


def _below(offset: FloatArray, spread: FloatArray, value: dict[str, FloatArray]) -> FloatArray:
    """Return the distribution function at an offset from the centre [m]."""
    clean: FloatArray = special.stdtr(value["degrees_of_freedom"], offset / spread)
    long = value["mishit_long_share"]
    tail = loss_beyond(np.abs(offset), value["mishit_shortfall_m"])
    missed = np.where(offset < 0.0, (1.0 - long) * tail, 1.0 - long * tail)
    return (1.0 - value["mishit_rate"]) * clean + value["mishit_rate"] * missed


def carry_quantile(parameters: pl.DataFrame, probability: float) -> FloatArray:
    """Return the carry that the next shot falls short of with a given chance.

    Parameters
    ----------
    parameters : polars.DataFrame
        Parameter frame, one row a group.
    probability : float
        Chance [1], 0 < probability < 1.

    Returns
    -------
    array, shape (groups,)
        Carry [m], mishits included; never below 0.

    Notes
    -----
    Solved by bisection of `carry_below` to 1e-11 of the centre.
    """
    value = _columns(parameters)
    spread = np.sqrt(total_variance(parameters)[0])
    low, high = -value["carry_m"], 2.0 * value["carry_m"] + 30.0 * spread
    for _ in range(BISECTIONS):
        middle = 0.5 * (low + high)
        under = _below(middle, spread, value) < probability
        low, high = np.where(under, middle, low), np.where(under, high, middle)
    return value["carry_m"] + 0.5 * (low + high)


def session_quantile(parameters: pl.DataFrame, probability: float) -> FloatArray:
    """Return a quantile of the centre of clean strikes in the next session.

    Parameters
    ----------
    parameters : polars.DataFrame
        Parameter frame, one row a group.
    probability : float
        Chance [1], 0 < probability < 1.

    Returns
    -------
    array, shape (groups,)
        Carry [m].

    Notes
    -----
    Normal about the centre with variance between + centre error.
    """
    value = _columns(parameters)
    spread = np.hypot(value["between_carry_sd_m"], value["carry_se_m"])
    return value["carry_m"] + float(special.ndtri(probability)) * spread


def region_radius(parameters: pl.DataFrame, level: float) -> FloatArray:
    """Return the radius, in standard deviations, of the region that holds a share of all shots.

    Parameters
    ----------
    parameters : polars.DataFrame
        Parameter frame, one row a group.
    level : float
        Share of next shots inside [1], mishits included, 0 < level < 1.

    Returns
    -------
    array, shape (groups,)
        Radius in units of the scale matrix [1]; with many shots and no mishits
        sqrt(-2 ln(1 - level)), e.g. 1.794 at 0.8.

    Notes
    -----
    Solves (1 - p) [1 - (1 + q/df)^(-df/2)] + p mean_j [1 - S(s sqrt((q - z_j^2)+))] = level
    for q = radius^2; S is that of `carry_below`, z_j are 16 equally likely places of a mishit
    sideways.
    """
    carry, side, _ = total_variance(parameters)
    value = _columns(parameters)
    freedom, rate = value["degrees_of_freedom"], value["mishit_rate"]
    side_share = T3_NODES**2 * (value["mishit_side_scale_m"] ** 2 / side)[:, None]
    mean_loss = (value["mishit_shortfall_m"] / np.sqrt(carry))[:, None]
    low, high = np.zeros(len(rate)), np.full(len(rate), 1e4)
    for _ in range(BISECTIONS):
        q = 0.5 * (low + high)
        clean = -np.expm1(-0.5 * freedom * np.log1p(q / freedom))
        lost = np.sqrt(np.maximum(q[:, None] - side_share, 0.0))
        missed = 1.0 - loss_beyond(lost, mean_loss).mean(axis=1)
        under = (1.0 - rate) * clean + rate * missed < level
        low, high = np.where(under, q, low), np.where(under, high, q)
    radius: FloatArray = np.sqrt(0.5 * (low + high))
    return radius


def squared_distance(
    parameters: pl.DataFrame, carry_m: FloatArray, side_m: FloatArray
) -> FloatArray:
    """Return how far shots lie from their centre, squared, in units of the scale matrix.

    Parameters
    ----------
    parameters : polars.DataFrame
        Parameter frame, one row a shot.
    carry_m, side_m : array, shape (shots,)
        Landing points [m].

    Returns
    -------
    array, shape (shots,)
        Squared Mahalanobis distance [1]; a shot lies inside a region if it is at most the
        squared radius.
    """
    carry, side, covariance = total_variance(parameters)
    value = _columns(parameters)
    x, y = carry_m - value["carry_m"], side_m - value["side_m"]
    return (side * x**2 - 2.0 * covariance * x * y + carry * y**2) / (carry * side - covariance**2)


def draw_next_shots(
    parameters: pl.DataFrame, n: int, *, random_state: int | np.random.Generator
) -> pl.DataFrame:
    """Return shots that each group might hit next.

    Parameters
    ----------
    parameters : polars.DataFrame
        Parameter frame, one row a group.
    n : int
        Shots for each group, at least 1.
    random_state : int or numpy.random.Generator
        Seed; the same seed gives the same shots.

    Returns
    -------
    polars.DataFrame
        player, club, swing, ball, draw (from 1), carry_m, side_m [m], strike; `side_m` is null
        where `side_known` is false. Carry is never below 0.
    """
    rng = np.random.default_rng(random_state)
    value = _columns(parameters)
    shape = (parameters.height, n)
    carry, side = _clean_draws(parameters, shape, rng)
    missed = rng.random(shape) < value["mishit_rate"][:, None]
    shortfall = draw_losses(shape, rng) * value["mishit_shortfall_m"][:, None]
    long = rng.random(shape) < value["mishit_long_share"][:, None]
    wide = rng.standard_t(3.0, shape) * value["mishit_side_scale_m"][:, None]
    carry = (
        np.where(missed, np.where(long, shortfall, -shortfall), carry) + value["carry_m"][:, None]
    )
    side = np.where(missed, wide, side) + value["side_m"][:, None]
    row = np.repeat(np.arange(parameters.height), n)
    return parameters.select(*GROUP_KEYS, "side_known")[row].with_columns(
        draw=pl.Series(np.tile(np.arange(1, n + 1), parameters.height)),
        carry_m=pl.Series(np.maximum(carry, 0.0).ravel()),
        side_m=pl.when("side_known").then(pl.Series(side.ravel())),
        strike=pl.when(pl.Series(missed.ravel())).then(pl.lit("mishit")).otherwise(pl.lit("clean")),
    ).drop("side_known")  # fmt: skip


def _clean_draws(
    parameters: pl.DataFrame, shape: tuple[int, int], rng: np.random.Generator
) -> tuple[FloatArray, FloatArray]:
    """Return offsets of clean strikes from the centre [m]: bivariate t."""
    carry, side, covariance = total_variance(parameters)
    freedom = _columns(parameters)["degrees_of_freedom"][:, None]
    first, second = rng.standard_normal((2, *shape)) / np.sqrt(
        rng.chisquare(freedom, shape) / freedom
    )
    slope = covariance / np.sqrt(carry)
    rest = np.sqrt(side - slope**2)
    return np.sqrt(carry)[:, None] * first, slope[:, None] * first + rest[:, None] * second


def _columns(parameters: pl.DataFrame) -> dict[str, FloatArray]:
    """Return the numeric columns as arrays."""
    numbers = parameters.select(pl.col(pl.Float64))
    return {name: numbers[name].to_numpy() for name in numbers.columns}
