"""Whether a club's shots curve in two ways or scatter about one."""

from __future__ import annotations

from typing import Final

import numpy as np
from rangeledger.models.arrays import FloatArray

ROUNDS: Final = 60
# Two curves count where their middles lie more than so many spreads apart: closer ones have one
# hump, which one curve with its scatter makes too.
LEAST_APART: Final = 2.0
# Their density falls between the middles below so much of the lower hump: a skewed scatter is
# fitted by two, too, but has no valley. Common practice, no source.
DIP: Final = 0.75
# And where they explain the shots better than one by so much in twice the log likelihood beyond
# the price of two more numbers [schwarz1978]: very strong evidence by common practice, no source.
LEAST_GAIN: Final = 6.0
# Each of the two has at least this share of the shots.
LEAST_SHARE: Final = 0.1


def two_curves(curve: FloatArray) -> bool:
    """Return whether two curves explain shots better than one.

    Parameters
    ----------
    curve : array, shape (shots,)
        Curve of each shot [deg].

    Returns
    -------
    bool
        Whether a mixture of two normals of one spread is better by the Bayesian information
        criterion, its middles lie apart with a valley between, and each has its share.

    Notes
    -----
    A flat top, which players' curves do not have, is taken for two. Expectation and maximisation
    from the lower and the upper third [dempster1977]; compared by 2 ln L - k ln n [schwarz1978].

    References
    ----------
    [dempster1977], [schwarz1978]
    """
    count, spread = len(curve), float(curve.std())
    if count < 8 or spread == 0.0:
        return False
    low, high = np.quantile(curve, [1.0 / 6.0, 5.0 / 6.0])
    scale, share = 0.5 * spread, 0.5
    for _ in range(ROUNDS):
        first = np.log1p(-share) - 0.5 * ((curve - low) / scale) ** 2
        second = np.log(share) - 0.5 * ((curve - high) / scale) ** 2
        top = np.logaddexp(first, second)
        weight = np.exp(second - top)
        share = float(np.clip(weight.mean(), 1e-3, 1.0 - 1e-3))
        low = float(((1.0 - weight) * curve).sum() / max((1.0 - weight).sum(), 1e-9))
        high = float((weight * curve).sum() / max(weight.sum(), 1e-9))
        squares = (1.0 - weight) * (curve - low) ** 2 + weight * (curve - high) ** 2
        scale = max(float(squares.mean()) ** 0.5, 1e-3 * spread)
    first = np.log1p(-share) - 0.5 * ((curve - low) / scale) ** 2
    second = np.log(share) - 0.5 * ((curve - high) / scale) ** 2
    gain = 2.0 * float((np.logaddexp(first, second) - np.log(scale)).sum())
    gain -= 2.0 * float((-0.5 * ((curve - curve.mean()) / spread) ** 2 - np.log(spread)).sum())
    between = np.linspace(low, high, 41)[:, None]
    humps = np.exp(-0.5 * ((between - np.array([low, high])) / scale) ** 2)
    height = humps @ np.array([1.0 - share, share])
    dip = height.min() < DIP * min(height[0], height[-1])
    apart = high - low > LEAST_APART * scale and dip
    shared = LEAST_SHARE <= share <= 1.0 - LEAST_SHARE
    return bool(apart and shared and gain > 2.0 * np.log(count) + LEAST_GAIN)
