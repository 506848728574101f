"""Small exports with flights of the project's solver, written for single tests."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from rangeledger.models.flight.trajectory import fly
from rangeledger.pipelines.reader.prepare import prepare_export
from rangeledger.pipelines.reader.prepared_export import PreparedExport

YARD_M, MPH_MPS, FOOT_M = 0.9144, 0.44704, 0.3048  # exact, NIST SP 811


def launches(count: int = 14, *, seed: int = 1) -> dict[str, np.ndarray]:
    """Launches of a seven iron and a driver in canonical units, with their calm flights."""
    rng = np.random.default_rng(seed)
    driver = np.arange(count) >= count // 2
    speed = np.where(driver, 66.0, 48.0) + rng.normal(0, 1.0, count)
    launch = np.where(driver, 11.0, 17.5) + rng.normal(0, 0.8, count)
    spin = np.where(driver, 2500.0, 6200.0) * (1 + rng.normal(0, 0.05, count))
    direction, axis = rng.normal(0, 2.0, count), rng.normal(0, 4.0, count)
    flight = fly(speed, launch, direction, spin, axis)
    return {
        "ball_speed_mps": speed, "launch_angle_deg": launch, "launch_direction_deg": direction,
        "spin_rate_rpm": spin, "spin_axis_deg": axis, "carry_m": flight.carry_m,
        "carry_side_m": flight.carry_side_m, "apex_m": flight.apex_m,
        "hang_time_s": flight.hang_time_s, "descent_angle_deg": flight.descent_angle_deg,
    }  # fmt: skip


def clubs(count: int = 14) -> list[str]:
    """The clubs of `launches`."""
    return ["7 Iron"] * (count // 2) + ["Driver"] * (count - count // 2)


def table(columns: dict[str, np.ndarray | list[str]], *, delimiter: str = ",") -> str:
    """Text of a table: heading -> cells; numbers with two decimals."""
    cells = [
        [cell if isinstance(cell, str) else f"{cell:.2f}" for cell in values]
        for values in columns.values()
    ]
    lines = [delimiter.join(columns), *(delimiter.join(row) for row in zip(*cells, strict=True))]
    return "\n".join(lines) + "\n"


def prepared(
    folder: Path, text: str, *, name: str = "visit.csv", **options: object
) -> PreparedExport:
    """An export with this text, prepared."""
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return prepare_export(path, **options)
