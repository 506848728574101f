"""Random golf shots whose ball flight, club delivery and roll fit together."""

from __future__ import annotations

import numpy as np
import polars as pl
from rangeledger.models.flight.trajectory import fly

# Club -> ball speed [m/s], launch [deg], spin [rpm], smash factor. Common practice, no source.
BAG: dict[str, tuple[float, float, float, float]] = {
    "driver": (66.0, 11.5, 2500.0, 1.47),
    "3-wood": (61.5, 11.0, 3300.0, 1.45),
    "5-wood": (58.5, 12.5, 3900.0, 1.44),
    "7-wood": (56.5, 14.0, 4400.0, 1.43),
    "4-hybrid": (55.5, 13.5, 4300.0, 1.42),
    "5-hybrid": (53.5, 14.5, 4700.0, 1.41),
    "4-iron": (54.0, 13.0, 4300.0, 1.40),
    "5-iron": (52.0, 14.5, 4900.0, 1.39),
    "6-iron": (50.0, 16.0, 5500.0, 1.37),
    "7-iron": (48.0, 17.5, 6100.0, 1.35),
    "8-iron": (45.5, 19.5, 6800.0, 1.32),
    "9-iron": (43.0, 22.0, 7500.0, 1.29),
    "pitching-wedge": (40.5, 25.0, 8100.0, 1.25),
    "gap-wedge": (37.5, 27.5, 8500.0, 1.20),
    "sand-wedge": (34.5, 30.5, 9000.0, 1.14),
    "lob-wedge": (31.0, 34.0, 9200.0, 1.06),
    "50-wedge": (38.0, 27.0, 8400.0, 1.21),
    "54-wedge": (35.5, 29.5, 8800.0, 1.16),
    "56-wedge": (34.0, 31.0, 9000.0, 1.13),
    "58-wedge": (32.5, 32.5, 9200.0, 1.10),
    "60-wedge": (31.0, 34.0, 9300.0, 1.05),
}


def random_shots(
    rng: np.random.Generator,
    clubs: list[str],
    *,
    strength: float = 1.0,
    effort: np.ndarray | None = None,
) -> pl.DataFrame:
    """Shots with the given clubs, one row a club entry, in canonical columns and units.

    Parameters
    ----------
    rng : np.random.Generator
        Source of all chance.
    clubs : list[str]
        The club of every shot.
    strength : float
        Factor on all ball speeds of the player.
    effort : np.ndarray or None
        Factor on the ball speed of each shot, for part swings.

    Returns
    -------
    pl.DataFrame
        Club delivery, launch, spin, landing, rest and flight.
    """
    n = len(clubs)
    bag = np.array([BAG[club] for club in clubs])
    speed = bag[:, 0] * strength * (1.0 if effort is None else effort)
    mishit = rng.random(n) < 0.08
    speed *= 1.0 + rng.normal(0, 0.015, n) - mishit * rng.uniform(0.05, 0.2, n)
    launch = bag[:, 1] + rng.normal(0, 1.0, n)
    spin = bag[:, 2] * (speed / bag[:, 0]) * (1.0 + rng.normal(0, 0.06, n))
    path = rng.normal(rng.normal(0, 2.0), 1.5, n)
    face = rng.normal(0, 1.5, n)
    axis = np.clip((path - face) * -1.8 * 1500.0 / np.sqrt(spin * 1500.0), -40, 40)
    direction = 0.8 * face + 0.2 * path
    flight = fly(
        speed,
        launch,
        direction,
        spin,
        axis,
        air_density_kgm3=rng.uniform(1.08, 1.25),
        wind_speed_mps=rng.choice([0.0, rng.uniform(0, 4)]),
        wind_from_deg=rng.uniform(0, 360),
        drag_scale=rng.uniform(0.96, 1.06),
    )
    run = np.clip(26.0 * np.exp(-(flight.descent_angle_deg - 20.0) / 13.0), 0.3, 30.0)
    return pl.DataFrame(
        {
            "club": clubs,
            "clubhead_speed_mps": speed / (bag[:, 3] * (1.0 + rng.normal(0, 0.01, n))),
            "angle_of_attack_deg": rng.normal(np.where(bag[:, 0] > 62, 1.0, -4.0), 1.0, n),
            "club_path_deg": path,
            "face_angle_deg": face,
            "dynamic_loft_deg": launch / 0.82 + rng.normal(0, 0.5, n),
            "ball_speed_mps": speed,
            "launch_angle_deg": launch,
            "launch_direction_deg": direction,
            "spin_rate_rpm": spin,
            "spin_axis_deg": axis,
            "carry_m": flight.carry_m,
            "carry_side_m": flight.carry_side_m,
            "total_m": flight.carry_m + run,
            "total_side_m": flight.carry_side_m * (1.0 + run / flight.carry_m),
            "apex_m": flight.apex_m,
            "descent_angle_deg": flight.descent_angle_deg,
            "hang_time_s": flight.hang_time_s,
        }
    )
