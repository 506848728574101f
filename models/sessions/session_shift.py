"""How far a session lies from a player's past, all clubs taken together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
from rangeledger.models.arrays import FloatArray
from scipy import special

# Grid of the spread of sessions, in the expected spread, and the log spread of its prior.
SPREAD_GRID: Final = np.array([0.4, 0.55, 0.8, 1.1, 1.55, 2.2])
SPREAD_LOG_SD: Final = 0.5
# What a related feature says of the spread counts this much of what the feature itself says.
RELATED_WEIGHT: Final = 0.5
ABSENT: Final = 1e12


@dataclass(frozen=True, slots=True)
class Shift:
    """Shift of a session from the past, one entry a feature.

    Attributes
    ----------
    shift, standard_error : array, shape (features,)
        Mean shift over the clubs and its error as a session like the past ones would have it,
        in the unit of the feature.
    probability : array, shape (features,)
        Chance of a shift at least as large in a session like the past ones [1]; 1 where
        nothing is known.
    club_shift : array, shape (features, clubs)
        Shift of each club; NaN where it was not hit or has no past.
    """

    shift: FloatArray
    standard_error: FloatArray
    probability: FloatArray
    club_shift: FloatArray


def session_shift(
    past: FloatArray,
    past_variance: FloatArray,
    now: FloatArray,
    now_variance: FloatArray,
    expected_spread: FloatArray,
    related: npt.NDArray[np.bool_],
) -> Shift:
    """Return how far a session lies from the past.

    Parameters
    ----------
    past : array, shape (features, sessions, clubs)
        Mean of each club in each past session [unit of the feature]; NaN where it was not hit.
    past_variance : array, shape (features, sessions, clubs)
        Variance of each mean given the player's level and that session's drift [unit squared].
    now, now_variance : array, shape (features, clubs)
        The session in question [unit of the feature, and squared].
    expected_spread : array, shape (features,)
        Spread expected of a session's drift [unit of the feature].
    related : array of bool, shape (features, features)
        Features whose drifts are likely wide or narrow together.

    Returns
    -------
    Shift
        Shifts and probabilities.

    Notes
    -----
    y_hk = level_k + drift_h + error; drift ~ N(0, T), the levels free. T is averaged over a
    grid, weighted by the restricted likelihood of the past sessions [patterson1971], half that
    of related features, and a lognormal prior. For each T the shift is the generalised least
    squares estimate of the new session's drift, and the probability that of a normal with
    variance T + its error.

    References
    ----------
    [patterson1971]
    """
    spread = expected_spread[:, None] * SPREAD_GRID
    level, covariance, score = _levels(past, past_variance, spread**2)
    likelihood = _grid_weights(score, related)
    known = np.isfinite(now) & np.isfinite(past).any(axis=1)
    club_shift = np.where(known, now - _average(likelihood, level), np.nan)
    error = np.where(known, now_variance, ABSENT)
    total = covariance + error[:, None, :, None] * np.eye(now.shape[1])
    ones = np.ones((*total.shape[:-1], 1))
    weight = np.linalg.solve(total, ones)[..., 0]
    information = weight.sum(axis=-1)
    rest = np.where(known, now, 0.0)[:, None, :] - np.where(known[:, None, :], level, 0.0)
    shift = (weight * rest).sum(axis=-1) / information
    variance = 1.0 / information + spread**2
    probability = 2.0 * special.ndtr(-np.abs(shift) / np.sqrt(variance))
    mean = _average(likelihood, shift)
    second = _average(likelihood, variance + (shift - mean[:, None]) ** 2)
    any_known = known.any(axis=1)
    return Shift(
        shift=np.where(any_known, mean, np.nan),
        standard_error=np.where(any_known, np.sqrt(second), np.nan),
        probability=np.where(any_known, _average(likelihood, probability), 1.0),
        club_shift=club_shift,
    )


def _average(weight: FloatArray, values: FloatArray) -> FloatArray:
    """Return values averaged over the grid, the second axis."""
    extra = (1,) * (values.ndim - 2)
    return np.asarray((weight.reshape(*weight.shape, *extra) * values).sum(axis=1))


def _levels(
    past: FloatArray, variance: FloatArray, drift: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the clubs' levels, their covariance and the log likelihood of each variance."""
    seen = np.isfinite(past)
    weight = np.where(seen, 1.0 / np.where(seen, variance, 1.0), 0.0)
    value = np.where(seen, past, 0.0)
    # Sums are taken about a value near the levels, so that no digits are lost.
    origin = value.sum(axis=1) / np.maximum(seen.sum(axis=1), 1)
    value = np.where(seen, value - origin[:, None, :], 0.0)
    total = weight.sum(axis=2)
    shared = drift[:, :, None] / (1.0 + drift[:, :, None] * total[:, None, :])
    product = np.einsum("fth,fhk,fhl->ftkl", shared, weight, weight)
    clubs = weight.sum(axis=1)
    diagonal = np.where(clubs > 0.0, clubs, 1.0)[:, None, :, None] * np.eye(past.shape[2])
    information = diagonal - product
    pulled = (weight * value).sum(axis=2)
    right = (weight * value).sum(axis=1)[:, None, :] - np.einsum(
        "fth,fhk,fh->ftk", shared, weight, pulled
    )
    covariance = np.linalg.inv(information)
    level = (covariance @ right[..., None])[..., 0]
    square = (weight * value**2).sum(axis=(1, 2))[:, None] - (shared * pulled[:, None] ** 2).sum(-1)
    score = -0.5 * (
        np.log1p(drift[:, :, None] * total[:, None, :]).sum(axis=-1)
        + np.linalg.slogdet(information)[1]
        + square
        - (level * right).sum(axis=-1)
    )
    return level + origin[:, None, :], covariance, score


def _grid_weights(score: FloatArray, related: npt.NDArray[np.bool_]) -> FloatArray:
    """Return the weight of each drift variance, related features and prior considered."""
    counts = np.where(related, RELATED_WEIGHT, 0.0)
    np.fill_diagonal(counts, 1.0)
    score = counts @ (score - score.max(axis=1, keepdims=True))
    score = score - 0.5 * (np.log(SPREAD_GRID) / SPREAD_LOG_SD) ** 2
    chance: FloatArray = np.exp(score - score.max(axis=1, keepdims=True))
    total: FloatArray = chance.sum(axis=1, keepdims=True)
    return chance / total
