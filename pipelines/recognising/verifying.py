"""Columns whose heading is only half understood: taken if their numbers bear it out."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from models.flight import fly
from pipelines.recognising.assignment import Assigned, Assignment
from pipelines.recognising.consistency import FloatArray, sample_rows, usual_spin
from schemas.compositions import BACK_SPIN, column_dimension
from schemas.units import UNITS

# Log of observed over computed between which a flight column may lie; common practice, no source.
_BOUNDS = {
    "carry_m": (-0.3, 0.2),
    "total_m": (-0.2, 0.4),
    "apex_m": (-0.4, 0.4),
    "hang_time_s": (-0.25, 0.25),
    "descent_angle_deg": (-0.35, 0.35),
}
Computed = tuple[dict[str, FloatArray], npt.NDArray[np.int64]]
_FEWEST_ROWS = 5
_LEAST_CORRELATION = 0.6
_STEADY = 0.04  # relative spread below which a correlation says nothing
_MOST_UNKNOWN = 2


def _computed(values: Mapping[str, FloatArray]) -> Computed | None:
    """Flights of a sample of rows, by column, and which rows they are."""
    speed, launch = values.get("ball_speed_mps"), values.get("launch_angle_deg")
    if speed is None or launch is None:
        return None
    rows = sample_rows(np.isfinite(speed) & np.isfinite(launch) & (launch > 3.0) & (speed > 5.0))
    if rows.size < _FEWEST_ROWS:
        return None
    spin = values.get("spin_rate_rpm", values.get(BACK_SPIN))
    usual = usual_spin(launch[rows])
    spun = usual if spin is None else np.where(spin[rows] > 0, spin[rows], usual)
    flight = fly(speed[rows], launch[rows], 0.0, spun)
    found = {name: np.asarray(getattr(flight, name)) for name in _BOUNDS if name != "total_m"}
    return {**found, "total_m": found["carry_m"]}, rows


def _borne_out(column: str, observed: FloatArray, computed: FloatArray) -> bool:
    """Whether numbers lie near the computed ones and rise and fall with them."""
    use = np.isfinite(observed) & np.isfinite(computed) & (observed > 0) & (computed > 0)
    if use.sum() < _FEWEST_ROWS:
        return False
    seen, wanted = observed[use], computed[use]
    low, high = _BOUNDS[column]
    if not low < float(np.median(np.log(seen / wanted))) < high:
        return False
    spreads = np.std(seen) / np.mean(seen), np.std(wanted) / np.mean(wanted)
    if max(spreads) < _STEADY:
        return bool(spreads[0] > 0.0)
    if min(spreads) <= 1e-9:
        return False
    return float(np.corrcoef(seen, wanted)[0, 1]) >= _LEAST_CORRELATION


def _is_borne_out(assigned: Assigned, computed: Computed | None) -> bool:
    heading, numbers = assigned.profile.heading, assigned.profile.numbers
    if len(heading.unknown) > _MOST_UNKNOWN or numbers is None:
        return False
    if assigned.column not in _BOUNDS:
        known = assigned.profile.known
        varied = known.size < _FEWEST_ROWS or float(np.ptp(known)) > 0.0
        return len(heading.unknown) == 1 and varied
    if computed is None:
        return False
    dimension = column_dimension(assigned.column)
    stated = [u for u in (assigned.profile.cell_units or heading.units)
              if UNITS[u].dimension == dimension]  # fmt: skip
    usual = {"length": ("m", "yd", "ft"), "time": ("s",), "angle": ("deg",)}
    units = stated or usual[dimension or ""]
    values = numbers.value.to_numpy()[computed[1]].astype(np.float64)
    return any(
        _borne_out(assigned.column, values * UNITS[u].factor, computed[0][assigned.column])
        for u in units
    )


def take_doubtful(assignment: Assignment, values: Mapping[str, FloatArray]) -> list[str]:
    """Decide on the columns whose headings hold words that no vocabulary has.

    Parameters
    ----------
    assignment : Assignment
        Its doubtful columns are taken or kept as extras; changed in place.
    values : Mapping[str, numpy array]
        The measured columns that are certain, in canonical units.

    Returns
    -------
    list[str]
        A remark for each column that was taken.
    """
    remarks = []
    computed = _computed(values) if assignment.doubtful else None
    for assigned in sorted(assignment.doubtful, key=lambda a: -a.weight):
        text = assigned.profile.heading.text
        words = ", ".join(assigned.profile.heading.unknown)
        if assigned.column not in assignment.by_column and _is_borne_out(assigned, computed):
            assignment.by_column[assigned.column] = assigned
            if not words:
                assigned.evidence.append("its numbers fit the flights")
                continue
            assigned.evidence.append(f"the unknown words {words} do no harm: its numbers fit")
            remarks.append(f"Column {text!r} was taken as {assigned.column} though {words} is no "
                           "known word.")  # fmt: skip
        else:
            but = f"{words} is no known word" if words else "its numbers don't fit the flights"
            why = f"reads as {assigned.column}, but {but}"
            assignment.extras.append((assigned.profile, why))
    assignment.doubtful.clear()
    return remarks
