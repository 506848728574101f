"""Units that were chosen, checked by what no shot can be, by the other columns and by the sides."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from rangeledger.models.arrays import FloatArray
from rangeledger.models.flight.usual_spin import usual_spin
from rangeledger.pipelines.reader.recognising.columns.assignment import Assigned
from rangeledger.pipelines.reader.recognising.columns.consistency import MARGIN_NEEDED, sample_rows
from rangeledger.pipelines.reader.recognising.columns.curving import side_scale
from rangeledger.pipelines.reader.recognising.columns.judging import in_range_share
from rangeledger.pipelines.reader.recognising.columns.settled_columns import SettledColumns
from rangeledger.pipelines.reader.recognising.columns.unit_readings import (
    IN_CELLS,
    UnitProblem,
    UnitReading,
)
from rangeledger.schemas.units import UNITS

_THRICE = {"yd": "ft", "m": "ft", "ft": "yd"}  # of the customary units those far apart
# Half of the sides of a player rarely exceed this share of the distance; a third of it is usual.
# Lesser columns: one that is impossible leaves the shots as they are.
_OF_THE_CLUB = frozenset({
    "angle_of_attack_deg", "club_path_deg", "face_angle_deg", "dynamic_loft_deg",
    "descent_angle_deg",
})  # fmt: skip
_WIDE_SIDE = 0.11
_FAR_M, _FEWEST_FAR, _MOSTLY_SHORT = 120.0, 5, 0.8  # common practice, no source: they roll on
# Radians are below 1.2; a ball that leaves so flat in degrees runs along the ground.
_FLATTEST_DEG, _FLAT_CARRY_M = 1.2, 60.0
# Common practice, no source: splashes and chips may be slower than the club, full shots are not.
_FAST_BALL_MPS, _LEAST_RATIO_OF_FAST_BALLS = 30.0, 0.8


def _is_wide(side: FloatArray, far: FloatArray) -> bool:
    with np.errstate(invalid="ignore", divide="ignore"):
        return bool(np.nanmedian(np.abs(side / far)) > _WIDE_SIDE)


def totals_below_carries(
    columns: Mapping[str, Assigned], values: Mapping[str, FloatArray]
) -> list[UnitProblem]:
    """A carry and a total whose names seem to be swapped: most long shots end short of their carry.

    A wedge may spin back; what flies far rolls on.

    Parameters
    ----------
    columns : mapping of str to Assigned
        What the columns are.
    values : mapping of str to numpy array
        Measured columns in SI units.

    Returns
    -------
    list of UnitProblem
        One, or none.
    """
    if not {"carry_m", "total_m"} <= values.keys():
        return []
    carry, total = values["carry_m"], values["total_m"]
    far = np.isfinite(total) & (np.nan_to_num(carry) > _FAR_M)
    if far.sum() < _FEWEST_FAR or np.mean(total[far] < carry[far]) < _MOSTLY_SHORT:
        return []
    headings = [columns[name].profile.heading.text for name in ("carry_m", "total_m")]
    message = (
        f"In most rows {headings[1]!r} is less than {headings[0]!r}, as if their headings were "
        "swapped"
    )
    return [UnitProblem("carry_m", headings[0], message)]


def flat_launches(
    columns: Mapping[str, Assigned], values: Mapping[str, FloatArray]
) -> list[UnitProblem]:
    """Launch angles that may be radians: all of them too flat for how far the balls carry.

    Parameters
    ----------
    columns : mapping of str to Assigned
        What the columns are.
    values : mapping of str to numpy array
        Measured columns in SI units, angles in degrees.

    Returns
    -------
    list of UnitProblem
        One, or none.
    """
    if not {"carry_m", "launch_angle_deg"} <= values.keys():
        return []
    launch, carry = values["launch_angle_deg"], values["carry_m"]
    known = np.isfinite(launch) & np.isfinite(carry)
    if known.sum() < _FEWEST_FAR or np.median(carry[known]) < _FLAT_CARRY_M:
        return []
    if launch[known].max() > _FLATTEST_DEG or np.median(launch[known]) <= 0.0:
        return []
    heading = columns["launch_angle_deg"].profile.heading.text
    message = f"Column {heading!r} is far too flat in degrees for such carries"
    return [UnitProblem("launch_angle_deg", heading, message, "rad")]


class UnitChecks:
    """Calls chosen units in doubt.

    Parameters
    ----------
    settled : SettledColumns
        Columns and their units; problems, remarks and columns to leave out are added to what has
        been found of them, and the unit of a side may be changed.
    """

    def __init__(self, settled: SettledColumns) -> None:
        self.settled, self.columns, self.found = settled, settled.columns, settled.found

    def check(self) -> None:
        """Check ranges, the ratio of the speeds and the sides, in this order."""
        self._check_ranges()
        self._check_speed_ratio()
        self._check_sides()

    def _check_sides(self) -> None:
        """Yards and feet of a side are told apart by start line and curve, else by its share."""
        for name, along in (("carry_side_m", "carry_m"), ("total_side_m", "total_m")):
            unit = self.settled.unit(name)
            if unit not in _THRICE or name in self.found.left_out:
                continue
            stated = self.found.readings[name].sure >= 1.0
            other = _THRICE[unit]
            found = self._side_scale(name, UNITS[other].factor / UNITS[unit].factor)
            if found is not None and found[0] != 1.0 and found[1] >= MARGIN_NEEDED:
                if stated and self.settled.axis() is None:
                    continue  # a wind across carries a ball as far
                if stated:
                    self._leave_side(name, f"is said to be in {unit}, but fits only {other}")
                else:
                    evidence = f"only {other} fits start line and curve"
                    self.found.readings[name] = UnitReading(other, evidence, 0.9)
            elif not stated and (found is None or found[1] < MARGIN_NEEDED):
                side, far = self.settled.canonical(name), self.settled.canonical(along)
                if side is not None and far is not None and _is_wide(side, far):
                    self._leave_side(name, f"would be very wide in {unit}, which nothing states")

    def _side_scale(self, name: str, scale: float) -> tuple[float, float] | None:
        """The factor on a side that start line and curve ask for, with its log odds."""
        names = ("ball_speed_mps", "launch_angle_deg", "launch_direction_deg", name)
        speed, launch, start, side = (self.settled.canonical(n) for n in names)
        if speed is None or launch is None or start is None or side is None:
            return None
        rows = sample_rows(np.isfinite(side) & np.isfinite(speed) & np.isfinite(launch))
        usual, spin, axis = usual_spin(launch[rows]), self.settled.spin(), self.settled.axis()
        spun = usual if spin is None else np.where(spin[rows] > 0, spin[rows], usual)
        tilt = None if axis is None else np.nan_to_num(axis[rows])
        return side_scale(
            speed[rows], launch[rows], spun, start[rows], tilt, side[rows], (1.0, scale)
        )

    def _leave_side(self, name: str, why: str) -> None:
        heading = self.columns[name].profile.heading.text
        self.found.left_out.append(name)
        self.found.remarks.append(f"Column {heading!r} {why}.")

    def _check_speed_ratio(self) -> None:
        """No club is much faster than the ball that it sends off fast: the two are mistaken."""
        names = ("ball_speed_mps", "clubhead_speed_mps")
        ball, club = (self.settled.canonical(name) for name in names)
        if ball is None or club is None:
            return
        known = np.isfinite(ball) & np.isfinite(club) & (club > 0.0)
        if not known.any() or np.median(ball[known]) < _FAST_BALL_MPS:
            return
        if float(np.median(ball[known] / club[known])) < _LEAST_RATIO_OF_FAST_BALLS:
            first, second = (self.columns[name].profile.heading.text for name in names)
            message = (
                f"Columns {first!r} and {second!r} contradict each other: the club would be much "
                "faster than the ball"
            )
            self.found.problems.append(UnitProblem("clubhead_speed_mps", second, message))

    def _check_ranges(self) -> None:
        """A unit under which most values are impossible is a mistake of the export."""
        for name, reading in self.found.readings.items():
            numbers = self.columns[name].profile.numbers
            if reading.unit in (None, IN_CELLS) or numbers is None:
                continue
            known = self.columns[name].profile.known
            if in_range_share(name, known, str(reading.unit)) < 0.5:
                heading = self.columns[name].profile.heading.text
                message = f"Column {heading!r} ({name}) can't be in {reading.unit}"
                if name in _OF_THE_CLUB:
                    self.found.left_out.append(name)
                    self.found.remarks.append(f"{message}: most of its values are impossible.")
                    continue
                self.found.problems.append(UnitProblem(name, heading, message))
