"""One table of an export to canonical shots: columns, units, signs, words, times, rejections."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial

import numpy as np
import numpy.typing as npt
import polars as pl
from rangeledger.pipelines.background import run_in_background
from rangeledger.pipelines.reader.recognising.columns.assignment import Assigned, assign
from rangeledger.pipelines.reader.recognising.columns.by_cells import assign_by_cells
from rangeledger.pipelines.reader.recognising.columns.by_numbers import (
    has_open_columns,
    take_by_numbers,
)
from rangeledger.pipelines.reader.recognising.columns.companion_columns import apply_companions
from rangeledger.pipelines.reader.recognising.columns.companions import join_sides
from rangeledger.pipelines.reader.recognising.columns.differences import (
    exclude_differences,
    settle_differences,
)
from rangeledger.pipelines.reader.recognising.columns.full_circles import unwind, without_circle
from rangeledger.pipelines.reader.recognising.columns.parted_cells import part_cells
from rangeledger.pipelines.reader.recognising.columns.profile import are_marks, profiles_of
from rangeledger.pipelines.reader.recognising.columns.sentinels import (
    without_bracketed,
    without_sentinels,
)
from rangeledger.pipelines.reader.recognising.columns.sides import SidesFound, find_sides
from rangeledger.pipelines.reader.recognising.columns.summed_rows import summed_rows
from rangeledger.pipelines.reader.recognising.columns.unit_checks import (
    flat_launches,
    totals_below_carries,
)
from rangeledger.pipelines.reader.recognising.columns.unit_readings import UnitsFound
from rangeledger.pipelines.reader.recognising.columns.units import UnitFinder
from rangeledger.pipelines.reader.recognising.columns.verifying import take_doubtful
from rangeledger.pipelines.reader.recognising.lines.blocks import Block
from rangeledger.pipelines.reader.recognising.lines.turning import AnyGrid
from rangeledger.pipelines.reader.recognising.tables.marks import no_shots
from rangeledger.pipelines.reader.recognising.tables.odd_cells import Rejection
from rangeledger.pipelines.reader.recognising.tables.report import column_reports
from rangeledger.pipelines.reader.recognising.tables.silences import (
    assumed_sides,
    unmapped_columns,
)
from rangeledger.pipelines.reader.recognising.tables.stated import Given, Stated
from rangeledger.pipelines.reader.recognising.tables.struck_times import (
    running_column,
    since_start,
    struck_times,
)
from rangeledger.pipelines.reader.recognising.tables.table_shots import TableShots
from rangeledger.pipelines.reader.recognising.tables.table_words import (
    READ,
    TableWords,
    extras_of,
    hands_of,
)
from rangeledger.pipelines.reader.recognising.tables.values import (
    canonical_values,
    settle_cells,
    total_of_sizes,
    unsigned,
)
from rangeledger.pipelines.reader.recognising.tables.wind_columns import (
    is_cross_wind,
    wind_across,
    wind_words,
)
from rangeledger.pipelines.reader.recognising.tables.wind_origins import with_origins
from rangeledger.pipelines.reader.recognising.tables.word_columns import (
    constant_text,
    first_known,
)
from rangeledger.pipelines.reader.recognising.words.facts import reduced_to_sea_level
from rangeledger.pipelines.reader.recognising.words.legends import decoded
from rangeledger.pipelines.reader.recognising.words.remark import Remark
from rangeledger.pipelines.reader.recognising.words.unit_statements import Statement
from rangeledger.pipelines.reader.recognising.words.wind_counts import (
    WindCount,
    counted,
)
from rangeledger.schemas.clubs import club_of
from rangeledger.schemas.columns import CONDITIONS
from rangeledger.schemas.compositions import SIDE_SPIN

_LONG = 50_000  # rows whose further columns are worth a thread


class TableReader:
    """Reads the blocks of one heading.

    Parameters
    ----------
    grid : Grid or TurnedGrid
        The export.
    blocks : sequence of Block
        Blocks with the same headings.
    statements : list of Statement
        What lines beside the table say.
    given : Given
        Note, mapping, zone.
    """

    def __init__(
        self, grid: AnyGrid, blocks: Sequence[Block], statements: list[Statement], given: Given
    ) -> None:
        self.grid, self.blocks, self.statements, self.given = grid, blocks, statements, given
        self.headings = blocks[0].headings
        self.records = np.concatenate([block.records for block in blocks])
        self.block_of = np.repeat(np.arange(len(blocks)), [len(b.records) for b in blocks])
        self.remarks: list[Remark | str] = []
        self.constants: dict[str, str] = {}
        self.rejections: list[Rejection] = []
        self.wind_counts: dict[str, WindCount] = {}  # by heading
        self.total_spin: pl.Series | None = None  # where the sign of a side spin can't be told
        self.stated = Stated(given, blocks, self.block_of, self.constants, self.remarks)

    def read(self) -> TableShots:
        """Recognise and normalise the table."""
        summed = self._assign()
        columns = self.assignment.by_column
        units = self._units(columns)
        self.remarks += units.remarks
        values = unsigned(columns, units)
        sides = self._sides(columns, values, units)
        if SIDE_SPIN in sides.left_out:
            self.total_spin = total_of_sizes(values)
        self._leave_out(sides.left_out, columns, values, "which way is positive")
        self._leave_out(units.left_out, columns, values, "its unit")
        self._leave_out(_reduced(columns), columns, values, "the pressure at the place")
        if not self.given.trusted:
            self.remarks += assumed_sides(columns, sides)
        numbers = self._canonical(columns, units, sides, values)
        self.remarks += unmapped_columns(self.assignment, self.remarks)
        for profile, _ in self.assignment.extras:
            profile.release()
        frame = self._frame(numbers, columns)
        return TableShots(
            frame,
            self.rejections,
            summed,
            column_reports(self.assignment, units, sides),
            self.assignment,
            units,
            sides,
            self.marks,
            self.constants,
            self.remarks,
            self.profiles,
            int(self.grid.line[max(self.blocks[0].heading_record, 0)]),
        )

    def _assign(self) -> npt.NDArray[np.int64]:
        """Decide what the columns are; the records that sum up others leave the table."""
        explained = [counted(heading) for heading in self.headings]
        self.wind_counts = {heading.text: count for heading, count in explained if count}
        headings = [without_circle(heading) for heading, _ in explained]
        headings, texts, remarks = part_cells(headings, self._decoded(self._texts()))
        self.remarks += remarks
        headings, texts = apply_companions(headings, texts)
        self.profiles, self.marks = profiles_of(headings, texts, self.given.number_format)
        self.stated.marks = self.marks
        self.remarks += without_sentinels(self.profiles, self.given.sentinels)
        self.remarks += without_bracketed(self.profiles)
        self.remarks += unwind(self.profiles)
        self.assignment = assign(self.profiles)
        self.remarks += settle_differences(self.assignment)
        self.remarks += assign_by_cells(self.assignment)
        columns = self.assignment.by_column
        self._exclude_heads(columns)
        summed = self._drop_summaries(columns)
        self._settle_cells(columns)
        self.remarks += self._take_doubtful(columns)
        self.remarks += exclude_differences(self.assignment)
        self._take_straight(columns)
        return summed

    def _take_straight(self, columns: Mapping[str, Assigned]) -> None:
        """Mark the distances of which a line says that they are straight to the point."""
        stated = {n for s in self.statements if s.kind == "straight" for n in s.columns}
        for name in stated & columns.keys():
            profile = columns[name].profile
            if not profile.heading.along:
                profile.heading = replace(profile.heading, straight=True)

    def _exclude_heads(self, columns: dict[str, Assigned]) -> None:
        """Keep a column of heads or models aside where a title names the club of all its rows."""
        fact = self.stated.text_of("club")
        if "club" not in columns or fact is None or fact.null_count():
            return
        cells, title_clubs = columns["club"].profile, fact.unique().to_list()
        if cells.is_number or cells.clubs_known() or not all(club_of(c).known for c in title_clubs):
            return
        why = "none of its cells names a known club, and a line names one"
        self.assignment.extras.append((columns.pop("club").profile, why))

    def _sides(
        self, columns: dict[str, Assigned], values: dict[str, pl.Series], units: UnitsFound
    ) -> SidesFound:
        """Which way is positive; what a mapping states is not called in doubt."""
        arrays = {n: np.asarray(s.to_numpy(), np.float64) for n, s in values.items()}
        if not self.given.trusted:
            units.problems += totals_below_carries(columns, arrays)
            units.problems += flat_launches(columns, arrays)
        sides = find_sides(columns, arrays, self.statements, self.given.signs)
        if self.given.trusted:
            sides.problems.clear()
        return sides

    def _canonical(
        self,
        columns: dict[str, Assigned],
        units: UnitsFound,
        sides: SidesFound,
        values: dict[str, pl.Series],
    ) -> pl.DataFrame:
        """Numbers in canonical units and signs; keeps the rows that can't be shots."""
        crossed = any(is_cross_wind(profile) for profile in self.profiles)
        across = wind_across([p for p, _ in self.assignment.extras]) if crossed else None
        canonical = canonical_values(
            columns,
            units,
            sides,
            values,
            cross_wind=crossed,
            across=across,
            number_format=self.marks,
        )
        extras = [profile for profile, _ in self.assignment.extras]
        dropped, remarks = no_shots(columns, extras, self.given.legend)
        self.rejections += canonical.rejections + dropped
        self.remarks += remarks
        self.remarks += canonical.remarks
        frame, left_out = with_origins(
            canonical.frame, self.assignment, self.profiles, self.stated, self.wind_counts
        )
        self.remarks += left_out
        if self.total_spin is None or "spin_rate_rpm" in frame.columns:
            return frame
        self.remarks.append("Total spin was computed from back and side spin.")
        return frame.with_columns(self.total_spin)

    def _units(self, columns: dict[str, Assigned]) -> UnitsFound:
        given = self.given
        return UnitFinder(
            columns,
            self.statements,
            dict(given.units),
            language=given.language,
            trusted=given.trusted,
        ).find()

    def _settle_cells(self, columns: dict[str, Assigned]) -> None:
        """Sides and placeholders of the cells; columns that can't be read stay as they are."""
        self.remarks += join_sides(self.assignment)
        doubtful = {a.column: a for a in self.assignment.doubtful}
        unread, remarks = settle_cells(
            {**doubtful, **columns}, hands_of(self.profiles, self.stated, self.given)
        )
        self.remarks += remarks
        for name in unread:
            assigned = columns.pop(name, None)
            if assigned is None:
                self.assignment.doubtful.remove(doubtful[name])
                assigned = doubtful[name]
            why = f"reads as {name}, but most of its cells are no numbers of its kind"
            self.assignment.extras.append((assigned.profile, why))
            self.assignment.unread.append(assigned.profile)
            self.remarks.append(f"Column {assigned.profile.heading.text!r} {why}.")

    def _take_doubtful(self, columns: dict[str, Assigned]) -> list[str]:
        """Decide on half-understood headings by the columns that are certain."""
        if not has_open_columns(self.assignment):
            return []
        certain = unsigned(columns, self._units(columns))
        arrays = {n: np.asarray(s.to_numpy(), np.float64) for n, s in certain.items()}
        remarks = take_by_numbers(self.assignment, arrays)
        return remarks + take_doubtful(self.assignment, arrays)

    def _texts(self) -> list[pl.Series]:
        first, last = int(self.records[0]), int(self.records[-1])
        whole = last - first + 1 == len(self.records)
        cells = self.grid.cells
        texts = []
        for place in range(len(self.headings)):
            name = f"c{place}"
            if name not in cells.columns:
                texts.append(constant_text(None, len(self.records)))
            elif whole:
                texts.append(cells[name].slice(first, len(self.records)))
            else:
                texts.append(cells[name].gather(self.records))
        return texts

    def _decoded(self, texts: list[pl.Series]) -> list[pl.Series]:
        """Cells with codes in the words of the legend beside the table."""
        words = decoded([h.text for h in self.headings], texts, self.given.legend)
        words = {k: v for k, v in words.items() if not are_marks(self.headings[k], texts[k])}
        for place in words:
            heading = self.headings[place].text
            self.remarks.append(f"The codes of column {heading!r} were read by the legend.")
        return [words.get(place, text) for place, text in enumerate(texts)]

    def _drop_summaries(self, columns: dict[str, Assigned]) -> npt.NDArray[np.int64]:
        """Take rows that sum up others out of the table."""
        summed = summed_rows(self.profiles, columns, self.block_of)
        dropped = self.records[summed]
        if summed.any():
            self._keep(~summed)
        return dropped

    def _leave_out(
        self,
        names: Sequence[str],
        columns: dict[str, Assigned],
        values: dict[str, pl.Series],
        what: str,
    ) -> None:
        """Keep columns of which something can't be told as extras, and say so."""
        for name in names:
            if name not in columns:
                continue
            assigned = columns.pop(name)
            values.pop(name, None)
            why = f"reads as {name}, but {what} can't be told"
            self.assignment.extras.append((assigned.profile, why))
            self.remarks.append(f"Column {assigned.profile.heading.text!r} {why}.")

    def _keep(self, kept: npt.NDArray[np.bool_]) -> None:
        self.records, self.block_of = self.records[kept], self.block_of[kept]
        self.stated.block_of = self.block_of
        mask = pl.Series(kept)
        for profile in self.profiles:
            profile.keep(mask)

    def _frame(self, numbers: pl.DataFrame, columns: Mapping[str, Assigned]) -> pl.DataFrame:
        length = len(self.records)
        words = TableWords(self.profiles, columns, self.stated, self.given, self.remarks)
        unassigned = [profile for profile, _ in self.assignment.extras]
        extras = run_in_background(partial(extras_of, unassigned, length), long=length > _LONG)
        parts: dict[str, pl.Series] = {name: numbers[name] for name in numbers.columns}
        parts |= wind_words(columns, unassigned)
        for name in CONDITIONS:
            fact = self.stated.number_of(name)
            if fact is not None:
                parts[name] = first_known(parts.get(name), fact)
        for name in READ:
            parts[name] = words.column(name)
        parts["club"] = words.clubs()
        running = running_column(columns, unassigned, self.stated)
        struck = struck_times(columns, self.stated, self.rejections, running)
        parts["struck_at"] = since_start(struck, self.stated, running)
        parts["extras"] = extras()
        parts["record"] = pl.Series(self.records)
        whole = {name: series.alias(name) for name, series in parts.items()}
        return pl.DataFrame(list(whole.values())) if length else pl.DataFrame()


def _reduced(columns: Mapping[str, Assigned]) -> list[str]:
    """The pressure, where its heading says that it is reduced to sea level."""
    pressure = columns.get("air_pressure_hpa")
    reduced = pressure is not None and reduced_to_sea_level(pressure.profile.heading.text)
    return ["air_pressure_hpa"] if reduced else []
