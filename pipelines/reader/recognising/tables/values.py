"""Canonical values of one table: numbers in canonical units and signs, and what can't be read."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import polars as pl
from rangeledger.pipelines.reader.normalising.around_numbers import CLOSED, OPEN
from rangeledger.pipelines.reader.normalising.directed import directed
from rangeledger.pipelines.reader.normalising.number_format import NumberFormat
from rangeledger.pipelines.reader.normalising.numbers import Numbers
from rangeledger.pipelines.reader.recognising.columns.assignment import Assigned
from rangeledger.pipelines.reader.recognising.columns.sides import SidesFound
from rangeledger.pipelines.reader.recognising.columns.unit_readings import (
    IN_CELLS,
    UnitsFound,
    in_canonical_unit,
)
from rangeledger.pipelines.reader.recognising.tables.odd_cells import Rejection, odd_cells
from rangeledger.pipelines.reader.recognising.tables.wind_columns import along_the_line
from rangeledger.pipelines.reader.recognising.words.signs import CLOSED as CLOSED_SIDE
from rangeledger.pipelines.reader.recognising.words.signs import OPEN as OPEN_SIDE
from rangeledger.schemas.columns import NUMBERS
from rangeledger.schemas.compositions import (
    BACK_SPIN,
    LANDING_BEARING,
    SIDE_SPIN,
    SIDED,
    column_dimension,
)
from rangeledger.schemas.words import fold, words_of

_STEEPEST_AXIS_DEG = 80.0  # beyond it back spin says little of the total
_ANGLES_WITH_UP = ("angle_of_attack_deg", "launch_angle_deg", "dynamic_loft_deg")
_PLACEHOLDERS = frozenset({-999.0, -9999.0, -99999.0, -999.9, -999.99, -9999.9, -9999.99})
_ZERO = re.compile(r"^\s*0+(?:[.,]0+)?(?![0-9.,])")
_MOST_BAD = 0.5  # share of unreadable cells above which a column is kept as it is


@dataclass(slots=True)
class Values:
    """Canonical number columns of a table, one row a record, and the rows that can't be read."""

    frame: pl.DataFrame
    rejections: list[Rejection] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)


def measured_columns(columns: Mapping[str, Assigned], units: UnitsFound) -> dict[str, Assigned]:
    """Columns that have numbers and a settled unit.

    Parameters
    ----------
    columns : Mapping[str, Assigned]
        What the columns are.
    units : UnitsFound
        Their units.

    Returns
    -------
    dict[str, Assigned]
        Canonical column or helper -> column.
    """
    return {
        name: assigned
        for name, assigned in columns.items()
        if assigned.profile.numbers is not None
        and name in units.readings
        and units.readings[name].unit is not None
    }


def settle_cells(
    columns: Mapping[str, Assigned], hands: pl.Series | None = None
) -> tuple[list[str], list[str]]:
    """Turn `3.4 L` into -3.4 and -999 into a missing value; find columns that stay unreadable.

    Parameters
    ----------
    columns : Mapping[str, Assigned]
        Their numbers are replaced; rows that can't be told become bad.
    hands : pl.Series or None
        The player's hand row by row, `right` or `left`, where known.

    Returns
    -------
    tuple[list[str], list[str]]
        Columns most of whose cells can't be read, and remarks.
    """
    unread, remarks = [], []
    for name, assigned in columns.items():
        profile = assigned.profile
        if profile.numbers is None or column_dimension(name) is None:
            continue
        if name in SIDED:
            profile.numbers = _with_straight_ones(profile.numbers, profile.text)
        if profile.numbers.side is not None:
            by_hand = bool(profile.numbers.side.is_in([OPEN, CLOSED]).any())
            profile.numbers = _directed(profile.numbers, hands if by_hand else None)
            if by_hand and (hands is None or hands.null_count()):
                remarks.append(
                    f"Column {profile.heading.text!r} says open and closed, or in and out; it was "
                    "read as a right-handed player's."
                )
        elif name in SIDED and profile.heading.positive in (OPEN_SIDE, CLOSED_SIDE):
            profile.numbers = _by_hand(profile.numbers, profile.heading.positive, hands)
            if hands is None or hands.null_count():
                remarks.append(
                    f"Heading {profile.heading.text!r} speaks of open and closed, or in and out; "
                    "it was read as a right-handed player's."
                )
        if name != SIDE_SPIN:
            profile.numbers = _without_placeholders(profile.numbers)
        bad = int(_unreadable(assigned).sum())
        if bad > _MOST_BAD * (len(profile.text) - int(profile.numbers.missing.sum())):
            unread.append(name)
    return unread, remarks


def _with_straight_ones(numbers: Numbers, text: pl.Series) -> Numbers:
    """Numbers with 0 where the cell says in words that the ball went straight, `0 on line`."""
    words = words_of("on_line")
    if numbers.side is not None:  # `C` among `L4` and `R8`
        words = words | words_of("centre_letters")
    odd = text.filter(numbers.bad).drop_nulls().unique().to_list() if numbers.bad.any() else []
    straight = [cell for cell in odd if fold(_ZERO.sub("", cell)) in words]
    if not straight:
        return numbers
    at = text.is_in(straight).fill_null(False)
    return replace(numbers, value=numbers.value.set(at, 0.0), bad=numbers.bad & ~at)


def _directed(numbers: Numbers, hands: pl.Series | None) -> Numbers:
    signed = directed(numbers)
    signed = Numbers(signed.value, numbers.unit, None, signed.missing, signed.bad)
    return _mirrored(signed, hands)


def _mirrored(numbers: Numbers, hands: pl.Series | None) -> Numbers:
    """Numbers of a left-handed player with their signs turned."""
    if hands is None:
        return numbers
    frame = pl.DataFrame({"value": numbers.value, "hand": hands})
    mirrored = pl.when(pl.col("hand") == "left").then(-pl.col("value") + 0.0)
    value = frame.select(mirrored.otherwise("value").alias("value")).to_series()
    return replace(numbers, value=value)


def _by_hand(numbers: Numbers, positive: str, hands: pl.Series | None) -> Numbers:
    """Numbers whose heading counts open or closed as positive, with right positive."""
    value = numbers.value if positive == OPEN_SIDE else -numbers.value + 0.0
    return _mirrored(replace(numbers, value=value), hands)


def _without_placeholders(numbers: Numbers) -> Numbers:
    """Numbers without the -999 that stands for no measurement, far below all others."""
    lowest = numbers.value.min()
    if not isinstance(lowest, float) or lowest not in _PLACEHOLDERS:
        return numbers
    absent = numbers.value == lowest
    others = numbers.value.filter(~absent).min()
    if isinstance(others, float) and others < lowest / 3.0:
        return numbers
    missing = numbers.missing | absent.fill_null(False)
    return replace(numbers, value=numbers.value.set(absent, None), missing=missing)


def _unreadable(assigned: Assigned) -> pl.Series:
    """Cells that are no numbers, or whose own unit is none that the column can have."""
    numbers = assigned.profile.numbers
    assert numbers is not None
    if not assigned.profile.mixed_units:
        return numbers.bad
    return numbers.bad | (
        in_canonical_unit(assigned, IN_CELLS).is_null() & numbers.value.is_not_null()
    )


def unsigned(columns: Mapping[str, Assigned], units: UnitsFound) -> dict[str, pl.Series]:
    """Measured columns in canonical units, signs as written.

    Parameters
    ----------
    columns : Mapping[str, Assigned]
        What the columns are.
    units : UnitsFound
        Their units.

    Returns
    -------
    dict[str, pl.Series]
        Canonical column or helper -> Float64.
    """
    found = {}
    for name, assigned in measured_columns(columns, units).items():
        unit = units.readings[name].unit
        assert unit is not None
        series = in_canonical_unit(assigned, unit).alias(name)
        found[name] = series.abs() if name == "descent_angle_deg" else series
    return found


def _signed(
    values: dict[str, pl.Series],
    columns: Mapping[str, Assigned],
    sides: SidesFound,
) -> dict[str, pl.Series]:
    signed = dict(values)
    for name in SIDED:
        if name in signed and name in sides.readings and sides.readings[name].sign < 0:
            signed[name] = (signed[name] * -1.0 + 0.0).alias(name)
    for name in _ANGLES_WITH_UP:
        heading = columns[name].profile.heading if name in signed else None
        if heading and (heading.positive or sides.upwards.get(name)) == "down":
            signed[name] = (signed[name] * -1.0 + 0.0).alias(name)
    return signed


def _total_spin(values: dict[str, pl.Series], remarks: list[str]) -> None:
    """Total spin and axis from back and side spin, where the export gives those instead."""
    back, side = values.pop(BACK_SPIN, None), values.pop(SIDE_SPIN, None)
    if side is None or back is None:
        found = _of_back_and_axis(values, back) if side is None else _axis_of_total(values, side)
        remarks += found
        return
    known = back.is_not_null() & side.is_not_null() & ((back != 0.0) | (side != 0.0))
    frame = pl.DataFrame({"back": back.abs(), "side": side, "known": known})
    total = (pl.col("back") ** 2 + pl.col("side") ** 2).sqrt()
    axis = pl.arctan2("side", "back").degrees()
    both = frame.select(
        pl.when("known").then(total).alias("total"), pl.when("known").then(axis).alias("axis")
    )
    if "spin_rate_rpm" not in values:
        values["spin_rate_rpm"] = both["total"].alias("spin_rate_rpm")
        remarks.append("Total spin was computed from back and side spin.")
    if "spin_axis_deg" not in values:
        values["spin_axis_deg"] = both["axis"].alias("spin_axis_deg")
        remarks.append("The spin axis was computed from back and side spin.")


def _of_back_and_axis(values: dict[str, pl.Series], back: pl.Series | None) -> list[str]:
    """The total of back spin and axis, where the export gives no other spin."""
    if back is None or "spin_axis_deg" not in values or "spin_rate_rpm" in values:
        return []
    frame = pl.DataFrame({"back": back.abs(), "axis": values["spin_axis_deg"]})
    upright = pl.col("axis").abs() < _STEEPEST_AXIS_DEG
    total = pl.when(upright).then(pl.col("back") / pl.col("axis").radians().cos())
    values["spin_rate_rpm"] = frame.select(total.alias("spin_rate_rpm")).to_series()
    return ["Total spin was computed from back spin and axis."]


def _axis_of_total(values: dict[str, pl.Series], side: pl.Series) -> list[str]:
    """The axis from total and side spin, where no back spin is given."""
    if "spin_axis_deg" in values or "spin_rate_rpm" not in values:
        return []
    frame = pl.DataFrame({"side": side, "total": values["spin_rate_rpm"]})
    ratio = pl.col("side") / pl.col("total")
    possible = (pl.col("total") > 0.0) & (ratio.abs() <= 1.0)
    axis = pl.when(possible).then(ratio.arcsin().degrees()).alias("spin_axis_deg")
    values["spin_axis_deg"] = frame.select(axis).to_series()
    return ["The spin axis was computed from total and side spin."]


def total_of_sizes(values: Mapping[str, pl.Series]) -> pl.Series | None:
    """Total spin [rpm] of back and side spin whose sign can't be told, which it does not need.

    Parameters
    ----------
    values : mapping of str to polars.Series
        Measured columns in canonical units.

    Returns
    -------
    polars.Series or None
        None where one of them is missing, or the total is given.
    """
    if "spin_rate_rpm" in values or not {BACK_SPIN, SIDE_SPIN} <= values.keys():
        return None
    frame = pl.DataFrame({"back": values[BACK_SPIN], "side": values[SIDE_SPIN]})
    total = (pl.col("back") ** 2 + pl.col("side") ** 2).sqrt()
    return frame.select(total.alias("spin_rate_rpm")).to_series()


def _along(
    values: dict[str, pl.Series], columns: Mapping[str, Assigned], remarks: list[str]
) -> None:
    """Distances measured straight to the point, brought along the target line."""
    for name, across in (("carry_m", "carry_side_m"), ("total_m", "total_side_m")):
        if name not in values or not columns[name].profile.heading.straight:
            continue
        heading = columns[name].profile.heading.text
        side, turn = values.get(across), values.get("launch_direction_deg")
        if side is None and (turn is None or name == "total_m"):
            remarks.append(
                f"{heading!r} is straight to the point and stays so: nothing says how far aside "
                "the ball landed."
            )
            continue
        far = values[name]
        along = _by_side(far, side) if side is not None else pl.repeat(None, len(far), eager=True)
        if turn is not None and name == "carry_m":
            along = pl.select(pl.coalesce(along, far * turn.radians().cos())).to_series()
        values[name] = pl.select(pl.coalesce(along, far)).to_series().alias(name)
        how = "the side" if side is not None else "the start direction"
        remarks.append(
            f"{heading!r} is straight to the point; its part along the target line "
            f"was computed with {how}."
        )


def _of_bearing(
    values: dict[str, pl.Series], columns: Mapping[str, Assigned], remarks: list[str]
) -> None:
    """Where the ball landed beside the line, of its distance and its bearing from the line."""
    bearing = values.pop(LANDING_BEARING, None)
    if bearing is None or "carry_m" not in values or "carry_side_m" in values:
        return
    straight = columns["carry_m"].profile.heading.straight
    part = bearing.radians().sin() if straight else bearing.radians().tan()
    values["carry_side_m"] = (values["carry_m"] * part).alias("carry_side_m")
    heading = columns[LANDING_BEARING].profile.heading.text
    remarks.append(f"The side of the carry was computed with its bearing {heading!r}.")


def _by_side(far: pl.Series, side: pl.Series) -> pl.Series:
    """Part along the line of a distance straight to a point; an impossible one stays as it is."""
    frame = pl.DataFrame({"far": far, "side": side})
    squared = pl.col("far") ** 2 - pl.col("side") ** 2
    possible = (pl.col("far") > 0) & (squared > 0)
    along = pl.when(possible).then(squared.sqrt()).otherwise("far")
    return frame.select(pl.when(pl.col("side").is_not_null()).then(along)).to_series()


def canonical_values(
    columns: Mapping[str, Assigned],
    units: UnitsFound,
    sides: SidesFound,
    values: dict[str, pl.Series],
    *,
    cross_wind: bool = False,
    across: pl.Series | None = None,
    number_format: NumberFormat | None = None,
) -> Values:
    """Numbers of a table as canonical columns.

    Parameters
    ----------
    columns : Mapping[str, Assigned]
        What the columns are.
    units : UnitsFound
        Their units.
    sides : SidesFound
        Their signs.
    values : dict[str, pl.Series]
        As `unsigned` gives them.
    cross_wind : bool
        Whether a column that is kept aside speaks of a cross wind.
    across : pl.Series, optional
        The part of the wind from the right [m/s], where a column says it.
    number_format : NumberFormat, optional
        Marks of the file; decimal point by default.

    Returns
    -------
    Values
        Canonical columns only; helpers have been used up.
    """
    remarks: list[str] = []
    signed = _signed(values, columns, sides)
    _total_spin(signed, remarks)
    _of_bearing(signed, columns, remarks)
    _along(signed, columns, remarks)
    remarks += along_the_line(signed, cross_wind, across)
    kept = [series.alias(name) for name, series in signed.items() if name in NUMBERS]
    rejections, odd = odd_cells(measured_columns(columns, units), units, number_format)
    return Values(pl.DataFrame(kept), rejections, remarks + odd)
