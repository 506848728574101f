"""Interval of a share that was counted: so many of so many shots."""

from __future__ import annotations

from typing import Final

import numpy as np
from rangeledger.models.arrays import FloatArray

Z_90: Final = 1.6448536269514722


def share_interval(
    hits: FloatArray, tries: FloatArray, z: float = Z_90
) -> tuple[FloatArray, FloatArray]:
    """Return the score interval of a share.

    Parameters
    ----------
    hits, tries : array, shape (n,)
        Counts [1], 0 <= hits <= tries.
    z : float
        Half-width in standard deviations [1]; 1.645 for 90 %.

    Returns
    -------
    low, high : array, shape (n,)
        Interval [1]; 0 to 1 without any try.

    Notes
    -----
    (p + z^2/2n -+ z sqrt(p (1 - p)/n + z^2/4n^2)) / (1 + z^2/n) [wilson1927]; it stays inside
    0 to 1 and keeps its coverage for few shots.

    References
    ----------
    [wilson1927]
    """
    count = np.where(tries > 0.0, tries, 1.0)
    share = hits / count
    centre = share + z**2 / (2.0 * count)
    half = z * np.sqrt(share * (1.0 - share) / count + z**2 / (4.0 * count**2))
    low = (centre - half) / (1.0 + z**2 / count)
    high = (centre + half) / (1.0 + z**2 / count)
    none = tries <= 0.0
    return np.where(none, 0.0, np.maximum(low, 0.0)), np.where(none, 1.0, np.minimum(high, 1.0))
