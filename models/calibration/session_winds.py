"""The winds of sessions while they are being decided: recorded, recovered or assumed calm."""

from __future__ import annotations

from typing import Final

import numpy as np
import polars as pl
from rangeledger.models.air.wind_profile import speed_and_from
from rangeledger.models.arrays import BoolArray, FloatArray, IntArray
from rangeledger.models.calibration._flight_fit import SCALE_PRIOR_SHOTS, FlightFit
from rangeledger.models.calibration.day_air import UNKNOWN_WIND_SD_MPS
from rangeledger.models.calibration.noted_winds import (
    NOTED_WIND_SD_MPS,
    NOTED_WIND_SD_RELATIVE,
    noted_wind,
)
from rangeledger.models.frame_arrays import texts
from rangeledger.models.statistics.two_level_fit import Estimates
from scipy.special import chdtrc, stdtrit

RECORDED: Final = "recorded"
RECOVERED: Final = "recovered"
ASSUMED_CALM: Final = "assumed-calm"

LEAST_SHOTS: Final = 5
SIGNIFICANT: Final = 5.99  # chi-squared with two degrees of freedom at 5 %
MISFIT: Final = 0.02  # probability below which the flights are said to fit no wind
_LEAST_LEARNT: Final = 0.15  # share of a prior variance that must be learnt to judge a fit by it
# Chi-squared by which one of "as in the recorded wind" and "as in calm air" must fit better to
# tell whether flights were tracked; common practice, no source.
_TELLING: Final = 6.0
# A recorded wind below this can't tell tracked flights from computed ones.
TELLING_WIND_MPS: Final = 2.0
# Below this a wind may be the flight law's fault where no ball was calibrated, and is not claimed.
LEAST_UNCALIBRATED_MPS: Final = 2.0


class SessionWinds:
    """The result while it is being put together: arrays with an element a session."""

    def __init__(self, size: int) -> None:
        self.source = np.full(size, ASSUMED_CALM, dtype=object)
        self.reason = np.full(size, "", dtype=object)
        self.shots_used = np.zeros(size, dtype=np.int64)
        self.wind = np.zeros((size, 2))
        self.se = np.full((size, 2), UNKNOWN_WIND_SD_MPS)
        self.estimate = np.full((size, 2), np.nan)
        self.estimate_se = np.full((size, 2), np.nan)
        self.fit_probability = np.full(size, np.nan)
        self.tracked = np.full(size, None, dtype=object)

    @classmethod
    def empty(cls, size: int) -> SessionWinds:
        """All sessions assumed calm, no reasons yet."""
        return cls(size)

    def record(
        self,
        shots: pl.DataFrame,
        session: IntArray,
        stated: BoolArray,
        recorded: BoolArray,
    ) -> None:
        """Enter the mean stated wind of the sessions that have one."""
        noted = noted_wind(shots)
        shares = np.maximum(np.bincount(session, weights=stated, minlength=len(recorded)), 1.0)
        for k, part in enumerate((noted.head_wind_mps, noted.cross_wind_mps)):
            mean = np.bincount(session, weights=part, minlength=len(recorded)) / shares
            self.wind[recorded, k] = mean[recorded]
        size = np.hypot(self.wind[:, 0], self.wind[:, 1])
        sd = NOTED_WIND_SD_MPS + NOTED_WIND_SD_RELATIVE * size
        self.se[recorded] = sd[recorded, None]
        self.source[recorded] = RECORDED
        self.reason[recorded] = "The wind was recorded."

    def explain(
        self,
        shots: pl.DataFrame,
        session: IntArray,
        recorded: BoolArray,
        counts: FloatArray,
    ) -> None:
        """Say why a session without a recorded wind can't be fitted."""
        tracked = texts(shots, "flight_basis", "unknown") != "modelled"
        any_tracked = np.bincount(session, weights=tracked, minlength=len(counts)) > 0
        for k in np.flatnonzero(~recorded & (counts < LEAST_SHOTS)):
            if not any_tracked[k]:
                self.reason[k] = "The device computed the flights in calm air."
                self.se[k] = 0.0
            elif counts[k] == 0:
                self.reason[k] = (
                    "No wind was recorded, and no shot has what it takes to tell: ball speed, "
                    "launch angle, start direction, spin and a tracked carry."
                )
            else:
                self.reason[k] = (
                    f"No wind was recorded, and {counts[k]:.0f} shots with launch and tracked "
                    f"carry are too few to tell it from; {LEAST_SHOTS} are needed."
                )

    def judge(
        self, fitted: IntArray, fit: FlightFit, used: IntArray, tracked: BoolArray, known: BoolArray
    ) -> None:
        """Enter the fitted winds: recovered where significant, else calm, with the reason.

        Whether the export says that the flights were tracked, and whether the ball was calibrated,
        so that a small wind is no fault of the flight law.
        """
        wind = fit.estimates.group[:, :2]
        covariance = fit.estimates.group_covariance[:, :2, :2]
        se = np.sqrt(np.diagonal(covariance, axis1=1, axis2=2))
        distance = np.einsum("ij,ijk,ik->i", wind, np.linalg.inv(covariance), wind)
        self.estimate[fitted], self.estimate_se[fitted], self.shots_used[fitted] = wind, se, used
        self.fit_probability[fitted] = fit_probability(fit.estimates)
        for k, at in enumerate(fitted):
            if self.source[at] == RECORDED:
                self._compare(int(at), wind[k], covariance[k])
                if tracked[k] or self.tracked[at]:
                    self._combine(int(at), wind[k], covariance[k])
            else:
                large = known[k] or np.hypot(*wind[k]) >= LEAST_UNCALIBRATED_MPS
                self._decide(int(at), wind[k], se[k], bool(distance[k] > SIGNIFICANT and large))

    def _compare(self, k: int, wind: FloatArray, covariance: FloatArray) -> None:
        """Tell whether the flights answer to the recorded wind, so that they were tracked."""
        error = covariance + np.diag(self.se[k] ** 2)
        away = wind - self.wind[k]
        from_recorded = float(away @ np.linalg.solve(error, away))
        from_calm = float(wind @ np.linalg.solve(covariance, wind))
        if abs(from_calm - from_recorded) < _TELLING or self.fit_probability[k] < MISFIT:
            return
        self.tracked[k] = from_recorded < from_calm
        self.reason[k] += (
            " The flights answer to it, so they were tracked."
            if self.tracked[k]
            else " The flights show nothing of it, so they were computed in calm air."
        )

    def _combine(self, k: int, wind: FloatArray, covariance: FloatArray) -> None:
        """Weigh the noted wind, which is a prior, with what the tracked flights say."""
        if self.fit_probability[k] < MISFIT:
            return
        noted, flight_precision = np.diag(self.se[k] ** -2), np.linalg.inv(covariance)
        both = np.linalg.inv(noted + flight_precision)
        self.wind[k] = both @ (noted @ self.wind[k] + flight_precision @ wind)
        self.se[k] = np.sqrt(np.diagonal(both))
        self.reason[k] += (
            f" With what {self.shots_used[k]} tracked flights say: head {self.wind[k, 0]:+.1f} ± "
            f"{self.se[k, 0]:.1f} m/s, cross {self.wind[k, 1]:+.1f} ± {self.se[k, 1]:.1f} m/s."
        )

    def _decide(self, k: int, wind: FloatArray, se: FloatArray, significant: bool) -> None:
        """Decide what wind a session is to be used with."""
        found = (
            f"head {wind[0]:+.1f} ± {se[0]:.1f} m/s, cross {wind[1]:+.1f} ± {se[1]:.1f} m/s "
            f"from {self.shots_used[k]} shots"
        )
        if self.fit_probability[k] < MISFIT:
            self.reason[k] = (
                f"The flights fit no wind (nearest: {found}): carry, height and time of flight "
                "contradict each other. Check the units, the kind of ball and the device."
            )
            return
        lost = (np.abs(wind) < 1.96 * se) & (se > 1.0)
        use = np.where(lost | (not significant), 0.0, wind)
        self.wind[k] = use
        self.se[k] = np.where(use == 0.0, _calm_error(wind, se), se)
        if not significant:
            self.reason[k] = f"The shots show no wind beyond chance and the ball: {found}."
            return
        self.source[k] = RECOVERED
        self.tracked[k] = True
        self.reason[k] = f"Recovered: {found}."
        for part, name in enumerate(("head", "cross")):
            if lost[part]:
                what = "a draggy ball" if part == 0 else "a tilted spin axis"
                self.reason[k] += (
                    f" The {name} wind can't be told from {what} and is taken as none."
                )

    def _quantile(self) -> FloatArray:
        """Student's quantile of the 90 % interval, for the shots the noise was judged by."""
        return np.asarray(stdtrit(SCALE_PRIOR_SHOTS + np.maximum(self.shots_used, 1) - 1.0, 0.95))

    def frame(self, sessions: pl.DataFrame) -> pl.DataFrame:
        """The tidy result."""
        speed, origin = speed_and_from(self.wind[:, 0], self.wind[:, 1])
        columns: dict[str, object] = {
            "wind_source": pl.Series(self.source, dtype=pl.String),
            "wind_speed_mps": speed,
            "wind_from_deg": origin,
        }
        for k, name in enumerate(("head_wind", "cross_wind")):
            columns[f"{name}_mps"] = self.wind[:, k]
            columns[f"{name}_se_mps"] = self.se[:, k]
            columns[f"{name}_estimate_mps"] = self.estimate[:, k]
            columns[f"{name}_estimate_se_mps"] = self.estimate_se[:, k]
            reach = self._quantile() * self.estimate_se[:, k]
            columns[f"{name}_low_mps"] = self.estimate[:, k] - reach
            columns[f"{name}_high_mps"] = self.estimate[:, k] + reach
        columns["fit_probability"] = self.fit_probability
        columns["flights_tracked"] = pl.Series(self.tracked.tolist(), dtype=pl.Boolean)
        columns["shots_used"] = self.shots_used
        columns["wind_reason"] = pl.Series(self.reason, dtype=pl.String)
        result = pl.DataFrame(columns).with_columns(pl.col(pl.Float64).fill_nan(None))
        return pl.concat([sessions, result], how="horizontal")


def fit_probability(estimates: Estimates) -> FloatArray:
    """Probability that what was needed beside the wind is as small as it was.

    Parameters
    ----------
    estimates : Estimates
        Fitted sessions; all parameters after head and cross wind have a standard normal prior.

    Returns
    -------
    ndarray
        Probability [1] of each session; small where ball, air and shape of flight had to be bent
        farther than their priors allow, so that no wind explains the flights.

    Notes
    -----
    If the priors hold, an estimate z varies by 1 - C, the prior less the posterior covariance;
    z' (1 - C)^-1 z is chi-squared. Directions of which little was learnt are left out.
    """
    probability = np.ones(len(estimates.group))
    for k, (all_of_it, covariance) in enumerate(
        zip(estimates.group, estimates.group_covariance, strict=True)
    ):
        values, vectors = np.linalg.eigh(np.eye(len(all_of_it) - 2) - covariance[2:, 2:])
        learnt = values > _LEAST_LEARNT
        z = (vectors.T @ all_of_it[2:])[learnt]
        if learnt.any():
            probability[k] = chdtrc(learnt.sum(), np.sum(z**2 / values[learnt]))
    return probability


def _calm_error(wind: FloatArray, se: FloatArray) -> FloatArray:
    """Root mean square error of taking the wind as none, given what the shots say of it."""
    variance = 1.0 / (UNKNOWN_WIND_SD_MPS**-2 + se**-2)
    mean = variance * wind / se**2
    return np.sqrt(variance + mean**2)
