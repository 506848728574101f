"""Two-sample energy test of whether landing points come from one distribution."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.spatial.distance import cdist

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class EnergyTest:
    """Outcome of the test.

    Parameters
    ----------
    statistic : float
        Energy distance of the samples, [unit of the points].
    p_value : float
        Share of random divisions of the pooled points that lie as far apart [1].
    """

    statistic: float
    p_value: float


def energy_test(
    first: Array,
    second: Array,
    *,
    divisions: int = 199,
    most_points: int = 1000,
    random_state: int = 1,
) -> EnergyTest:
    """Test whether two samples come from one distribution.

    Parameters
    ----------
    first, second : ndarray, shape (n, d) and (m, d)
        Points [any one unit].
    divisions : int
        Random divisions of the pooled points [1].
    most_points : int
        Points used of each sample [1], drawn at random where there are more.
    random_state : int
        Start of the random numbers [1].

    Returns
    -------
    EnergyTest

    Notes
    -----
    ``E = 2 E|X - Y| - E|X - X'| - E|Y - Y'|`` over all pairs, zero only for equal distributions;
    the p-value comes from permuting the labels and counts the sample itself.

    References
    ----------
    Székely, G. J. & Rizzo, M. L. (2013), Energy statistics, Journal of Statistical Planning and
    Inference 143, 1249-1272.
    """
    random = np.random.default_rng(random_state)
    one, two = (_some(sample, most_points, random) for sample in (first, second))
    pooled = np.concatenate((one, two))
    distances = cdist(pooled, pooled)
    label = np.zeros(len(pooled))
    label[: len(one)] = 1.0
    labels = np.array([label, *(random.permutation(label) for _ in range(divisions))])
    found, *others = _energies(distances, labels)
    as_far = np.count_nonzero(np.array(others) >= found)
    return EnergyTest(float(found), (1.0 + as_far) / (1.0 + divisions))


def _some(sample: Array, most: int, random: np.random.Generator) -> Array:
    """At most so many of the points."""
    if len(sample) <= most:
        return sample
    return sample[random.choice(len(sample), most, replace=False)]


def _energies(distances: Array, labels: Array) -> Array:
    """Energy distance of the two sides of each division, a row of ones and zeros."""
    n = labels.sum(axis=1)
    m = labels.shape[1] - n
    to_all = distances.sum(axis=0)
    of_one = labels @ to_all
    within_one = ((labels @ distances) * labels).sum(axis=1)
    within_two = to_all.sum() - 2.0 * of_one + within_one
    return 2.0 * (of_one - within_one) / (n * m) - within_one / n**2 - within_two / m**2
