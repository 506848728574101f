"""The unit of every measured column: said by words, by the cells, or by what fits the flights."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from rangeledger.pipelines.reader.recognising.columns.assignment import Assigned
from rangeledger.pipelines.reader.recognising.columns.consistency import (
    LENGTH_UNITS,
    MARGIN_NEEDED,
    SPEED_UNITS,
    Quantity,
    UnitChoice,
    choose_units,
    sample_rows,
)
from rangeledger.pipelines.reader.recognising.columns.settled_columns import SettledColumns
from rangeledger.pipelines.reader.recognising.columns.unit_checks import UnitChecks
from rangeledger.pipelines.reader.recognising.columns.unit_readings import (
    IN_CELLS,
    UnitProblem,
    UnitReading,
    UnitsFound,
    by_range,
    contradiction,
    in_cell_units,
    numbers_of,
    stated_unit,
)
from rangeledger.pipelines.reader.recognising.words.unit_statements import Statement
from rangeledger.schemas.columns import BY_NAME
from rangeledger.schemas.compositions import HEAD_WIND, TAIL_WIND, column_dimension
from rangeledger.schemas.headings import METRIC_LANGUAGES
from rangeledger.schemas.limits import LEAST_SPEED_RATIO, MOST_SPEED_RATIO
from rangeledger.schemas.units import UNITS

_FLIGHT = ("carry_m", "total_m", "apex_m", "hang_time_s", "descent_angle_deg")
_NEEDED = ("ball_speed_mps", "carry_m", "total_m", "launch_angle_deg")
# Less says that the club speed is in a larger number of another unit; common practice, no source.
_INCIDENTAL = frozenset(
    {
        "wind_speed_mps",
        HEAD_WIND,
        TAIL_WIND,
        "altitude_m",
        "air_temp_c",
        "air_pressure_hpa",
        "humidity_pct",
        "clubhead_speed_mps",
        "hang_time_s",
    }
)
_ACROSS = ("carry_side_m", "total_side_m", "roll_m")
_MOST_TOO_FAR, _MOST_TOO_SHORT = 0.2, -0.6  # log(observed / computed) beyond which nothing fits
_WEATHER = 0.2  # log of what wind, air and ball together may do to a distance
_HEIGHT_SHARE_OF_FEET = 0.36  # apex over carry, both as written, above which the apex is in feet


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
        self.metric = language in METRIC_LANGUAGES
        self.found = UnitsFound()
        self.settled = SettledColumns(self.columns, self.found)

    def find(self) -> UnitsFound:
        """Settle all units."""
        for name, assigned in self.columns.items():
            dimension = column_dimension(name)
            reading = stated_unit(assigned, self.statements, self.given)
            if reading is None and dimension not in ("speed", "length"):
                reading = by_range(name, assigned)
                if reading is None:
                    self._unclear(name, assigned)
            if reading is not None:
                self.found.readings[name] = reading
            self._check_statements(name, assigned)
        self._by_flight()
        self._by_neighbours()
        UnitChecks(self.settled).check()
        self._leave_incidental()
        return self.found

    def _check_statements(self, name: str, assigned: Assigned) -> None:
        """Two places that state different units of a column: one of them is mistaken."""
        conflict = contradiction(assigned, self.statements, self.given)
        if conflict and not self.trusted:
            heading = assigned.profile.heading.text
            message = f"The unit of column {heading!r} is said twice and differently: {conflict}"
            self.found.problems.append(UnitProblem(name, heading, message))

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

    def _quantity(self, name: str, rows: np.ndarray) -> Quantity | None:
        assigned = self.columns.get(name)
        if assigned is None:
            return None
        unit = self.settled.unit(name)
        if unit == IN_CELLS:
            values = in_cell_units(assigned, column_dimension(name) or "").to_numpy()[rows]
            canonical = {"speed": "m/s", "length": "m", "time": "s", "angle": "deg"}
            symbol = canonical[column_dimension(name) or ""]
            return Quantity(values.astype(np.float64), (symbol,), None)
        values = (
            np.abs(numbers_of(assigned)[rows])
            if name == "descent_angle_deg"
            else (numbers_of(assigned)[rows])
        )
        usual = {"speed": SPEED_UNITS, "length": LENGTH_UNITS}
        units = usual.get(column_dimension(name) or "", (unit or "deg",))
        if unit and (self.trusted or assigned.profile.heading.text in self.given):
            units = (unit,)
        if unit and unit not in units:
            units = (*units, unit)
        return Quantity(values, units, unit)

    def _by_flight(self) -> None:
        """Choose units of speed, distances, height and time together, and check stated ones."""
        launch = self.settled.canonical("launch_angle_deg")
        if "ball_speed_mps" not in self.columns or launch is None:
            return
        measured = [n for n in _FLIGHT if n in self.columns and n not in self.found.left_out]
        speed = numbers_of(self.columns["ball_speed_mps"])
        usable = np.isfinite(launch) & (launch > 3.0) & (launch < 60.0) & (speed > 0)
        length = next((n for n in ("carry_m", "total_m") if n in self.columns), None)
        if length:
            usable &= numbers_of(self.columns[length]) > 0
        for name in ("ball_speed_mps", length or "ball_speed_mps"):
            known = self.settled.canonical(name)
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
                ("launch_direction_deg", self.settled.canonical("launch_direction_deg")),
                ("spin_rate_rpm", self.settled.spin()),
                ("spin_axis_deg", self.settled.canonical("spin_axis_deg")),
            )
        }
        choice = choose_units(
            quantities,
            launch_angle_deg=launch[rows],
            air_density_kgm3=self.density,
            metric=self.metric,
            **extra,
        )
        if self._height_alone_is_open(choice, quantities):
            # The others are judged anew: without the height they may be clear, or not.
            self.found.left_out.append("apex_m")
            self._by_flight()
            return
        self.found.choice = choice
        self._take(choice, quantities)

    def _height_alone_is_open(self, choice: UnitChoice, quantities: Mapping[str, Quantity]) -> bool:
        """Whether the flights leave two units for the apex, which no other column needs."""
        if choice.proven and choice.margin >= MARGIN_NEEDED:
            return False
        open_names = [n for n, q in quantities.items() if not q.stated and len(q.units) > 1]
        different = [n for n in open_names if choice.runner_up.get(n) != choice.units[n]]
        return different == ["apex_m"] and "carry_m" in self.columns

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
            asked = any(p.column == name for p in self.found.problems)
            if name in self.found.readings or asked or name in self.found.left_out:
                continue
            reading = self._neighbour(name)
            if reading is None:
                self._unclear(name, assigned)
            else:
                self.found.readings[name] = reading

    def _neighbour(self, name: str) -> UnitReading | None:
        if name == "clubhead_speed_mps":
            return self._like_ball_speed()
        if name in _ACROSS or name in ("carry_m", "total_m"):
            for other in ("carry_m", "total_m", "carry_side_m", "total_side_m"):
                unit = self.settled.unit(other)
                if other != name and unit and unit != IN_CELLS:
                    return UnitReading(unit, f"in {unit} like {other}", 0.85)
        if name == "apex_m":
            return self._height()
        return None

    def _like_ball_speed(self) -> UnitReading | None:
        unit = self.settled.unit("ball_speed_mps")
        if unit is None or unit == IN_CELLS:
            return None
        ball, club = self.columns["ball_speed_mps"], self.columns["clubhead_speed_mps"]
        with np.errstate(invalid="ignore", divide="ignore"):
            ratio = float(np.nanmedian(numbers_of(ball) / numbers_of(club)))
        if LEAST_SPEED_RATIO < ratio < MOST_SPEED_RATIO:
            return UnitReading(unit, f"in {unit} like the ball speed: ratio {ratio:.2f}", 0.9)
        return None

    def _height(self) -> UnitReading | None:
        """Unit of the apex by its share of the carry, where no flight can be computed."""
        unit, carry = self.settled.unit("carry_m"), self.columns.get("carry_m")
        if carry is None or unit is None or unit == IN_CELLS:
            return None
        with np.errstate(invalid="ignore", divide="ignore"):
            share = float(np.nanmedian(numbers_of(self.columns["apex_m"]) / numbers_of(carry)))
        if unit == "yd" and share > _HEIGHT_SHARE_OF_FEET:
            return UnitReading("ft", "a height in yards would be too high for the carry", 0.8)
        if share < _HEIGHT_SHARE_OF_FEET and unit in ("yd", "m"):
            return UnitReading(unit, f"in {unit} like the carry", 0.75)
        return None
