"""How far a single measurement of a shot may be off.

The default figures are common practice, no source: what a good outdoor device shows from shot to
shot. They set the weights of the fits; each fit then scales them to the scatter it finds.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from rangeledger.models.arrays import FloatArray
from rangeledger.models.flight.flight_sensitivity import FlightInputs

LAUNCH: Final = (
    "ball_speed_mps",
    "launch_angle_deg",
    "launch_direction_deg",
    "spin_rate_rpm",
    "spin_axis_deg",
)

WIND: Final = ("head_wind_mps", "cross_wind_mps")


@dataclass(frozen=True, slots=True)
class MeasurementNoise:
    """Standard deviations of the measurement of one shot; names carry the units."""

    ball_speed_relative: float = 0.005
    launch_angle_deg: float = 0.3
    launch_direction_deg: float = 0.5
    spin_rate_relative: float = 0.05
    spin_axis_deg: float = 2.0
    carry_m: float = 1.0
    carry_side_m: float = 1.0
    apex_m: float = 0.7
    descent_angle_deg: float = 1.0
    hang_time_s: float = 0.1
    gust_mps: float = 0.7

    def of_launch(self, inputs: FlightInputs) -> FloatArray:
        """Standard deviations of the five launch quantities, shape (shots, 5)."""
        shape = inputs.ball_speed_mps.shape
        return np.stack(
            [
                self.ball_speed_relative * inputs.ball_speed_mps,
                np.full(shape, self.launch_angle_deg),
                np.full(shape, self.launch_direction_deg),
                self.spin_rate_relative * inputs.spin_rate_rpm,
                np.full(shape, self.spin_axis_deg),
            ],
            axis=-1,
        )

    def of_results(self) -> FloatArray:
        """Standard deviations of carry, side, apex, descent and hang time."""
        return np.array(
            [self.carry_m, self.carry_side_m, self.apex_m, self.descent_angle_deg, self.hang_time_s]
        )


DEFAULT_NOISE: Final = MeasurementNoise()


def covariance_of_slopes(
    slopes: FloatArray, launch_sd: FloatArray, noise: MeasurementNoise = DEFAULT_NOISE
) -> FloatArray:
    """Covariance of measured minus computed results of each shot.

    Parameters
    ----------
    slopes : ndarray
        Derivatives by launch, head and cross wind [result per input], shape (shots, 5, 7).
    launch_sd : ndarray
        Standard deviations of the launch quantities [their units], shape (shots, 5).
    noise : MeasurementNoise
        Standard deviations of a measurement.

    Returns
    -------
    ndarray
        Covariance [products of the results' units], shape (shots, 5, 5).

    Notes
    -----
    J_l D_l J_l' + R + g^2 J_w J_w' with J_l and J_w the derivatives by launch and by wind, D_l
    the launch variances, R the variances of the results and g the gusts' standard deviation.
    """
    gusts = np.full((*launch_sd.shape[:-1], 2), noise.gust_mps)
    scaled = slopes * np.concatenate([launch_sd, gusts], axis=-1)[:, None, :]
    covariance = scaled @ np.swapaxes(scaled, 1, 2) + np.diag(noise.of_results() ** 2)
    return np.asarray(covariance, dtype=np.float64)
