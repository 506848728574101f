"""How high a stroke flies along its way: what trees it passes over."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

import numpy as np
from rangeledger.models.arrays import FloatArray
from rangeledger.models.flight.day_flight import Conditions, Launch
from rangeledger.models.flight.trajectory import fly_path

# Places along the way at which the height is taken: four metres apart on a long drive.
PLACES: Final = 61
_PATH_POINTS: Final = 201


@lru_cache(maxsize=256)
def height_profile(launch: Launch, conditions: Conditions) -> FloatArray:
    """Height of the stock shot along its way, as a share of the distance to its landing.

    Parameters
    ----------
    launch : Launch
        Stock launch of a club and swing.
    conditions : Conditions
        Wind and air, the wind told from the line of aim.

    Returns
    -------
    ndarray, shape (places,)
        Height above the ball over the distance to the landing [1], at evenly spaced shares of
        that distance from 0 to 1; empty where the ball never lands.

    Notes
    -----
    A shot of another length is taken to fly a path of the same form, so a mishit flies lower in
    proportion.
    """
    path = fly_path(
        launch.ball_speed_mps,
        launch.launch_angle_deg,
        launch.launch_direction_deg,
        launch.spin_rate_rpm,
        launch.spin_axis_deg,
        points=_PATH_POINTS,
        air_density_kgm3=conditions.air_density_kgm3,
        wind_speed_mps=conditions.wind_speed_mps,
        wind_from_deg=conditions.wind_from_deg,
        landing_height_m=conditions.landing_height_m,
        wind_profile=conditions.wind_profile,
        drag_scale=launch.drag_scale,
        lift_scale=launch.lift_scale,
    )
    if not path.time_s.size:
        return np.empty(0)
    way = np.hypot(path.downrange_m, path.side_m)
    # In a gale from ahead a high shot comes back; its way out counts.
    way = np.maximum.accumulate(way)
    return np.asarray(
        np.interp(np.linspace(0.0, way[-1], PLACES), way, path.height_m) / way[-1], dtype=float
    )
