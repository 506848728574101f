"""Strokes that are left, by the published averages."""

from __future__ import annotations

import numpy.typing as npt
from rangeledger.models.arrays import FloatArray
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut


def expected_strokes(distance_m: npt.ArrayLike, lie: str) -> FloatArray:
    """Mean strokes to hole out of tour professionals, by the published averages.

    Parameters
    ----------
    distance_m : array_like
        Distance to the hole [m].
    lie : str
        `tee`, `fairway`, `rough`, `sand`, `recovery` or `green`.

    Returns
    -------
    ndarray
        Mean strokes [strokes], of the same shape.

    Raises
    ------
    UsageError
        If the lie is unknown.

    Examples
    --------
    >>> import rangeledger as rl
    >>> rl.expected_strokes(100 * 0.9144, "fairway").round(2).item()
    2.8
    """
    return StrokesToHoleOut.published().strokes(distance_m, lie)
