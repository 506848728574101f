"""Linear regression that may lean on prior slopes; without them, ordinary least squares."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from rangeledger.models.arrays import FloatArray


@dataclass(frozen=True, slots=True)
class Regression:
    """Result of a regression.

    Attributes
    ----------
    slope : array, shape (columns,)
        Coefficients.
    covariance : array, shape (columns, columns)
        Their covariance.
    residual_sd : float
        Spread of the observations about the fit.
    """

    slope: FloatArray
    covariance: FloatArray
    residual_sd: float


def regress(
    columns: FloatArray,
    observed: FloatArray,
    prior_slope: FloatArray | None = None,
    prior_sd: FloatArray | None = None,
    noise_sd: float = 1.0,
) -> Regression:
    """Return the regression of observations on columns.

    Parameters
    ----------
    columns : array, shape (n, columns)
        What explains [any units]; a column of ones for an intercept.
    observed : array, shape (n,)
        What is explained [any unit].
    prior_slope, prior_sd : array, shape (columns,), optional
        What is believed of each coefficient beforehand, and how surely [unit of `observed` per
        unit of the column].
    noise_sd : float
        Spread of the observations that the prior is weighed against [unit of `observed`]; counts
        only with a prior.

    Returns
    -------
    Regression
        Without a prior: least squares, covariance with the residual variance. With one: the
        posterior for the given noise.

    Notes
    -----
    The prior enters as further rows (1 / sd) slope = prior / sd beside rows scaled by
    1 / noise_sd. Columns are scaled to unit length before an orthogonal decomposition, so that
    nearly collinear columns keep their digits [golub2013, section 5.3].

    References
    ----------
    [golub2013]
    """
    rows, target, scale = columns, observed, 1.0
    if prior_slope is not None and prior_sd is not None:
        rows = np.vstack([columns / noise_sd, np.diag(1.0 / prior_sd)])
        target = np.concatenate([observed / noise_sd, prior_slope / prior_sd])
    length = np.sqrt((rows**2).sum(axis=0))
    length = np.where(length > 0.0, length, 1.0)
    q, r = np.linalg.qr(rows / length)
    slope = np.linalg.solve(r, q.T @ target)
    # One round of refinement wins back the digits that a collinear design costs.
    slope = (slope + np.linalg.solve(r, q.T @ (target - rows / length @ slope))) / length
    rest = observed - columns @ slope
    freedom = max(len(observed) - columns.shape[1], 1)
    residual_sd = float(np.sqrt((rest**2).sum() / freedom))
    scale = residual_sd**2 if prior_slope is None else 1.0
    inverse = np.linalg.inv(r) / length[:, None]
    return Regression(slope, scale * inverse @ inverse.T, residual_sd)
