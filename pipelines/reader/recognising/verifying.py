"""Columns whose heading is only half understood: taken if their numbers bear it out."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

import numpy as np
import numpy.typing as npt
from rangeledger.models.arrays import FloatArray
from rangeledger.models.flight.trajectory import fly
from rangeledger.models.flight.usual_spin import usual_spin
from rangeledger.pipelines.reader.recognising.assignment import Assigned, Assignment
from rangeledger.pipelines.reader.recognising.consistency import sample_rows
from rangeledger.pipelines.reader.recognising.curving import relative_signs
from rangeledger.schemas.compositions import BACK_SPIN, column_dimension
from rangeledger.schemas.units import UNITS

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
_DIGIT = re.compile(r"[0-9]")  # `at 100`, `P90`: a number in a heading makes another quantity
_MOST_UNUSUAL_SPIN = 0.5  # log of observed over usual spin; common practice, no source
_SMASH = (0.9, 1.58)
# Log of carry over that flown from an angle, its middle and spread; common practice, no source.
_LAUNCH_OFF, _LAUNCH_SPREAD = 0.12, 0.12
_USUAL_UNITS = {
    "length": ("m", "yd", "ft"),
    "speed": ("mph", "m/s", "km/h"),
    "time": ("s",),
    "angle": ("deg",),
    "rotation": ("rpm",),
}


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


def _is_borne_out(
    assigned: Assigned, values: Mapping[str, FloatArray], computed: Computed | None
) -> bool:
    """Whether the numbers say what the heading leaves open; where they can't, they don't."""
    unknown, numbers = assigned.profile.heading.unknown, assigned.profile.numbers
    if len(unknown) > _MOST_UNKNOWN or numbers is None or any(_DIGIT.search(w) for w in unknown):
        return False
    found = numbers.value.to_numpy().astype(np.float64)
    candidates = [found * UNITS[unit].factor for unit in _possible_units(assigned)]
    column = assigned.column
    if column in _BOUNDS:
        return computed is not None and any(
            _borne_out(column, c[computed[1]], computed[0][column]) for c in candidates
        )
    if len(unknown) > 1:
        return False
    test = _TESTS.get(column)
    return test is not None and any(test(column, c, values) for c in candidates)


def _possible_units(assigned: Assigned) -> tuple[str, ...]:
    """The stated unit, else those that are usual for the kind of quantity."""
    dimension = column_dimension(assigned.column) or ""
    stated = assigned.profile.cell_units or assigned.profile.heading.units
    fitting = tuple(u for u in stated if UNITS[u].dimension == dimension)
    return fitting or _USUAL_UNITS.get(dimension, ())


def _flies(column: str, found: FloatArray, values: Mapping[str, FloatArray]) -> bool:
    """Whether flights with these launch numbers land where the carry says."""
    if "carry_m" not in values:
        return False
    computed = _computed({**values, column: found})
    if computed is None:
        return False
    carry, rows = values["carry_m"][computed[1]], computed[1]
    if column in ("spin_rate_rpm", BACK_SPIN):
        with np.errstate(invalid="ignore", divide="ignore"):
            off = np.log(found[rows] / usual_spin(values["launch_angle_deg"][rows]))
        if not abs(float(np.nanmedian(off))) < _MOST_UNUSUAL_SPIN:
            return False
    return _borne_out("carry_m", carry, computed[0]["carry_m"])


def _is_launch(assigned: Assigned, values: Mapping[str, FloatArray]) -> bool:
    """Whether a column of angles and no more is the launch: carries follow closely from it."""
    numbers = assigned.profile.numbers
    if numbers is None or "carry_m" not in values:
        return False
    angle = numbers.value.to_numpy().astype(np.float64)
    computed = _computed({**values, "launch_angle_deg": angle})
    if computed is None:
        return False
    with np.errstate(invalid="ignore", divide="ignore"):
        ratio = np.log(values["carry_m"][computed[1]] / computed[0]["carry_m"])
    middle = np.nanmedian(ratio)
    spread = np.nanmedian(np.abs(ratio - middle))
    return bool(abs(middle) < _LAUNCH_OFF and spread < _LAUNCH_SPREAD)


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


def _drives_ball(_: str, found: FloatArray, values: Mapping[str, FloatArray]) -> bool:
    """Whether a club speed is in the usual proportion to the ball speed."""
    speed = values.get("ball_speed_mps")
    if speed is None:
        return False
    with np.errstate(invalid="ignore", divide="ignore"):
        smash = float(np.nanmedian(speed / found))
    return _SMASH[0] < smash < _SMASH[1] and _correlated(found, speed)


def _correlated(found: FloatArray, other: FloatArray | None) -> bool:
    if other is None:
        return False
    use = np.isfinite(found) & np.isfinite(other)
    if use.sum() < _FEWEST_ROWS or np.std(found[use]) < 1e-6 or np.std(other[use]) < 1e-6:
        return False
    return float(np.corrcoef(found[use], other[use])[0, 1]) >= _LEAST_CORRELATION


_TESTS: dict[str, Callable[[str, FloatArray, Mapping[str, FloatArray]], bool]] = {
    **dict.fromkeys(("ball_speed_mps", "launch_angle_deg", "spin_rate_rpm", BACK_SPIN), _flies),
    **dict.fromkeys(
        ("launch_direction_deg", "spin_axis_deg", "carry_side_m", "total_side_m"), _curves
    ),
    "face_angle_deg": _follows_start,
    "clubhead_speed_mps": _drives_ball,
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
    computed = _computed(values) if assignment.doubtful else None
    for assigned in sorted(assignment.doubtful, key=lambda a: -a.weight):
        text = assigned.profile.heading.text
        words = ", ".join(assigned.profile.heading.unknown)
        bare = assigned.column == "launch_angle_deg" and not words
        fits = _is_launch(assigned, values) if bare else _is_borne_out(assigned, values, computed)
        if assigned.column not in assignment.by_column and fits:
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
