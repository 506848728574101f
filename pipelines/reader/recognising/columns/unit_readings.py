"""The unit of a column by itself: said by words or by its cells, or the only possible one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import polars as pl
from rangeledger.models.arrays import FloatArray
from rangeledger.pipelines.reader.recognising.columns.assignment import Assigned
from rangeledger.pipelines.reader.recognising.columns.consistency import UnitChoice
from rangeledger.pipelines.reader.recognising.words.unit_statements import Statement
from rangeledger.schemas.compositions import column_dimension
from rangeledger.schemas.headings import unit_symbols
from rangeledger.schemas.units import UNITS

IN_CELLS = "cells"


@dataclass(slots=True)
class UnitReading:
    """Unit of a column, where it is from, and how sure it is, 0 to 1."""

    unit: str | None
    evidence: str
    sure: float = 1.0


@dataclass(slots=True)
class UnitProblem:
    """A unit that can't be told, or that its own words contradict."""

    column: str
    heading: str
    message: str
    proposed: str | None = None


@dataclass(slots=True)
class UnitsFound:
    """Units of all measured columns of a table."""

    readings: dict[str, UnitReading] = field(default_factory=dict)
    problems: list[UnitProblem] = field(default_factory=list)
    choice: UnitChoice | None = None
    remarks: list[str] = field(default_factory=list)
    left_out: list[str] = field(default_factory=list)


def _fitting(symbols: tuple[str, ...], dimension: str) -> str | None:
    return next((s for s in symbols if UNITS[s].dimension == dimension), None)


def _statements_on(column: str, statements: list[Statement]) -> list[Statement]:
    """What lines say of a column's unit: those that name it, else those on all of its kind."""
    dimension = column_dimension(column)
    kinds = ("height", "length") if column == "apex_m" else (dimension,)
    if column == "altitude_m":
        return []
    relevant = [s for s in statements if s.unit and s.kind in kinds]
    named = [s for s in relevant if column in s.columns]
    alike = [s for kind in kinds for s in relevant if s.kind == kind and not s.columns]
    return named or alike or [s for kind in kinds for s in relevant if s.kind == kind]


_SPOKEN_OF = ("carry_m", "total_m", "ball_speed_mps")  # by `distances`, `speeds` as such


def contradiction(
    assigned: Assigned, statements: list[Statement], given: dict[str, str]
) -> str | None:
    """Two places that state different units of a column, in words; None where none do.

    A line on distances as such says nothing against the own heading of a height or a side.
    """
    dimension = column_dimension(assigned.column) or ""
    heading = assigned.profile.heading
    units_stated = [(_fitting(unit_symbols(given.get(heading.text, "")), dimension), "the note")]
    units_stated.append((_fitting(heading.units, dimension), "the heading"))
    units_stated += [
        (statement.unit, f"line {statement.line}: {statement.text!r}")
        for statement in _statements_on(assigned.column, statements)
        if assigned.column in (*statement.columns, "carry_m", "total_m") or not heading.units
    ]
    known = [(unit, where) for unit, where in units_stated if unit]
    if known and assigned.column in _SPOKEN_OF:
        # A sentence that may say another unit is no statement, but enough to ask.
        known += [
            (statement.unit or "", f"line {statement.line}: {statement.text!r}")
            for statement in statements
            if statement.kind == f"{dimension}?"
        ]
    other = next(((u, w) for u, w in known if u != known[0][0]), None)
    if other is None:
        return None
    return f"{known[0][1]} says {known[0][0]}, {other[1]} says {other[0]}"


def stated_unit(
    assigned: Assigned, statements: list[Statement], given: dict[str, str]
) -> UnitReading | None:
    """Unit that words state for a column: the user's, the cells', the heading's, a line on top.

    Parameters
    ----------
    assigned : Assigned
        The column.
    statements : list of Statement
        What lines beside the table say.
    given : dict[str, str]
        Heading -> unit, from a note or a mapping.

    Returns
    -------
    UnitReading or None
        None where nobody says.
    """
    dimension = column_dimension(assigned.column) or ""
    heading, profile = assigned.profile.heading, assigned.profile
    if heading.text in given:
        symbols = unit_symbols(given[heading.text])
        return UnitReading(_fitting(symbols, dimension), "the note or mapping says so")
    if profile.mixed_units:
        return UnitReading(IN_CELLS, "the cells state their units one by one")
    if unit := _fitting(profile.cell_units, dimension):
        return UnitReading(unit, f"the cells say {unit}")
    if unit := _fitting(heading.units, dimension):
        return UnitReading(unit, f"the heading says {unit}")
    for statement in _statements_on(assigned.column, statements):
        return UnitReading(statement.unit, f"line {statement.line} says so: {statement.text!r}")
    return None


def numbers_of(assigned: Assigned) -> FloatArray:
    """Numbers of a column as written, NaN where there is none."""
    numbers = assigned.profile.numbers
    assert numbers is not None
    return np.asarray(numbers.value.to_numpy(), np.float64)


def in_cell_units(assigned: Assigned, dimension: str) -> pl.Series:
    """Values in the canonical unit where cells state their own; bare ones take the heading's."""
    numbers = assigned.profile.numbers
    assert numbers is not None
    assert numbers.unit is not None
    factors: dict[str, float] = {}
    offsets: dict[str, float] = {}
    for word in numbers.unit.drop_nulls().unique():
        symbol = _fitting(unit_symbols(word), dimension)
        if symbol:
            factors[word], offsets[word] = UNITS[symbol].factor, UNITS[symbol].offset
    kind: dict[str, Any] = {"default": None, "return_dtype": pl.Float64}
    factor = numbers.unit.replace_strict(factors, **kind)
    offset = numbers.unit.replace_strict(offsets, **kind)
    if headed := _fitting(assigned.profile.heading.units, dimension):
        bare = numbers.unit.is_null()
        factor = factor.set(bare, UNITS[headed].factor)
        offset = offset.set(bare, UNITS[headed].offset)
    return (numbers.value + offset) * factor


def in_canonical_unit(assigned: Assigned, unit: str) -> pl.Series:
    """Values of a column in its canonical unit.

    Parameters
    ----------
    assigned : Assigned
        The column.
    unit : str
        Unit symbol, or `IN_CELLS`.

    Returns
    -------
    pl.Series
        Float64.
    """
    numbers = assigned.profile.numbers
    assert numbers is not None
    if unit == IN_CELLS:
        return in_cell_units(assigned, column_dimension(assigned.column) or "")
    found = UNITS[unit]
    if found.factor == 1.0 and found.offset == 0.0:
        return numbers.value
    return (numbers.value + found.offset) * found.factor


def _median(assigned: Assigned) -> float | None:
    known = assigned.profile.known
    return float(np.median(np.abs(known))) if known.size else None


def by_range(column: str, assigned: Assigned) -> UnitReading | None:
    """Unit of a quantity whose possible values leave only one."""
    middle = _median(assigned)
    if middle is None:
        return None
    rule = _RANGE_RULES.get(column_dimension(column) or "")
    unit = rule(middle) if rule else None
    return UnitReading(unit, f"only {unit} fits values near {middle:g}", 0.9) if unit else None


def _rotation(middle: float) -> str | None:
    if middle >= 60.0:
        return "rpm"
    return "krpm" if 0.5 <= middle <= 15.0 else None


def _temperature(middle: float) -> str | None:
    """Golf is played between -10 and 45 degC; 33 to 48 may be either scale."""
    if middle <= 32.0:
        return "degC"
    return "degF" if middle >= 49.0 else None


def _pressure(middle: float) -> str | None:
    ranges = {"hPa": (650, 1085), "inHg": (19, 32), "kPa": (65, 108.5), "Pa": (65000, 108500)}
    return next((u for u, (low, high) in ranges.items() if low <= middle <= high), None)


_RANGE_RULES: dict[str, Callable[[float], str | None]] = {
    "angle": lambda _: "deg",
    "rotation": _rotation,
    "temperature": _temperature,
    "pressure": _pressure,
    "time": lambda middle: "s" if middle < 20.0 else ("ms" if middle > 300.0 else None),
    "fraction": lambda middle: "%" if middle > 1.0 else "1",
    "ratio": lambda _: "1",
}
