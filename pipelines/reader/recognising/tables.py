"""One table of an export to canonical shots: columns, units, signs, words, times, rejections."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt
import polars as pl
from rangeledger.pipelines.background import run_in_background
from rangeledger.pipelines.reader.normalising.swings import (
    asks_for_hours,
    club_and_swing,
    swing_by_hours,
    swing_of,
)
from rangeledger.pipelines.reader.normalising.words import (
    ball_of,
    flight_basis_of,
    hand_in_name,
    hand_of,
    name_of,
    player_of,
    surface_of,
    wind_height_of,
)
from rangeledger.pipelines.reader.recognising.assignment import Assigned, assign
from rangeledger.pipelines.reader.recognising.bearings import (
    TARGET_BEARING,
    blown_towards,
    from_the_target_line,
    is_of_the_compass,
    target_bearing,
)
from rangeledger.pipelines.reader.recognising.blocks import Block
from rangeledger.pipelines.reader.recognising.by_cells import assign_by_cells
from rangeledger.pipelines.reader.recognising.by_numbers import has_open_columns, take_by_numbers
from rangeledger.pipelines.reader.recognising.companion_columns import apply_companions
from rangeledger.pipelines.reader.recognising.companions import (
    club_in_two,
    club_of_heading,
    full_names,
    join_sides,
    names_in_one,
)
from rangeledger.pipelines.reader.recognising.facts import HAND, reduced_to_sea_level
from rangeledger.pipelines.reader.recognising.legends import decoded
from rangeledger.pipelines.reader.recognising.marks import no_shots
from rangeledger.pipelines.reader.recognising.parted_cells import part_cells
from rangeledger.pipelines.reader.recognising.profile import are_marks, distinct, profiles_of
from rangeledger.pipelines.reader.recognising.report import Remark, column_reports
from rangeledger.pipelines.reader.recognising.sentinels import without_sentinels
from rangeledger.pipelines.reader.recognising.sides import SidesFound, find_sides
from rangeledger.pipelines.reader.recognising.silences import assumed_sides, unmapped_columns
from rangeledger.pipelines.reader.recognising.stated import Given, Stated
from rangeledger.pipelines.reader.recognising.statements import Statement
from rangeledger.pipelines.reader.recognising.struck_times import since_start, struck_times
from rangeledger.pipelines.reader.recognising.summed_rows import summed_rows
from rangeledger.pipelines.reader.recognising.table_shots import TableShots
from rangeledger.pipelines.reader.recognising.turning import AnyGrid
from rangeledger.pipelines.reader.recognising.unit_readings import UnitsFound
from rangeledger.pipelines.reader.recognising.units import UnitFinder
from rangeledger.pipelines.reader.recognising.values import (
    Rejection,
    canonical_values,
    settle_cells,
    unsigned,
)
from rangeledger.pipelines.reader.recognising.verifying import take_doubtful
from rangeledger.pipelines.reader.recognising.wind_columns import (
    by_clock,
    directions,
    is_cross_wind,
    whole_winds,
    wind_across,
)
from rangeledger.pipelines.reader.recognising.winds import FROM, SPEED, explained
from rangeledger.pipelines.reader.recognising.word_columns import (
    as_json,
    blank_as_null,
    constant_text,
    filled_down,
    first_known,
    mapped,
    translated,
    without_dittos,
)
from rangeledger.schemas.clubs import club_of, clubs_of
from rangeledger.schemas.columns import CONDITIONS
from rangeledger.schemas.words import fold, words_of

_READ = {
    "ball": ball_of,
    "surface": surface_of,
    "swing": swing_of,
    "player": player_of,
    "flight_basis": flight_basis_of,
    "wind_height": wind_height_of,
    "monitor": name_of,
    "site": name_of,
}
# What a cell leaves open; None is filled from the settings of the home.
_DEFAULTS = {"swing": "full", "wind_height": None, "monitor": None, "site": None}
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
        self.stated = Stated(given, blocks, self.block_of, self.constants, self.remarks)

    def read(self) -> TableShots:
        """Recognise and normalise the table."""
        summed = self._assign()
        columns = self.assignment.by_column
        units = self._units(columns)
        self.remarks += units.remarks
        values = unsigned(columns, units)
        sides = self._sides(columns, values)
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
        headings = [explained(heading) for heading in self.headings]
        headings, texts, remarks = part_cells(headings, self._decoded(self._texts()))
        self.remarks += remarks
        headings, texts = apply_companions(headings, texts)
        self.profiles, self.marks = profiles_of(headings, texts, self.given.number_format)
        self.stated.marks = self.marks
        self.remarks += without_sentinels(self.profiles, self.given.sentinels)
        self.assignment = assign(self.profiles)
        self.remarks += assign_by_cells(self.assignment)
        columns = self.assignment.by_column
        self._exclude_heads(columns)
        summed = self._drop_summaries(columns)
        self._settle_cells(columns)
        self.remarks += self._take_doubtful(columns)
        return summed

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

    def _sides(self, columns: dict[str, Assigned], values: dict[str, pl.Series]) -> SidesFound:
        """Which way is positive; what a mapping states is not called in doubt."""
        arrays = {n: np.asarray(s.to_numpy(), np.float64) for n, s in values.items()}
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
            columns, units, sides, values, cross_wind=crossed, across=across
        )
        extras = [profile for profile, _ in self.assignment.extras]
        dropped, remarks = no_shots(columns, extras)
        self.rejections += canonical.rejections + dropped
        self.remarks += remarks
        self.remarks += canonical.remarks
        return self._by_compass(canonical.frame, columns)

    def _by_compass(self, frame: pl.DataFrame, columns: Mapping[str, Assigned]) -> pl.DataFrame:
        """Tell a column of compass winds from the target line, or leave it out and say so."""
        bearing = target_bearing(self.profiles, self.stated.text_of(TARGET_BEARING))
        if FROM not in frame.columns:
            origin = blown_towards([p for p, _ in self.assignment.extras], bearing)
            return frame if origin is None else frame.with_columns(origin.alias(FROM))
        if FROM not in columns:
            return frame
        if bearing is not None:
            return frame.with_columns(from_the_target_line(frame[FROM], bearing))
        heading = columns[FROM].profile.heading.text
        if not is_of_the_compass(heading):
            return frame
        why = "tells the wind by the compass and nothing says where the target lies"
        self.remarks.append(f"Column {heading!r} {why}; its direction was left out.")
        return frame.drop(FROM)

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
        unread, remarks = settle_cells({**doubtful, **columns}, self._hands())
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

    def _hands(self) -> pl.Series | None:
        """The player's hand by row: a column's, else a line's or the name's, else the note's."""
        sources: list[pl.Series] = []
        for profile in self.profiles:
            if fold(profile.heading.text) in words_of("hand_headings"):
                sources.append(mapped(profile.text, hand_of))
            elif "player" in profile.heading.tags and not profile.is_number:
                sources.append(mapped(profile.text, hand_in_name))
        fact = self.stated.text_of(HAND)
        if fact is not None:
            sources.append(mapped(fact, hand_of))
        if self.given.note.hand:
            sources.append(constant_text(self.given.note.hand, len(self.records)))
        hands = pl.select(pl.coalesce(sources)).to_series() if sources else None
        return None if hands is None or hands.null_count() == len(hands) else hands

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
        extras = run_in_background(self._extras, long=length > _LONG)
        parts: dict[str, pl.Series] = {name: numbers[name] for name in numbers.columns}
        parts |= self._wind_words(columns)
        for name in CONDITIONS:
            fact = self.stated.number_of(name)
            if fact is not None:
                parts[name] = first_known(parts.get(name), fact)
        for name in _READ:
            parts[name] = self._words(name, columns)
        parts["club"] = self._clubs(columns)
        struck = struck_times(columns, self.stated, self.rejections)
        unassigned = [profile for profile, _ in self.assignment.extras]
        parts["struck_at"] = since_start(struck, columns, self.stated, unassigned)
        parts["extras"] = extras()
        parts["record"] = pl.Series(self.records)
        whole = {name: series.alias(name) for name, series in parts.items()}
        return pl.DataFrame(list(whole.values())) if length else pl.DataFrame()

    def _wind_words(self, columns: Mapping[str, Assigned]) -> dict[str, pl.Series]:
        """Where the wind comes from, out of a column that says it in words."""
        for profile, _ in self.assignment.extras if FROM not in columns else ():
            if "wind" not in profile.heading.tags or "towards" in profile.heading.tags:
                continue
            hours = by_clock(profile)
            if hours is not None:
                return {FROM: hours}
            if not profile.heading.unknown:
                found = directions(profile.text, from_side="from" in profile.heading.tags)
                if found is not None:
                    return {FROM: found}
                both = whole_winds(profile.text) if SPEED not in columns else {}
                if both:
                    return both
        return {}

    def _words(self, name: str, columns: Mapping[str, Assigned]) -> pl.Series:
        """A column of words: the cells', else a line's, else the note's."""
        read = _READ[name]
        sources: list[pl.Series] = []
        joined = None
        if name == "player":
            joined = names_in_one(self.profiles)
            joined = full_names(dict(columns)) if joined is None else joined
        if joined is not None:
            sources.append(joined)
        elif name in columns:
            text = columns[name].profile.text
            text = self._filled_down(text, "player") if name == "player" else text
            if name == "swing" and asks_for_hours(columns[name].profile.heading.text):
                read = swing_by_hours
            sources.append(mapped(text, read))
        elif name == "monitor" and (named := self._named_by("monitor_keys")) is not None:
            sources.append(mapped(named, read))
        elif name == "swing" and "club" in columns:
            sources.append(mapped(columns["club"].profile.text, _swing_of_club))
        fact = self.stated.text_of(name)
        if fact is not None:
            sources.append(mapped(fact, read))
        note = self.given.constant(name)
        if isinstance(note, str):
            note = read(note) or note
            self.stated.remark_if_overruled(name, note, sources)
            self.constants.setdefault(name, f"{note} (the note or mapping)")
            sources.append(constant_text(note, len(self.records)))
        default = constant_text(_DEFAULTS.get(name, "unknown"), len(self.records))
        return pl.select(pl.coalesce([*sources, default])).to_series() if sources else default

    def _named_by(self, kind: str) -> pl.Series | None:
        """Cells of the one column of words whose heading is one of a kind of word."""
        keys = words_of(kind)
        found = [p for p in self.profiles if fold(p.heading.text) in keys and not p.is_number]
        return found[0].text if len(found) == 1 else None

    def _clubs(self, columns: Mapping[str, Assigned]) -> pl.Series:
        texts: list[pl.Series] = []
        in_two = club_in_two(self.profiles)
        if in_two is not None:
            texts.append(in_two)
        elif "club" in columns:
            club = columns["club"].profile
            spelt = club_of_heading(club)
            text = club.text if spelt is None else spelt
            texts.append(blank_as_null(self._filled_down(text, "club")))
        fact = self.stated.text_of("club")
        if fact is not None:
            texts.append(fact)
        note = self.given.constant("club")
        if isinstance(note, str):
            texts.append(constant_text(note, len(self.records)))
        if not texts:
            putts = any("putt" in profile.heading.tags for profile in self.profiles)
            return constant_text("putter" if putts else None, len(self.records)).alias("club")
        text = pl.select(pl.coalesce(texts)).to_series() if len(texts) > 1 else texts[0]
        alone = {t: parted[0] if (parted := club_and_swing(t)) else t for t in distinct(text)}
        clubs = clubs_of(alone.values(), self.given.language)
        names = {t: clubs[club].name for t, club in alone.items()}
        return translated(text, names).alias("club")

    def _filled_down(self, text: pl.Series, what: str) -> pl.Series:
        """Words that stand once above their shots hold for those below them, and that is told."""
        original, text = text, without_dittos(text)
        filled = filled_down(text, [p.text for p in self.profiles if p.text is not original])
        if filled is None:
            return text
        self.remarks.append(f"A {what} stands once above its shots; it was filled down.")
        return filled

    def _extras(self) -> pl.Series:
        """Columns without a canonical meaning, as a JSON object a row."""
        kept = [profile for profile, _ in self.assignment.extras if not profile.empty]
        named = [(p.heading.text or f"column {p.place + 1}", p.text) for p in kept]
        return as_json(named, len(self.records))


def _reduced(columns: Mapping[str, Assigned]) -> list[str]:
    """The pressure, where its heading says that it is reduced to sea level."""
    pressure = columns.get("air_pressure_hpa")
    reduced = pressure is not None and reduced_to_sea_level(pressure.profile.heading.text)
    return ["air_pressure_hpa"] if reduced else []


def _swing_of_club(cell: str) -> str | None:
    parted = club_and_swing(cell)
    return parted[1] if parted else None
