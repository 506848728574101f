"""The steps of one export from its cells to canonical shots: recognise, normalise, screen."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from time import perf_counter
from zoneinfo import ZoneInfo

import numpy as np
import polars as pl
from rangeledger.pipelines.reader.accounting import other_lines
from rangeledger.pipelines.reader.normalising.notes import Note
from rangeledger.pipelines.reader.prepared_export import (
    REJECTED_ROWS,
    PreparedExport,
    Rejects,
    in_schema,
)
from rangeledger.pipelines.reader.recognising.columns.assignment import Assignment
from rangeledger.pipelines.reader.recognising.columns.companions import one_spelling
from rangeledger.pipelines.reader.recognising.columns.sentinels import stated_sentinels
from rangeledger.pipelines.reader.recognising.lines.blocks import Block, OtherLine, same_headings
from rangeledger.pipelines.reader.recognising.lines.titled_summaries import exclude_titled_summaries
from rangeledger.pipelines.reader.recognising.lines.turning import AnyGrid
from rangeledger.pipelines.reader.recognising.tables.clarity import refuse_unclear
from rangeledger.pipelines.reader.recognising.tables.duplicate_shots import (
    alike_by_chance,
    refuse_twins,
    repeated_stretches,
    rows_given_again,
    stretches_of,
    summing_up,
)
from rangeledger.pipelines.reader.recognising.tables.found_layout import found_layout
from rangeledger.pipelines.reader.recognising.tables.identity import (
    with_sessions,
    with_shot_ids,
)
from rangeledger.pipelines.reader.recognising.tables.report import Recognition
from rangeledger.pipelines.reader.recognising.tables.silences import unparsed_lines
from rangeledger.pipelines.reader.recognising.tables.stated import Given
from rangeledger.pipelines.reader.recognising.tables.table_reader import TableReader
from rangeledger.pipelines.reader.recognising.tables.table_shots import TableShots
from rangeledger.pipelines.reader.recognising.words.file_name import facts_of_name
from rangeledger.pipelines.reader.recognising.words.language import language_of
from rangeledger.pipelines.reader.recognising.words.legends import meanings_in
from rangeledger.pipelines.reader.recognising.words.mapping_file import HeadingMap, mapping_for
from rangeledger.pipelines.reader.recognising.words.remark import Remark, as_remark
from rangeledger.pipelines.reader.screening import screen
from rangeledger.pipelines.reader.unmeasured import without_unmeasured
from rangeledger.pipelines.reader.visit_words import (
    layout_signature,
    monitor_named,
    with_visit_words,
)
from rangeledger.schemas.clubs import club_of
from rangeledger.schemas.errors import ExportError
from rangeledger.schemas.reasons import FileReason, LineKind, RowReason

_MOST_REASONS = 3
_LONGEST_CODE = 6
_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class VisitDefaults:
    """What the settings say of visits; see `prepare.prepare_export`."""

    wind_height: str
    site: str | None
    monitors: tuple[tuple[str, str], ...]


class ExportJob:
    """One export on its way through the steps.

    Parameters
    ----------
    grid : Grid or TurnedGrid
        Its cells.
    file_name : str
        Name under which it was offered.
    source_file : str
        SHA-256 of its bytes, hexadecimal.
    note : Note
        What is noted of it.
    date_order : str or None
        `day-month` or `month-day`, for dates that could be either.
    visit : VisitDefaults
        What the settings say of visits.
    """

    def __init__(
        self,
        grid: AnyGrid,
        file_name: str,
        source_file: str,
        note: Note,
        date_order: str | None,
        visit: VisitDefaults,
    ) -> None:
        self.grid, self.file_name = grid, file_name
        self.source_file, self.note, self.date_order = source_file, note, date_order
        self.visit = visit
        self.recognition = Recognition(remarks=list(grid.notes))
        self.rejects = Rejects()
        self.tables: list[TableShots] = []
        self.frame = pl.DataFrame()

    def run(
        self, zone: ZoneInfo, mappings: Sequence[HeadingMap], timings: dict[str, float]
    ) -> PreparedExport:
        """Take all steps in their order, timing each."""
        steps: dict[str, Callable[[], None]] = {
            "recognise": lambda: self.recognise(zone, mappings),
            "normalise": self.assemble,
            "screen": self.screen,
        }
        for name, step in steps.items():
            began = perf_counter()
            step()
            timings[name] = perf_counter() - began
        return self.result(timings)

    def recognise(self, zone: ZoneInfo, mappings: Sequence[HeadingMap]) -> None:
        """Find the tables, decide their columns, and turn their cells into values."""
        self.grid, layout = found_layout(self.grid, self.file_name, mappings)
        self.layout, self.zone = layout, self.note.zone or zone
        self.recognition.zone = self.zone.key
        exclude_titled_summaries(self.grid, layout, self.file_name, mappings)
        name_facts = facts_of_name(self.file_name)
        self.recognition.signature = layout_signature(
            h.text for block in layout.blocks for h in block.headings
        )
        language = language_of([b.headings for b in layout.blocks])
        self.recognition.language = language
        lines = self._surrounding_lines()
        headings = dict.fromkeys(h.text for block in layout.blocks for h in block.headings)
        sentinels = stated_sentinels([*lines, *headings])
        legend = meanings_in([*self._surrounding_lines(raw=True), *self._coded_clubs()])
        for blocks in same_headings(layout.blocks):
            for block in blocks:
                block.facts = {**name_facts, **block.facts}
            given = Given(
                self.note, self.zone, language, self.note.units, self.note.signs,
                usual_date_order=self.date_order, sentinels=sentinels, legend=legend,
            )  # fmt: skip
            used = mapping_for([h.text for h in blocks[0].headings], mappings)
            if used is not None:
                given = self._mapped(used, blocks, given)
            self.tables.append(
                TableReader(
                    self.grid, blocks, blocks[0].statements(layout.statements), given
                ).read()
            )
        self._report()
        for table in refuse_unclear(self.file_name, self.tables):
            self._keep_as_other_lines(table, LineKind.SUMMARY)
        # The cells as read take more memory than all that is left to do.
        self.grid = replace(self.grid, cells=pl.DataFrame())
        for table in self.tables:
            table.assignment = Assignment()

    def _surrounding_lines(self, *, raw: bool = False) -> list[str]:
        """Text of the comments and of the lines that are neither headings nor shots."""
        kinds = (LineKind.NOTE, LineKind.SECTION, LineKind.SUMMARY)
        matching = [line for line in self.layout.others if line.kind in kinds]
        lines = [self.grid.raw_text(o.record).strip('"') if raw else o.text for o in matching]
        return [*lines, *self.grid.skipped.comments]

    def _coded_clubs(self) -> list[str]:
        """A table of codes above the shots, `club_code;club`, `17;7 iron`, as a legend's line."""
        scope, found = "", []
        for line in self.layout.others:
            cells = self.grid.cells.row(line.record) if line.kind == LineKind.NOTE else ()
            words = [cell.strip() for cell in cells if cell and cell.strip()]
            if len(words) != 2:
                continue
            if len(words[0]) <= _LONGEST_CODE and club_of(words[1]).known:
                found.append(f"{words[0]} = {words[1]}")
            elif not found:
                scope = words[0]
        return [f"{scope}: {'; '.join(found)}"] if scope and len(found) > 1 else []

    def _keep_as_other_lines(self, table: TableShots, kind: LineKind) -> None:
        """Keep a table without shots, such as averages below them, as lines beside the shots."""
        self.tables = [other for other in self.tables if other is not table]
        rows = table.frame["record"].to_list() if table.frame.height else []
        for record in [*rows, *table.summaries.tolist()]:
            text = self.grid.raw_text(record)
            self.layout.others.append(OtherLine(record, kind, text))

    def _mapped(self, used: HeadingMap, blocks: list[Block], given: Given) -> Given:
        """Put a mapping's words in place of the headings of some blocks."""
        for block in blocks:
            block.headings = used.reworded(block.headings)
        self.recognition.mapping = used.name
        return replace(
            given, number_format=used.number_format, constants=used.constants, trusted=True
        )

    def _report(self) -> None:
        for table in self.tables:
            self.recognition.columns += table.reports
            self.recognition.constants |= table.constants
            self.recognition.remarks += table.remarks
        marks = self.tables[0].number_format
        self.recognition.number_format = f"decimal {marks.decimal!r}: {marks.evidence}"
        self.recognition.layout = self.layout.notes
        self.recognition.remarks += self.layout.unread
        self.recognition.remarks += self._unparsed_lines()

    def _unparsed_lines(self) -> list[Remark]:
        """Lines that look like statements and of which nothing was taken."""
        kinds = (LineKind.NOTE, LineKind.SECTION)
        lines = [
            (int(self.grid.line[other.record]), other.text)
            for other in self.layout.others
            if other.kind in kinds
        ]
        lines += [(a.line, a.text) for a in self.grid.skipped if a.why == "comment"]
        lines += self.layout.beside
        parsed = {fact.line for block in self.layout.blocks for fact in block.facts.values()}
        parsed |= {s.line for s in self.layout.statements if s.kind != "unclear"}
        parsed |= {s.line for block in self.layout.blocks for s in block.units}
        parsed |= {line for line, text in lines if meanings_in([text])}
        before = "\n".join(map(str, self.recognition.remarks))
        parsed |= {line for line, _ in lines if f"Line {line}:" in before}
        return unparsed_lines(lines, parsed)

    def assemble(self) -> None:
        """Put the tables together, give ids, and collect what can't be a shot."""
        frames = []
        for table in self.tables:
            records = table.frame["record"].to_numpy()
            for rejection in table.rejections:
                for row, sentence in zip(rejection.rows, rejection.sentences, strict=True):
                    self.rejects.add(int(records[row]), rejection.code, sentence)
            for record in table.summaries.tolist():
                text = self.grid.raw_text(record)
                self.layout.others.append(OtherLine(record, LineKind.SUMMARY, text))
            frames.append(table.frame)
        for record, width in self.layout.ragged:
            sentence = f"The row has {self.grid.width[record]} cells where the heading has {width}."
            self.rejects.add(record, RowReason.RAGGED_ROW, sentence)
        for record, title in self.layout.uncounted:
            sentence = f"The row does not count: the title {title!r} says so."
            self.rejects.add(record, RowReason.NOT_A_SHOT, sentence)
        for record in self.layout.strange:
            sentence = "The row stands among shots, but its cells hold no numbers."
            self.rejects.add(record, RowReason.NOT_A_SHOT, sentence)
        frame = pl.concat(frames, how="diagonal_relaxed") if frames else pl.DataFrame()
        in_order = not frame.height or frame["record"].is_sorted()
        self.frame = self._with_visit_words(frame if in_order else frame.sort("record"))
        self._unify_players()
        self._remark_on_future()
        self._place()
        self._drop_duplicate_tables()

    def _drop_duplicate_tables(self) -> None:
        """Leave tables that sum up others or give their shots again; refuse contradictory ones."""
        try:
            for find, kind, phrase in (
                (summing_up, LineKind.SUMMARY, "sums up the shots of others"),
                (repeated_stretches, LineKind.REPEATED, "gives the shots of another again"),
            ):
                stretches = stretches_of(self.frame, self.layout.others)
                for place in find(stretches) if len(stretches) > 1 else ():
                    first = stretches[place]["source_row"][0]
                    message = f"The table {phrase}; it was left out."
                    self.recognition.remarks.append(Remark(f"line {first}", message))
                    self._leave_rows(stretches[place]["record"].to_list(), kind)
            kept = ~pl.col("record").is_in(list(self.rejects.codes))
            refuse_twins(self.frame.filter(kept) if self.rejects.codes else self.frame)
        except ExportError as refusal:
            raise ExportError(f"{self.file_name}: {refusal}", refusal.code) from refusal

    def _leave_rows(self, records: list[int], kind: LineKind) -> None:
        """Take rows out of the shots and keep them as other lines."""
        self.frame = self.frame.filter(~pl.col("record").is_in(records))
        for record in records:
            self.rejects.codes.pop(record, None)
            self.layout.others.append(OtherLine(record, kind, self.grid.raw_text(record)))

    def _with_visit_words(self, frame: pl.DataFrame) -> pl.DataFrame:
        monitor = monitor_named(self.visit.monitors, self.file_name, self.recognition.signature)
        return with_visit_words(
            frame, wind_height=self.visit.wind_height, monitor=monitor, site=self.visit.site
        )

    def _unify_players(self) -> None:
        """One name for a player whose name the export writes in capitals here and not there."""
        same = one_spelling(self.frame["player"]) if "player" in self.frame.columns else {}
        if same:
            self.frame = self.frame.with_columns(pl.col("player").replace(same))
            self.recognition.remarks += [f"Player {a!r} is {b!r}." for a, b in same.items()]

    def _remark_on_future(self) -> None:
        latest = self.frame["struck_at"].max() if "struck_at" in self.frame.columns else None
        if isinstance(latest, datetime) and latest > datetime.now(UTC) + _DAY:
            day = latest.date().isoformat()
            self.recognition.remarks.append(
                f"Some shots are dated in the future, up to {day}; if that is a mistake, state the "
                "date or date_order in a note."
            )

    def _place(self) -> None:
        records = self.frame["record"].to_numpy()
        lines = self.grid.line[records]
        place = getattr(self.grid, "place", None)
        columns = [
            pl.Series("source_row", lines, pl.Int32),
            pl.Series(
                "place_in_row",
                np.zeros(len(records)) if place is None else place[records],
                pl.Int32,
            ),
            pl.Series("order", np.arange(len(records)), pl.Int64),
            pl.Series("source_file", [self.source_file]).new_from_index(0, len(records)),
        ]
        self.frame = with_shot_ids(self.frame.with_columns(columns), self.source_file)

    def screen(self) -> None:
        """Apply the row rules, reject duplicates, and number what is left."""
        self.frame, remarks = without_unmeasured(self.frame)
        self.recognition.remarks += remarks
        records = self.frame["record"].to_numpy()
        unclubbed = np.flatnonzero(self.frame["club"].is_null().to_numpy())
        for row in unclubbed:
            self.rejects.add(int(records[row]), RowReason.NO_CLUB, "No club is named for it.")
        for failure in screen(self.frame):
            for row, sentence in zip(failure.rows, failure.sentences, strict=True):
                self.rejects.add(int(records[row]), failure.code, sentence)
        again = rows_given_again(self.frame)
        if alike_by_chance(self.frame, again):
            self.recognition.remarks.append(
                f"{len(again)} rows are alike an earlier one in every value, as numbers printed so "
                "coarsely may be by chance; they were kept."
            )
            again = []
        for place in again:
            sentence = "The row repeats an earlier one in every value."
            self.rejects.add(int(records[place]), RowReason.DUPLICATE_ROW, sentence)
        if self.rejects.codes:
            rejected = np.fromiter(self.rejects.codes, np.int64, len(self.rejects.codes))
            self.frame = self.frame.filter(pl.Series(~np.isin(records, rejected)))
        self.frame = with_sessions(self.frame, self.source_file, self.zone)

    def result(self, timings: dict[str, float]) -> PreparedExport:
        """Check that nothing was lost, and hand over."""
        rejected = self._rejected_frame()
        others = other_lines(
            self.grid, self.layout.others, self.frame["source_row"], rejected["source_row"]
        )
        if not self.frame.height:
            raise ExportError(
                f"{self.file_name}: none of its {rejected.height} rows can be a shot; the first "
                f"says: {rejected['reason'][0] if rejected.height else 'nothing'}",
                FileReason.ALL_REJECTED,
            )
        return PreparedExport(
            self.source_file,
            self.file_name,
            in_schema(self.frame),
            rejected,
            self.recognition,
            timings,
            others,
            [as_remark(remark) for remark in self.recognition.remarks],
            self.grid,
        )

    def _rejected_frame(self) -> pl.DataFrame:
        records = sorted(self.rejects.codes)
        rows = [
            (
                int(self.grid.line[record]),
                self.grid.raw_text(record),
                self.rejects.codes[record].value,
                " ".join(self.rejects.sentences[record][:_MOST_REASONS]),
            )
            for record in records
        ]
        return pl.DataFrame(rows, schema=REJECTED_ROWS, orient="row")
