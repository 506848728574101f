"""Proper scores: how good a forecast of shots was, once the shots are known.

Lower is better, and a forecaster can't gain by saying anything but what is believed.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import polars as pl
from rangeledger.models.arrays import FloatArray
from rangeledger.models.clubs.shot_distribution import draw_next_shots
from rangeledger.models.clubs.shot_groups import CARRY, GROUP_KEYS, SIDE

SCORING_DRAWS = 400
SCORING_SEED = 20_240


def mean_distance(draws: FloatArray) -> FloatArray:
    """Return the mean distance between two of the draws of a forecast.

    Parameters
    ----------
    draws : array, shape (forecasts, draws, dimensions)
        Equally likely outcomes [m].

    Returns
    -------
    array, shape (forecasts,)
        Mean over all pairs, a draw with itself included [m].

    Notes
    -----
    In one dimension from the sorted draws: sum_i (2 i - m + 1) x_i 2 / m^2, i from 0.
    """
    count, dimensions = draws.shape[1:]
    if dimensions == 1:
        ordered = np.sort(draws[:, :, 0], axis=1)
        weights = 2.0 * np.arange(count) - count + 1.0
        return np.asarray(ordered @ weights * 2.0 / count**2, dtype=np.float64)
    means = [
        np.sqrt(((one[:, None, :] - one[None, :, :]) ** 2).sum(axis=-1)).mean() for one in draws
    ]
    return np.array(means, dtype=np.float64)


def energy_score(
    draws: FloatArray, observed: FloatArray, forecast_of_shot: npt.NDArray[np.int64]
) -> FloatArray:
    """Return the energy score of each shot under its forecast.

    Parameters
    ----------
    draws : array, shape (forecasts, draws, dimensions)
        Equally likely outcomes of each forecast [m].
    observed : array, shape (shots, dimensions)
        What happened [m].
    forecast_of_shot : array of int, shape (shots,)
        Number of the forecast of each shot.

    Returns
    -------
    array, shape (shots,)
        Score [m], never negative.

    Notes
    -----
    ES = E|X - y| - E|X - X'| / 2 [gneiting2007, eq. 22]. In one dimension it is the continuous
    ranked probability score.

    References
    ----------
    [gneiting2007]
    """
    half = 0.5 * mean_distance(draws)
    score = np.empty(len(observed))
    for number in np.unique(forecast_of_shot):
        shots = forecast_of_shot == number
        miss = draws[number][None, :, :] - observed[shots][:, None, :]
        score[shots] = np.sqrt((miss**2).sum(axis=-1)).mean(axis=1) - half[number]
    return score


def score_shots(parameters: pl.DataFrame, shots: pl.DataFrame) -> pl.DataFrame:
    """Return the score of shots under the parameters of their groups.

    Parameters
    ----------
    parameters : polars.DataFrame
        Parameter frame of a carry model.
    shots : polars.DataFrame
        Shots with player, club, swing, ball, still_carry_m and still_side_m [m].

    Returns
    -------
    polars.DataFrame
        player, club, swing, ball, shots, `score_m`: mean energy score of carry and side, or of
        carry alone where the group has no sides. Groups without parameters are left out.
    """
    scores = []
    for known, columns in ((True, [CARRY, SIDE]), (False, [CARRY])):
        chosen = parameters.filter(pl.col("side_known") == known).select(*GROUP_KEYS)
        chosen = chosen.with_row_index("forecast")
        judged = shots.drop_nulls(columns).join(chosen, on=list(GROUP_KEYS))
        if judged.height:
            drawn = _draws(parameters.filter(pl.col("side_known") == known), len(columns))
            number = judged["forecast"].to_numpy().astype(np.int64)
            values = energy_score(drawn, judged.select(columns).to_numpy(), number)
            scores.append(judged.select(*GROUP_KEYS).with_columns(score_m=pl.Series(values)))
    if not scores:
        return parameters.clear().select(*GROUP_KEYS, "shots", score_m="carry_m")
    return (
        pl.concat(scores)
        .group_by(*GROUP_KEYS)
        .agg(pl.len().cast(pl.Int64).alias("shots"), pl.col("score_m").mean())
        .sort(*GROUP_KEYS)
    )


def _draws(parameters: pl.DataFrame, dimensions: int) -> FloatArray:
    """Return draws of the next shot of each group, the same for every call."""
    shots = draw_next_shots(parameters, SCORING_DRAWS, random_state=SCORING_SEED)
    columns = ["carry_m", "side_m"][:dimensions]
    return shots.select(columns).to_numpy().reshape(parameters.height, SCORING_DRAWS, dimensions)
