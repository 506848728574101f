"""Carry and dispersion of each of a player's clubs, robust to mishits and to few shots.

The centre of clean strikes as the player hits and aims now, their spread, the rate and size of
mishits, the drift from session to session and the next shot's distribution, all learned together
for one player or for many. Small samples borrow from the player's other clubs and from the
population.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Self

import numpy as np
import polars as pl
from rangeledger.models.clubs.carry_fit import CarryFit, empty_parameters, fit_part
from rangeledger.models.clubs.held_out import held_out_share
from rangeledger.models.clubs.scoring_rules import score_shots
from rangeledger.models.clubs.shot_distribution import (
    carry_quantile,
    region_radius,
    session_quantile,
    total_variance,
)
from rangeledger.models.clubs.shot_groups import GROUP_KEYS, group_shots
from rangeledger.models.population import POPULATION, Population
from rangeledger.models.statistics.prediction_ellipse import ellipse
from sklearn.base import BaseEstimator
from sklearn.utils.validation import check_is_fitted

LEVELS = (0.5, 0.8, 0.9)
# Shots fitted at once: their arrays stay in the processor's cache.
PART_SHOTS = 100_000
STRIKE_KEYS = ("shot_id", *GROUP_KEYS, "session_id", "shot_number")


class CarryModel(BaseEstimator):  # type: ignore[misc]  # scikit-learn has no types
    """Carry, dispersion and mishits of one player's clubs, or of many players' at once.

    Parameters
    ----------
    population : Population
        What is assumed before any shot is seen.
    handicaps : mapping of str to float, optional
        Handicap by player [strokes], where it is known: it moves what is assumed.

    Attributes
    ----------
    parameters_ : polars.DataFrame
        One row a group (player, club, swing, ball): everything needed to draw the next shot;
        columns in `rangeledger.models.clubs.shot_distribution`.
    strikes_ : polars.DataFrame
        One row a shot in the order handed in: its keys, `strike` (`clean`, `mishit`, null for a
        putt or a shot without carry) and `mishit_probability` [1].
    levels_ : list of tuple
        Shots of some players in order, and the level of carry that each player's clubs share.
    n_shots_ : int
        Shots that were used.

    Notes
    -----
    A player's results depend on that player's shots and the population alone: fitted together
    or apart, in whatever row order, the numbers are the same to the last digit.

    References
    ----------
    [dempster1977], [rasmussen2006], [gelman2006]
    """

    def __init__(
        self,
        *,
        population: Population = POPULATION,
        handicaps: Mapping[str, float] | None = None,
    ) -> None:
        self.population = population
        self.handicaps = handicaps

    def fit(self, shots: pl.DataFrame, y: object = None) -> Self:
        """Learn from shots.

        Parameters
        ----------
        shots : polars.DataFrame
            One row a shot: player, club, swing, ball, session_id, shot_number, still_carry_m
            [m], and still_side_m [m] and struck_at where known. Putts and shots without carry
            are left out.
        y : object
            Ignored.

        Returns
        -------
        CarryModel
            Itself.

        Raises
        ------
        UsageError
            If a column is missing.
        """
        del y
        groups = group_shots(shots)
        fits = [
            fit_part(part, self.population, self.handicaps) for part in groups.parts(PART_SHOTS)
        ]
        if fits:
            self.parameters_ = pl.concat([fit.parameters for fit in fits])
        else:
            self.parameters_ = empty_parameters(shots)
        self.strikes_ = _strikes(shots, fits)
        self.levels_ = [(fit.groups, fit.levels) for fit in fits]
        self.n_shots_ = len(groups.row)
        return self

    def __repr__(self) -> str:
        """Say what it was fitted on."""
        if not hasattr(self, "parameters_"):
            return f"CarryModel(population {self.population.version}, not fitted)"
        return (
            f"CarryModel(population {self.population.version}, fitted on {self.n_shots_} shots "
            f"in {self.parameters_.height} groups)"
        )

    def carry_by_club(self) -> pl.DataFrame:
        """Return carry and spread of each club.

        Returns
        -------
        polars.DataFrame
            One row a group: player, club, swing, ball, shots, sessions; `carry_m` centre of
            clean strikes as the player hits now with `carry_se_m`; `carry_mean_m` that over all
            sessions; `carry_sd_m` spread of clean strikes over sessions,
            split into `carry_within_sd_m` and `carry_between_sd_m`; `carry_p10_m`,
            `carry_p90_m` band of the next shot, mishits included; `session_carry_p10_m`,
            `session_carry_p90_m` band of the next session's centre; `side_m` centre across the
            line as the player aims now, `side_se_m`, `side_sd_m` (null without sides);
            `mishit_rate` [1]; `provisional` (one session only); `model_version`.
        """
        check_is_fitted(self, "parameters_")
        parameters = self.parameters_
        within, between = pl.col("within_carry_sd_m"), pl.col("between_carry_sd_m")
        side_sd = (pl.col("within_side_sd_m").pow(2) + pl.col("between_side_sd_m").pow(2)).sqrt()
        known = pl.when("side_known")
        return parameters.select(
            *GROUP_KEYS,
            "shots",
            "sessions",
            "carry_m",
            "carry_se_m",
            "carry_mean_m",
            (within.pow(2) + between.pow(2)).sqrt().alias("carry_sd_m"),
            within.alias("carry_within_sd_m"),
            between.alias("carry_between_sd_m"),
            pl.Series("carry_p10_m", carry_quantile(parameters, 0.1)),
            pl.Series("carry_p90_m", carry_quantile(parameters, 0.9)),
            pl.Series("session_carry_p10_m", session_quantile(parameters, 0.1)),
            pl.Series("session_carry_p90_m", session_quantile(parameters, 0.9)),
            known.then("side_m").alias("side_m"),
            known.then("side_se_m").alias("side_se_m"),
            known.then(side_sd).alias("side_sd_m"),
            "mishit_rate",
            (pl.col("sessions") == 1).alias("provisional"),
            "model_version",
        )

    def dispersion(
        self, levels: Sequence[float] = LEVELS, *, shots: pl.DataFrame | None = None
    ) -> pl.DataFrame:
        """Return the ellipses that hold given shares of the next shots, mishits included.

        Parameters
        ----------
        levels : sequence of float
            Shares of the next shots inside [1].
        shots : polars.DataFrame, optional
            The shots it was fitted on, to add how earlier ellipses did on later sessions.

        Returns
        -------
        polars.DataFrame
            One row a group with sides and level: player, club, swing, ball, `level`, `shots`,
            `sessions`, `centre_carry_m`, `centre_side_m`, `half_axis_long_m`,
            `half_axis_short_m`, `angle_deg` (long axis from the target line, right positive),
            `area_m2`, `shots_held_out` and `share_inside` (shots of later sessions inside the
            ellipse as it was before each, null without `shots` or an earlier session),
            `provisional`, `model_version`.
        """
        check_is_fitted(self, "parameters_")
        parameters = self.parameters_.filter("side_known")
        rings = pl.concat([_ring(parameters, level) for level in levels])
        if shots is None:
            share = rings.clear().select(
                *GROUP_KEYS, "level", shots_held_out="shots", share_inside="level"
            )
        else:
            share = held_out_share(shots, levels, self.population, self.handicaps)
        joined = rings.join(share, on=[*GROUP_KEYS, "level"], how="left")
        ends = ("provisional", "model_version")
        return joined.select(pl.exclude(*ends), *ends).sort(*GROUP_KEYS, "level")

    def score(self, shots: pl.DataFrame, y: object = None) -> float:
        """Return how well the model foretold other shots; higher is better.

        Parameters
        ----------
        shots : polars.DataFrame
            Shots that the model has not seen.
        y : object
            Ignored.

        Returns
        -------
        float
            Minus the mean energy score [m] over the shots of groups it knows.
        """
        del y
        check_is_fitted(self, "parameters_")
        scores = score_shots(self.parameters_, shots)
        total = (scores["score_m"] * scores["shots"]).sum()
        return -float(total) / max(int(scores["shots"].sum()), 1)


def _ring(parameters: pl.DataFrame, level: float) -> pl.DataFrame:
    """Return the ellipse of each group at one level."""
    shape = ellipse(*total_variance(parameters), region_radius(parameters, level))
    return parameters.select(
        *GROUP_KEYS,
        pl.lit(level).alias("level"),
        "shots",
        "sessions",
        pl.col("carry_m").alias("centre_carry_m"),
        pl.col("side_m").alias("centre_side_m"),
        pl.Series("half_axis_long_m", shape.half_axis_long_m),
        pl.Series("half_axis_short_m", shape.half_axis_short_m),
        pl.Series("angle_deg", shape.angle_deg),
        pl.Series("area_m2", shape.area_m2),
        (pl.col("sessions") == 1).alias("provisional"),
        "model_version",
    )


def _strikes(shots: pl.DataFrame, fits: list[CarryFit]) -> pl.DataFrame:
    """Return the strike of each shot in the order handed in."""
    probability = np.full(shots.height, np.nan)
    for fit in fits:
        probability[fit.row] = fit.mishit_probability
    mishit = pl.col("mishit_probability")
    strike = pl.when(mishit >= 0.5).then(pl.lit("mishit")).when(mishit < 0.5).then(pl.lit("clean"))
    return (
        shots.select(name for name in STRIKE_KEYS if name in shots.columns)
        .with_columns(pl.Series("mishit_probability", probability).fill_nan(None))
        .with_columns(strike.alias("strike"))
    )
