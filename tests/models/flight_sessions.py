"""Synthetic sessions with known wind, ball and measurement noise, for the tests of the fits."""

from __future__ import annotations

import numpy as np
import polars as pl
from rangeledger.models.calibration.measurement_noise import MeasurementNoise
from rangeledger.models.flight.aerodynamics import DEFAULT
from rangeledger.models.flight.flight_sensitivity import FlightInputs, observe

# club: ball speed m/s, launch deg, spin rpm
CLUBS = {
    "driver": (70.0, 12.0, 2700.0),
    "7-iron": (52.0, 17.0, 6800.0),
    "pitching-wedge": (44.0, 24.0, 9000.0),
}
REFERENCE_DENSITY = 1.185312


def sessions(
    random,
    count,
    shots,
    *,
    clubs=tuple(CLUBS),
    wind=None,
    drag_log=0.0,
    lift_log=0.0,
    tilt=0.0,
    axis_offset=0.0,
    density=REFERENCE_DENSITY,
    noise=None,
    shape_only=("carry_m", "carry_side_m"),
    apex_share=0.0,
    descent_deg=0.0,
    hang_share=0.0,
    player="p",
    aerodynamics=DEFAULT,
):
    """Shots of `count` sessions as canonical rows; arrays of session size give each its truth."""
    noise = noise or MeasurementNoise()
    session = np.repeat(np.arange(count), shots)
    club = np.array(clubs)[np.tile(np.arange(shots) % len(clubs), count)]
    nominal = np.array([CLUBS[name] for name in club])
    n = len(club)

    def each(value):
        value = np.asarray(value, dtype=float)
        return value if value.shape == (n,) else np.broadcast_to(value, (count,))[session]

    head, cross = (each(part) for part in (wind if wind is not None else (0.0, 0.0)))
    truth = FlightInputs(
        nominal[:, 0] * random.normal(1.0, 0.02, n),
        nominal[:, 1] + random.normal(0.0, 1.0, n),
        random.normal(0.0, 2.0, n),
        nominal[:, 2] * random.normal(1.0, 0.06, n),
        random.normal(0.0, 4.0, n) + each(tilt),
        each(density),
        head + random.normal(0.0, noise.gust_mps, n),
        cross + random.normal(0.0, noise.gust_mps, n),
        each(drag_log),
        each(lift_log),
    )
    results = observe(truth, aerodynamics)
    results[:, 2] *= 1.0 + each(apex_share)
    results[:, 3] += each(descent_deg)
    results[:, 4] *= 1.0 + each(hang_share)
    results += random.normal(size=results.shape) * noise.of_results()
    launch = np.stack(truth[:5], axis=-1)
    launch += random.normal(size=launch.shape) * noise.of_launch(truth)
    launch[:, 4] -= each(axis_offset)
    columns = {
        "session_id": [f"s{k:04d}" for k in session],
        "player": player,
        "club": club,
        "swing": "full",
        "ball": "premium",
        "flight_basis": "measured",
        "ball_speed_mps": launch[:, 0],
        "launch_angle_deg": launch[:, 1],
        "launch_direction_deg": launch[:, 2],
        "spin_rate_rpm": launch[:, 3],
        "spin_axis_deg": launch[:, 4],
        "air_temp_c": (75.0 - 32.0) / 1.8,
        "air_pressure_hpa": 30.0 * 33.86389,
        "humidity_pct": 50.0,
    }
    names = ("carry_m", "carry_side_m", "apex_m", "descent_angle_deg", "hang_time_s")
    columns |= {name: results[:, k] for k, name in enumerate(names) if name in shape_only}
    return pl.DataFrame(columns)
