"""Columns that look like canonical ones and are none must not be taken for them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import polars as pl
import pytest
from rangeledger.pipelines.reader.prepare import prepare_export
from rangeledger.schemas.errors import ExportError

from tests.exports.flights import random_shots
from tests.exports.more_tempting import MORE_HEADINGS
from tests.exports.tempting import HEADINGS

YARD_M, FOOT_M, MPH_MPS = 0.9144, 0.3048, 0.44704  # by definition (NIST SP 811)
_STANDARD = {
    "Ball speed (mph)": ("ball_speed_mps", MPH_MPS, 1),
    "Launch angle (deg)": ("launch_angle_deg", 1.0, 1),
    "Spin (rpm)": ("spin_rate_rpm", 1.0, 0),
    "Carry (yd)": ("carry_m", YARD_M, 1),
}
_LEFT_OUT = {"angles": "Launch angle (deg)", "spins": "Spin (rpm)", "distances": "Carry (yd)"}


def _tempting(kind: str, shots: pl.DataFrame, rng: np.random.Generator) -> list[str]:
    """Cells near those of the canonical column that the heading brings to mind."""
    if kind == "people":
        return ["Alma Berg", "Rune Holt"] * (shots.height // 2)
    numbers = {
        "times": shots["hang_time_s"] * 0.55,
        "heights": shots["apex_m"] / FOOT_M * 0.8,
        "sides": shots["carry_side_m"] / YARD_M * 0.7 + 0.5,
        "distances": shots["carry_m"] / YARD_M * 1.02 + rng.normal(0, 2, shots.height),
        "speeds": shots["clubhead_speed_mps"] / MPH_MPS * 0.97,
        "angles": shots["launch_angle_deg"] * 0.9 + rng.normal(0, 0.3, shots.height),
        "spins": shots["spin_rate_rpm"] * 0.8,
        "temperatures": pl.Series(rng.normal(21, 0.1, shots.height)),
        "shares": pl.Series(rng.normal(55, 3, shots.height)),
    }
    return [f"{value:.1f}" for value in numbers[kind]]


def _taken_as(heading: str, kind: str, folder: Path, *, alone: bool) -> str | None:
    """What a column becomes beside usual ones; `alone` leaves out the one that it resembles."""
    rng = np.random.default_rng(5)
    shots = random_shots(rng, ["driver"] * 6 + ["7-iron"] * 6)
    columns = {"Club": shots["club"].to_list(), heading: _tempting(kind, shots, rng)}
    for name, (column, factor, places) in _STANDARD.items():
        if not (alone and name == _LEFT_OUT.get(kind)):
            columns[name] = [f"{value / factor:.{places}f}" for value in shots[column]]
    path = folder / "visit.csv"
    pl.DataFrame(columns).write_csv(path)
    try:
        export = prepare_export(path)
    except ExportError:
        return None
    return next(r.column for r in export.recognition.columns if r.heading == heading)


@pytest.mark.parametrize("kind", HEADINGS)
@pytest.mark.parametrize("alone", [False, True])
def test_no_tempting_column_is_taken(kind: str, alone: bool, tmp_path: Path) -> None:
    taken = {h: _taken_as(h, kind, tmp_path, alone=alone) for h in HEADINGS[kind]}
    assert {heading: column for heading, column in taken.items() if column} == {}


@pytest.mark.parametrize("kind", MORE_HEADINGS)
def test_no_tempting_column_is_taken_where_it_is_the_only_one_of_its_kind(
    kind: str, tmp_path: Path
) -> None:
    taken = {h: _taken_as(h, kind, tmp_path, alone=True) for h in MORE_HEADINGS[kind]}
    assert {heading: column for heading, column in taken.items() if column} == {}
