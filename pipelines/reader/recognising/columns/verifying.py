"""Sided columns whose heading is only half understood: taken if their numbers bear it out."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
from rangeledger.models.arrays import FloatArray
from rangeledger.models.flight.usual_spin import usual_spin
from rangeledger.pipelines.reader.recognising.columns.assignment import Assigned, Assignment
from rangeledger.pipelines.reader.recognising.columns.consistency import sample_rows
from rangeledger.pipelines.reader.recognising.columns.curving import relative_signs
from rangeledger.schemas.compositions import BACK_SPIN, column_dimension
from rangeledger.schemas.units import UNITS

_FEWEST_ROWS = 5
_LEAST_CORRELATION = 0.6
_USUAL_UNITS = {"length": ("m", "yd", "ft"), "angle": ("deg",)}


def _possible_units(assigned: Assigned) -> tuple[str, ...]:
    """The stated unit, else those that are usual for the kind of quantity."""
    dimension = column_dimension(assigned.column) or ""
    stated = assigned.profile.cell_units or assigned.profile.heading.units
    fitting = tuple(u for u in stated if UNITS[u].dimension == dimension)
    return fitting or _USUAL_UNITS.get(dimension, ())


def _is_borne_out(assigned: Assigned, values: Mapping[str, FloatArray]) -> bool:
    """Whether the numbers say what the heading leaves open; where they can't, they don't."""
    unknown, numbers = assigned.profile.heading.unknown, assigned.profile.numbers
    test = _TESTS.get(assigned.column)
    if test is None or numbers is None or len(unknown) > 1 or any(map(str.isdigit, unknown)):
        return False
    found = numbers.value.to_numpy().astype(np.float64)
    return any(
        test(assigned.column, found * UNITS[unit].factor, values)
        for unit in _possible_units(assigned)
    )


def _curves(column: str, found: FloatArray, values: Mapping[str, FloatArray]) -> bool:
    """Whether start line, curve and side agree beyond doubt when this column is one of them."""
    whole = {**values, column: found}
    side = whole.get("carry_side_m", whole.get("total_side_m"))
    speed, launch = whole.get("ball_speed_mps"), whole.get("launch_angle_deg")
    if side is None or speed is None or launch is None:
        return False
    rows = sample_rows(np.isfinite(side) & np.isfinite(speed) & np.isfinite(launch))
    if rows.size < _FEWEST_ROWS:
        return False
    usual = usual_spin(launch[rows])
    spin = whole.get("spin_rate_rpm", whole.get(BACK_SPIN))
    spun = usual if spin is None else np.where(spin[rows] > 0, spin[rows], usual)
    start, axis = whole.get("launch_direction_deg"), whole.get("spin_axis_deg")
    signs = relative_signs(
        speed[rows], launch[rows], spun,
        None if start is None else start[rows], None if axis is None else axis[rows], side[rows],
    )  # fmt: skip
    proven = {"launch_direction_deg": signs.direction, "spin_axis_deg": signs.axis}
    return proven.get(column, signs.direction or signs.axis) != 0


def _follows_start(_: str, found: FloatArray, values: Mapping[str, FloatArray]) -> bool:
    """Whether a face angle goes with the start line, which it mostly makes."""
    return _correlated(found, values.get("launch_direction_deg"))


def _correlated(found: FloatArray, other: FloatArray | None) -> bool:
    if other is None:
        return False
    use = np.isfinite(found) & np.isfinite(other)
    if use.sum() < _FEWEST_ROWS or np.std(found[use]) < 1e-6 or np.std(other[use]) < 1e-6:
        return False
    return float(np.corrcoef(found[use], other[use])[0, 1]) >= _LEAST_CORRELATION


_TESTS: dict[str, Callable[[str, FloatArray, Mapping[str, FloatArray]], bool]] = {
    **dict.fromkeys(
        ("launch_direction_deg", "spin_axis_deg", "carry_side_m", "total_side_m"), _curves
    ),
    "face_angle_deg": _follows_start,
}


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
    for assigned in sorted(assignment.doubtful, key=lambda a: -a.weight):
        text = assigned.profile.heading.text
        words = ", ".join(assigned.profile.heading.unknown)
        fits = _is_borne_out(assigned, values)
        if assigned.column not in assignment.by_column and fits:
            assignment.by_column[assigned.column] = assigned
            assigned.evidence.append(f"the unknown words {words} do no harm: its numbers fit")
            remarks.append(f"Column {text!r} was taken as {assigned.column} though {words} is no "
                           "known word.")  # fmt: skip
        else:
            but = f"{words} is no known word" if words else "its numbers don't fit the flights"
            why = f"reads as {assigned.column}, but {but}"
            assignment.extras.append((assigned.profile, why))
    assignment.doubtful.clear()
    return remarks
