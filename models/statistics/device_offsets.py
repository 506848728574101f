"""What devices read apart: offsets shared by all that one measured, learned beside levels and days.

The mean of a unit (a club) on a visit (a session) as one device read it is the unit's level, plus
what has become of the level that all units share, plus the day, plus the device's offset, plus
sampling error. How far devices lie apart is not known either: every scale of a grid, none among
them, is weighted by how well it explains the readings, so that offsets which are not there cost
next to nothing (empirical Bayes).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from rangeledger.models.arrays import FloatArray, IntArray
from rangeledger.models.statistics.mixture import averaged, averaged_quantile
from rangeledger.models.statistics.shared_level import Grid

# An offset that an assumption leaves no doubt of has this variance; guards 1 / 0 only [1].
NO_VARIANCE: Final = 1e-14


@dataclass(frozen=True, slots=True)
class Readings:
    """Means of units on visits by device, one row each.

    Attributes
    ----------
    unit, visit, device : array of int, shape (rows,)
        Numbers from 0 of each.
    mean : array, shape (rows,)
        Mean of the unit on that visit, as a logarithm [1].
    variance : array, shape (rows,)
        Its sampling variance given visit and device [1].
    age : array, shape (visits,)
        Visits since each visit [1].
    """

    unit: IntArray
    visit: IntArray
    device: IntArray
    mean: FloatArray
    variance: FloatArray
    age: FloatArray


@dataclass(frozen=True, slots=True)
class DeviceOffsets:
    """What was learned, under each assumption (paths, wanders, drifts, scales), and the weights.

    Attributes
    ----------
    weight : array, shape (paths, wanders, drifts, scales)
        Weight of each assumption; they add up to 1.
    offset : array, shape (paths, wanders, drifts, scales, devices)
        Offset of each device about their common centre [1].
    covariance : array, shape (paths, wanders, drifts, scales, devices, devices)
        Covariance of the errors [1].
    """

    weight: FloatArray
    offset: FloatArray
    covariance: FloatArray

    def against(self, reference: int) -> tuple[FloatArray, FloatArray]:
        """Return each device's offset against one of them, and its standard error.

        Parameters
        ----------
        reference : int
            The device that the others are held against.

        Returns
        -------
        mean, standard_error : array, shape (devices,)
            Averages over the grid [1]; 0 for the reference.
        """
        mean, variance = averaged(*self._contrasts(reference))
        return mean, np.sqrt(variance)

    def quantile(self, reference: int, share: float) -> FloatArray:
        """Return the value below which a share of each device's offset lies.

        Parameters
        ----------
        reference : int
            The device that the others are held against.
        share : float
            Share below the value [1].

        Returns
        -------
        array, shape (devices,)
            Offsets [1]; 0 for the reference.
        """
        found = averaged_quantile(*self._contrasts(reference), share)
        found[reference] = 0.0
        return found

    def _contrasts(self, reference: int) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return weight, mean and variance, one series a device; rows agree on scale and path."""
        mean = self.offset - self.offset[..., reference, None]
        own = np.diagonal(self.covariance, axis1=-2, axis2=-1)
        both = self.covariance[..., reference, :]
        variance = own + own[..., reference, None] - 2.0 * both
        paths, wanders, drifts, scales = self.weight.shape
        shape = (paths * scales, wanders * drifts)

        def rows(values: FloatArray) -> FloatArray:
            turned = np.moveaxis(values, (4, 0, 3, 1, 2), (0, 1, 2, 3, 4))
            return turned.reshape(-1, *shape)

        return rows(self.weight[..., None]), rows(mean), rows(np.maximum(variance, NO_VARIANCE))


def device_offsets(
    readings: Readings, grid: Grid, scales: FloatArray, scale_prior: FloatArray
) -> DeviceOffsets:
    """Return the offsets of devices.

    Parameters
    ----------
    readings : Readings
        Means of units on visits by device.
    grid : Grid
        Assumptions on level and days.
    scales : array, shape (scales,)
        Standard deviations of the offsets that are thought of [1]; 0 for none.
    scale_prior : array, shape (scales,)
        Weight of each beforehand [1].

    Returns
    -------
    DeviceOffsets
        Averages over the grids.

    Notes
    -----
    y = mu_unit + s_visit + o_device + e, mu free, s ~ N(0, level + day), o ~ N(0, tau^2). The
    units' levels are eliminated exactly (restricted likelihood), then the visits, so that each
    tau costs the inverse of a matrix as wide as there are devices. With one visit and tau at its
    restricted maximum these are the usual predictions of a random effect.

    References
    ----------
    [patterson1971], [morris1983]
    """
    information, pulled, score = _of_devices(readings, grid)
    devices = information.shape[-1]
    spread = scales**2
    eye = np.eye(devices)
    mixed = eye + spread[:, None, None] * information[..., None, :, :]
    inverse = np.linalg.inv(mixed)
    covariance = spread[:, None, None] * inverse
    mean = (covariance @ pulled[..., None, :, None])[..., 0]
    chance = score[..., None] + 0.5 * (pulled[..., None, :] * mean).sum(axis=-1)
    chance = chance - 0.5 * np.linalg.slogdet(mixed)[1]
    chance = chance + grid.log_prior[..., None] + np.log(scale_prior)
    weight = np.exp(chance - chance.max())
    weight /= weight.sum()
    return DeviceOffsets(weight, mean, covariance)


def _of_devices(readings: Readings, grid: Grid) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return what the readings say of the devices, the visits eliminated, and the likelihood.

    Information (paths, wanders, drifts, devices, devices), information times best value, and the
    restricted log likelihood where no device is off.
    """
    visits = len(readings.age)
    design = np.zeros((len(readings.mean), visits + int(readings.device.max()) + 1))
    rows = np.arange(len(readings.mean))
    design[rows, readings.visit] = 1.0
    design[rows, visits + readings.device] = 1.0
    walked = grid.wander[:, None, None] * np.minimum.outer(readings.age, readings.age)
    level = grid.paths[:, None] + walked
    parts = [
        _under_drift(readings, design, level + day * np.eye(visits), own)
        for day, own in zip(grid.drift, grid.own_drift, strict=True)
    ]
    information, pulled, score = (np.stack(part, axis=2) for part in zip(*parts, strict=True))
    return information, pulled, score


def _under_drift(
    readings: Readings, design: FloatArray, prior: FloatArray, own_drift: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the same under one drift; `prior` is the covariance of the visits."""
    weight = 1.0 / (readings.variance + own_drift)
    units = int(readings.unit.max()) + 1
    total = np.bincount(readings.unit, weights=weight, minlength=units)
    middle = np.bincount(readings.unit, weights=weight * readings.mean, minlength=units) / total
    rest = readings.mean - middle[readings.unit]
    shares = np.zeros((units, design.shape[1]))
    np.add.at(shares, readings.unit, weight[:, None] * design)
    known = design.T @ (weight[:, None] * design) - shares.T @ (shares / total[:, None])
    towards = design.T @ (weight * rest)
    score = 0.5 * (np.log(weight).sum() - np.log(total).sum() - (weight * rest**2).sum())
    visits = len(readings.age)
    here, across, there = known[:visits, :visits], known[:visits, visits:], known[visits:, visits:]
    mixed = np.eye(visits) + prior @ here
    reduced = np.linalg.solve(mixed, prior)  # covariance of the visits, given the readings
    day = reduced @ towards[:visits]
    information = there - across.T @ reduced @ across
    pulled = towards[visits:] - day @ across
    score = score + 0.5 * day @ towards[:visits] - 0.5 * np.linalg.slogdet(mixed)[1]
    return information, pulled, score
