"""The unit of every measured column: said by words, by the cells, or by what fits the flights."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
import polars as pl

from pipelines.recognising.assignment import Assigned, in_range_share
from pipelines.recognising.consistency import (
    LENGTH_UNITS,
    MARGIN_NEEDED,
    SPEED_UNITS,
    FloatArray,
    Quantity,
    UnitChoice,
    choose_units,
    sample_rows,
)
from pipelines.recognising.facts import Statement
from schemas.columns import BY_NAME
from schemas.compositions import BACK_SPIN, HEAD_WIND, SIDE_SPIN, TAIL_WIND, column_dimension
from schemas.headings import unit_symbols
from schemas.units import UNITS

IN_CELLS = "cells"
_FLIGHT = ("carry_m", "total_m", "apex_m", "hang_time_s", "descent_angle_deg")
_NEEDED = ("ball_speed_mps", "carry_m", "total_m", "launch_angle_deg")
# Less says that the club speed is in a larger number of another unit; common practice, no source.
_LEAST_SMASH = 0.95
_INCIDENTAL = frozenset(
    {
        "wind_speed_mps",
        HEAD_WIND,
        TAIL_WIND,
        "altitude_m",
        "air_temp_c",
        "air_pressure_hpa",
        "humidity_pct",
        "club_speed_mps",
        "hang_time_s",
    }
)
_ACROSS = ("carry_side_m", "total_side_m", "roll_m")
_MOST_TOO_FAR, _MOST_TOO_SHORT = 0.2, -0.6  # log(observed / computed) beyond which nothing fits
_WEATHER = 0.2  # log of what wind, air and ball together may do to a distance
_HEIGHT_SHARE_OF_FEET = 0.36  # apex over carry, both as written, above which the apex is in feet


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


def _statement(column: str, statements: list[Statement]) -> Statement | None:
    dimension = column_dimension(column)
    kinds: tuple[str | None, ...] = (dimension,)
    if column == "apex_m":
        kinds = ("height", "length")
    if column == "altitude_m":
        kinds = ()
    for kind in kinds:
        for statement in statements:
            if statement.kind == kind and statement.unit:
                return statement
    return None


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
    if statement := _statement(assigned.column, statements):
        return UnitReading(statement.unit, f"line {statement.line} says so: {statement.text!r}")
    return None


def _values(assigned: Assigned) -> FloatArray:
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
    kind = {"default": None, "return_dtype": pl.Float64}
    factor = numbers.unit.replace_strict(factors, **kind)  # type: ignore[arg-type]
    offset = numbers.unit.replace_strict(offsets, **kind)  # type: ignore[arg-type]
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


def _by_range(column: str, assigned: Assigned) -> UnitReading | None:
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


class UnitFinder:
    """Settles the units of one table.

    Parameters
    ----------
    columns : dict[str, Assigned]
        What the columns are.
    statements : list of Statement
        What lines beside the table say.
    given : dict[str, str]
        Heading -> unit from a note or mapping.
    air_density_kgm3 : float
        Density of the air [kg/m3].
    language : str or None
        The file's language.
    trusted : bool
        Whether the user's own mapping states the units, so that they are not called in doubt.
    """

    def __init__(
        self,
        columns: dict[str, Assigned],
        statements: list[Statement],
        given: dict[str, str],
        air_density_kgm3: float = 1.2,
        language: str | None = None,
        trusted: bool = False,
    ) -> None:
        self.columns = {
            name: assigned
            for name, assigned in columns.items()
            if column_dimension(name) and assigned.profile.numbers is not None
        }
        self.statements, self.given = statements, given
        self.density, self.trusted = air_density_kgm3, trusted
        self.metric = language in ("de", "fr", "es", "sv")
        self.found = UnitsFound()

    def find(self) -> UnitsFound:
        """Settle all units."""
        for name, assigned in self.columns.items():
            dimension = column_dimension(name)
            reading = stated_unit(assigned, self.statements, self.given)
            if reading is None and dimension not in ("speed", "length"):
                reading = _by_range(name, assigned)
                if reading is None:
                    self._unclear(name, assigned)
            if reading is not None:
                self.found.readings[name] = reading
        self._by_flight()
        self._by_neighbours()
        self._check_ranges()
        self._leave_incidental()
        return self.found

    def _leave_incidental(self) -> None:
        """Go without columns that other columns don't need, rather than refuse the file."""
        if not any(name in self.found.readings for name in _NEEDED):
            return
        for problem in self.found.problems:
            if problem.column in _INCIDENTAL:
                self.found.left_out.append(problem.column)
        self.found.problems = [p for p in self.found.problems if p.column not in _INCIDENTAL]

    def _unclear(self, name: str, assigned: Assigned) -> None:
        heading = assigned.profile.heading.text
        self.found.problems.append(
            UnitProblem(
                name,
                heading,
                f"The unit of column {heading!r} ({name}) is not stated "
                "and its values fit more than one",
            )
        )

    def _unit(self, name: str) -> str | None:
        reading = self.found.readings.get(name)
        return reading.unit if reading else None

    def _canonical(self, name: str) -> FloatArray | None:
        unit = self._unit(name)
        if name not in self.columns or unit is None:
            return None
        return np.asarray(in_canonical_unit(self.columns[name], unit).to_numpy(), np.float64)

    def _quantity(self, name: str, rows: np.ndarray) -> Quantity | None:
        assigned = self.columns.get(name)
        if assigned is None:
            return None
        unit = self._unit(name)
        if unit == IN_CELLS:
            values = in_cell_units(assigned, column_dimension(name) or "").to_numpy()[rows]
            canonical = {"speed": "m/s", "length": "m", "time": "s", "angle": "deg"}
            symbol = canonical[column_dimension(name) or ""]
            return Quantity(values.astype(np.float64), (symbol,), None)
        values = (
            np.abs(_values(assigned)[rows])
            if name == "descent_angle_deg"
            else (_values(assigned)[rows])
        )
        usual = {"speed": SPEED_UNITS, "length": LENGTH_UNITS}
        units = usual.get(column_dimension(name) or "", (unit or "deg",))
        if unit and (self.trusted or assigned.profile.heading.text in self.given):
            units = (unit,)
        if unit and unit not in units:
            units = (*units, unit)
        return Quantity(values, units, unit)

    def _spin(self) -> FloatArray | None:
        total = self._canonical("spin_rate_rpm")
        back = self._canonical(BACK_SPIN)
        side = self._canonical(SIDE_SPIN)
        if total is None and back is not None:
            return np.hypot(back, 0.0 if side is None else np.nan_to_num(side))
        return total

    def _by_flight(self) -> None:
        """Choose units of speed, distances, height and time together, and check stated ones."""
        launch = self._canonical("launch_angle_deg")
        if "ball_speed_mps" not in self.columns or launch is None:
            return
        measured = [n for n in _FLIGHT if n in self.columns]
        speed = _values(self.columns["ball_speed_mps"])
        usable = np.isfinite(launch) & (launch > 3.0) & (launch < 60.0) & (speed > 0)
        length = next((n for n in ("carry_m", "total_m") if n in self.columns), None)
        if length:
            usable &= _values(self.columns[length]) > 0
        for name in ("ball_speed_mps", length or "ball_speed_mps"):
            known = self._canonical(name)
            if known is not None:
                usable &= known < (BY_NAME[name].high or np.inf)
        rows = sample_rows(usable)
        if not measured or not rows.size:
            return
        names = ["ball_speed_mps", *measured]
        quantities = {n: q for n in names if (q := self._quantity(n, rows))}
        extra = {
            name: None if column is None else column[rows]
            for name, column in (
                ("launch_direction_deg", self._canonical("launch_direction_deg")),
                ("spin_rate_rpm", self._spin()),
                ("spin_axis_deg", self._canonical("spin_axis_deg")),
            )
        }
        choice = choose_units(
            quantities,
            launch_angle_deg=launch[rows],
            air_density_kgm3=self.density,
            metric=self.metric,
            **extra,
        )
        self.found.choice = choice
        self._take(choice, quantities)

    def _take(self, choice: UnitChoice, quantities: dict[str, Quantity]) -> None:
        open_names = [n for n, q in quantities.items() if not q.stated and len(q.units) > 1]
        for name, quantity in quantities.items():
            unit = choice.units[name]
            if quantity.stated and unit != quantity.stated:
                self._doubt(name, quantity.stated, unit)
        if open_names and not self._settled(choice, open_names):
            return
        for name in open_names:
            evidence = f"only {choice.units[name]} fits the flights"
            self.found.readings[name] = UnitReading(choice.units[name], evidence, 0.9)
        self._check_misfit(choice)

    def _settled(self, choice: UnitChoice, open_names: list[str]) -> bool:
        """Whether the flights part the open units clearly; notes a problem where not."""
        different = [n for n in open_names if choice.runner_up.get(n) != choice.units[n]]
        if choice.proven and choice.margin >= MARGIN_NEEDED:
            return True
        for name in different or open_names:
            heading = self.columns[name].profile.heading.text
            proposed = choice.units[name]
            other = choice.runner_up.get(name)
            self.found.problems.append(
                UnitProblem(
                    name,
                    heading,
                    f"The unit of column {heading!r} ({name}) is not stated; the flights fit "
                    f"{proposed} and {other} nearly alike",
                    proposed,
                )
            )
        for name in open_names:
            if name not in different:
                self.found.readings[name] = UnitReading(choice.units[name], "fits the flights", 0.7)
        return False

    def _doubt(self, name: str, stated: str, fits: str) -> None:
        """A stated unit is only called wrong where wind, air and ball can't be the reason."""
        heading = self.columns[name].profile.heading.text
        apart = abs(np.log(UNITS[stated].factor / UNITS[fits].factor))
        if apart < _WEATHER:
            self.found.remarks.append(
                f"Column {heading!r} is said to be in {stated}; its values would fit the flights "
                f"better in {fits}. It was read as stated."
            )
            return
        self.found.problems.append(
            UnitProblem(
                name,
                heading,
                f"Column {heading!r} is said to be in {stated}, but its values fit the flights "
                f"only in {fits}",
                fits,
            )
        )

    def _check_misfit(self, choice: UnitChoice) -> None:
        misfit = choice.misfit.get("carry_m", choice.misfit.get("total_m", 0.0))
        if self.found.problems or _MOST_TOO_SHORT < misfit < _MOST_TOO_FAR:
            return
        name = "carry_m" if "carry_m" in choice.misfit else "total_m"
        heading = self.columns[name].profile.heading.text
        far = "farther" if misfit > 0 else "shorter"
        self.found.problems.append(
            UnitProblem(
                name,
                heading,
                f"The distances in column {heading!r} are {abs(np.expm1(misfit)):.0%} {far} than "
                "ball speed, launch and spin allow; a unit or a column is mistaken",
            )
        )

    def _by_neighbours(self) -> None:
        """Give unstated columns the unit of their kind where that is customary and possible."""
        for name, assigned in self.columns.items():
            if name in self.found.readings or any(p.column == name for p in self.found.problems):
                continue
            reading = self._neighbour(name)
            if reading is None:
                self._unclear(name, assigned)
            else:
                self.found.readings[name] = reading

    def _neighbour(self, name: str) -> UnitReading | None:
        if name == "club_speed_mps":
            return self._like_ball_speed()
        if name in _ACROSS or name in ("carry_m", "total_m"):
            for other in ("carry_m", "total_m", "carry_side_m", "total_side_m"):
                unit = self._unit(other)
                if other != name and unit and unit != IN_CELLS:
                    return UnitReading(unit, f"in {unit} like {other}", 0.85)
        if name == "apex_m":
            return self._height()
        return None

    def _like_ball_speed(self) -> UnitReading | None:
        unit = self._unit("ball_speed_mps")
        if unit is None or unit == IN_CELLS:
            return None
        ball, club = self.columns["ball_speed_mps"], self.columns["club_speed_mps"]
        with np.errstate(invalid="ignore", divide="ignore"):
            smash = float(np.nanmedian(_values(ball) / _values(club)))
        if _LEAST_SMASH < smash < 1.58:
            return UnitReading(unit, f"in {unit} like the ball speed: ratio {smash:.2f}", 0.9)
        return None

    def _height(self) -> UnitReading | None:
        """Unit of the apex by its share of the carry, where no flight can be computed."""
        unit, carry = self._unit("carry_m"), self.columns.get("carry_m")
        if carry is None or unit is None or unit == IN_CELLS:
            return None
        with np.errstate(invalid="ignore", divide="ignore"):
            share = float(np.nanmedian(_values(self.columns["apex_m"]) / _values(carry)))
        if unit == "yd" and share > _HEIGHT_SHARE_OF_FEET:
            return UnitReading("ft", "a height in yards would be too high for the carry", 0.8)
        if share < _HEIGHT_SHARE_OF_FEET and unit in ("yd", "m"):
            return UnitReading(unit, f"in {unit} like the carry", 0.75)
        return None

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
                self.found.problems.append(UnitProblem(name, heading, message))
