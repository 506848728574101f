"""Where the tables of an export are: headings, units rows, blocks, and lines that are no shots."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from rangeledger.pipelines.reader.normalising.words import is_summary_word
from rangeledger.pipelines.reader.reading.skipped_lines import SkippedLine
from rangeledger.pipelines.reader.recognising.lines.asides import states_beside, take_asides
from rangeledger.pipelines.reader.recognising.lines.blocks import Block, Layout, OtherLine
from rangeledger.pipelines.reader.recognising.lines.footnotes import FOOTNOTE, is_footnote
from rangeledger.pipelines.reader.recognising.lines.heading_cells import (
    Cells,
    filled,
    heads_columns,
    is_units_row,
    may_be_heading,
    texts_of,
)
from rangeledger.pipelines.reader.recognising.lines.heading_rows import (
    GridRows,
    HeadingRows,
    first_heading,
    heading_at,
    is_heading,
    is_supported,
    named_width,
    needed_width,
    with_units,
)
from rangeledger.pipelines.reader.recognising.lines.named_blocks import name_blocks
from rangeledger.pipelines.reader.recognising.lines.record_kinds import (
    is_data,
    is_remark,
    is_strange,
    is_unmeasured,
    key_columns,
    may_hold_remarks,
    odd_records,
    states_signs,
)
from rangeledger.pipelines.reader.recognising.lines.shifted_headings import (
    behind_an_index,
    without_a_mark,
)
from rangeledger.pipelines.reader.recognising.lines.turning import AnyGrid
from rangeledger.pipelines.reader.recognising.words.conditions_in_text import (
    club_alone,
    club_in_title,
    like_a_club,
)
from rangeledger.pipelines.reader.recognising.words.facts import (
    TWO_DAYS,
    Fact,
    facts_in,
    pair_in,
    stacked_facts,
)
from rangeledger.pipelines.reader.recognising.words.language import language_of
from rangeledger.pipelines.reader.recognising.words.line_statements import statement_of_line
from rangeledger.pipelines.reader.recognising.words.mapping_file import HeadingMap
from rangeledger.pipelines.reader.recognising.words.names_in_text import LONE_NAME, is_full_name
from rangeledger.pipelines.reader.recognising.words.statements import (
    ON_SIGNS,
    statements_in,
)
from rangeledger.pipelines.reader.recognising.words.unit_statements import Statement
from rangeledger.schemas.compositions import DATE, TIME
from rangeledger.schemas.reasons import LineKind

_OF_A_VISIT = (DATE, TIME, "player")
_DRESS = "#;/*%=- "


class LayoutFinder:
    """Walks through the records of a grid and sorts them.

    Parameters
    ----------
    grid : Grid or TurnedGrid
        As read.
    mappings : sequence of HeadingMap
        The user's mappings: their headings are headings even if no word of them is known.
    """

    def __init__(self, grid: AnyGrid, mappings: Sequence[HeadingMap] = ()) -> None:
        self.grid = grid
        self.table = GridRows(grid, mappings)
        self.layout = Layout()
        self._facts: dict[str, Fact] = {}
        self._group: dict[str, Fact] = {}
        self._group_is_fresh = False
        self._turns: list[tuple[int, dict[str, Fact]]] = []  # what comments say of shots below
        self._trailing_statements: list[Statement] = []  # by lines between and below the shots
        self._heading_texts: list[str] = []
        self._units: dict[str, Statement] = {}  # by kind, of lines since which they are others

    def find(self, heading: HeadingRows) -> Layout:
        """Sort all records around a first heading.

        Parameters
        ----------
        heading : HeadingRows
            As `first_heading` gives it.

        Returns
        -------
        Layout
            Blocks and other lines; every record is in exactly one place.
        """
        self._heading_texts = [text for row in heading.rows for text in row]
        for skipped in self.grid.skipped:
            if skipped.why == "comment" and not self._turns_from(skipped, heading):
                self._take_comment(skipped.text, skipped.line)
        for record in range(heading.first):
            self._outside(record, self.table[record], self._facts)
            if record:
                line = int(self.grid.line[record])
                for fact in stacked_facts(self.table[record - 1], self.table[record], line):
                    self._facts[fact.column] = fact
        current: HeadingRows | None = heading
        start = heading.last + 1
        self._mark_heading(heading)
        while current is not None:
            current, start = self._walk(current, start)
        self._take_footer()
        return self.layout

    def _turns_from(self, skipped: SkippedLine, heading: HeadingRows) -> bool:
        """Whether a comment holds only for the shots below it: a club, or what it says among them.

        Below the last shot it speaks of all.
        """
        text = skipped.text.strip(_DRESS)
        club = club_alone(text)
        facts = {"club": Fact("club", club, (), skipped.line)} if club else {}
        among = int(self.grid.line[heading.last]) < skipped.line < int(self.grid.line[-1])
        if among and not facts:
            facts = {fact.column: fact for fact in statement_of_line([text], skipped.line).facts}
        if facts:
            self._turns.append((skipped.line, facts))
        return bool(facts)

    def _take_footer(self) -> None:
        """What stands below the last shot holds for all of them, unless something was said."""
        self.layout.statements += self._trailing_statements
        self.layout.unread += name_blocks(self.layout.blocks)
        take_asides(self.table, self.layout)
        if not self._group_is_fresh:
            return
        for block in self.layout.blocks:
            # A day or a name by itself at the foot of a page may be those of its printing.
            below = {n: f for n, f in self._group.items() if not (f.loose and n in _OF_A_VISIT)}
            block.facts = {**below, **block.facts}

    def _mark_heading(self, heading: HeadingRows) -> None:
        for record in range(heading.first, heading.last + 1):
            kind = LineKind.UNITS if record == heading.last and heading.units else LineKind.HEADING
            self.layout.others.append(OtherLine(record, kind, "; ".join(heading.texts)))

    def _walk(self, heading: HeadingRows, start: int) -> tuple[HeadingRows | None, int]:
        """Sort the records below a heading up to the next different one."""
        keys = key_columns(heading.headings)
        odd = odd_records(self.grid, start, keys)
        width = named_width(heading.texts)
        begin = start
        odd_ones = set(odd.tolist())
        for record in odd.tolist():
            cells = self.table[record]
            if texts_of(cells) in heading.rows:
                self._close(heading, begin, record, width)
                kind = LineKind.UNITS if is_units_row(cells) else LineKind.HEADING
                self.layout.others.append(OtherLine(record, kind, " ".join(filled(cells))))
                begin = record + 1
                continue
            nested = self._next_heading(record, cells) or self._other_units(heading, record, cells)
            if nested is None and (is_data(cells, keys) or is_unmeasured(cells, heading.headings)):
                continue
            self._close(heading, begin, record, width)
            begin = record + 1
            if nested is not None:
                self._mark_heading(nested)
                if not self._group_is_fresh:
                    self._group.pop("club", None)
                return nested, nested.last + 1
            inside = start < record < len(self.grid) - 1 and not {record - 1, record + 1} & odd_ones
            if inside and is_strange(cells, keys):
                self.layout.strange.append(record)
            else:
                self._between(record, cells)
        self._close(heading, begin, len(self.grid), width)
        return None, len(self.grid)

    def _next_heading(self, record: int, cells: Cells) -> HeadingRows | None:
        if not may_be_heading(cells):
            return None
        found = heading_at(self.table, record)
        if found is None or not is_heading(found):
            return None
        return found if is_supported(self.table, found) else None

    def _other_units(self, heading: HeadingRows, record: int, cells: Cells) -> HeadingRows | None:
        """The same heading with the units of a row among the shots that says others."""
        if not heading.units or not is_units_row(cells):
            return None
        found = with_units(self.table, heading, record)
        changed = any(
            one.units and two.units and one.units != two.units
            for one, two in zip(heading.headings, found.headings, strict=True)
        )
        return found if changed else None

    def _close(self, heading: HeadingRows, begin: int, end: int, width: int) -> None:
        """Keep the records of a stretch as blocks, parted where a comment says something new."""
        lines = self.grid.line
        while self._turns and end > begin and self._turns[0][0] < int(lines[end - 1]):
            line, facts = self._turns.pop(0)
            cut = begin + int(np.searchsorted(lines[begin:end], line))
            self._close_one(heading, begin, cut, width)
            self._group |= facts
            begin = cut
        self._close_one(heading, begin, end, width)

    def _close_one(self, heading: HeadingRows, begin: int, end: int, width: int) -> None:
        """Keep the records of a stretch as a block, without its ragged ones."""
        if begin >= end:
            return
        records = np.arange(begin, end, dtype=np.int64)
        ragged = self._ragged(records, width, heading)
        self.layout.ragged += [(int(r), width) for r in records[ragged]]
        kept = records[~ragged]
        if not kept.size:
            return
        self._group_is_fresh = False
        self._take_trailing()
        facts, units = {**self._facts, **self._group}, tuple(self._units.values())
        blocks = self.layout.blocks
        last = blocks[-1] if blocks else None
        if last and (last.facts, last.headings, last.units) == (facts, heading.headings, units):
            last.records = np.concatenate([last.records, kept])
            return
        columns = tuple(range(len(heading.headings)))
        blocks.append(Block(heading.headings, columns, kept, facts, heading.first, units))

    def _take_trailing(self) -> None:
        """Keep what lines between the shots state: other units than before hold from there on."""
        before = {s.kind: s.unit for s in self.layout.statements if s.unit}
        for statement in self._trailing_statements:
            kind, unit = statement.kind, statement.unit
            if self.layout.blocks and unit and before.get(kind, unit) != unit:
                self._units[kind] = statement
            elif kind in self._units and unit == before.get(kind):
                del self._units[kind]
            else:
                self.layout.statements.append(statement)
        self._trailing_statements = []

    def _ragged(
        self, records: npt.NDArray[np.int64], width: int, heading: HeadingRows
    ) -> npt.NDArray[np.bool_]:
        """Records that end before the last measured column, or hold something beyond all.

        The last record of a file may have been cut off anywhere: it must be whole. Blank headings
        at the end are columns too, and a remark in the last column may hold the delimiter.
        """
        widths = self.grid.width[records]
        ragged = widths < needed_width(heading.headings, width)
        if records[-1] == len(self.grid) - 1:
            ragged[-1] = widths[-1] < width
        widest = max(width, int(self.grid.width[heading.last])) if heading.last >= 0 else width
        remarks = width > 0 and may_hold_remarks(heading.headings[width - 1])
        for place in np.flatnonzero(widths > widest):
            cells = self.table[int(records[place])]
            ragged[place] = bool(filled(cells[widest:])) and not (
                states_beside(cells[widest:]) or (remarks and is_remark(cells[width - 1 :]))
            )
        return ragged

    def _outside(self, record: int, cells: Cells, facts: dict[str, Fact]) -> None:
        """Take what a line outside the table says."""
        words = filled(cells)
        if words and not self.grid.delimiter.strip(" "):  # blanks part cells and words alike
            words = [" ".join(words).strip(_DRESS)]
        text = " ".join(words)
        kind = LineKind.NOTE if words else LineKind.BLANK
        self.layout.others.append(OtherLine(record, kind, text))
        line = int(self.grid.line[record])
        self._take(words, line, facts)
        club = club_in_title(words[0], above=True) if len(words) == 1 else None
        if club is not None:
            self._group["club"] = Fact("club", club, (), line)
        if not heads_columns(words):
            self._take_statements(", ".join(words), line)
        self.layout.titles.append(text)

    def _take_comment(self, comment: str, line: int) -> None:
        """Take what a comment line says; it may hold cells of its own."""
        text = comment.strip().lstrip("#;/* ")
        cells = [
            cell.strip().strip('"').lstrip("#;/* ") for cell in text.split(self.grid.delimiter)
        ]
        found = facts_in([text], line)
        self._take([text] if found else filled(cells), line, self._facts)
        self._take_statements(text, line, stated=bool(found or facts_in(filled(cells), line)))
        self.layout.titles.append(text)

    def _take(self, words: list[str], line: int, facts: dict[str, Fact]) -> None:
        """Put what a line above the shots says to the facts; what has a key goes first."""
        statement = statement_of_line(words, line)
        self.layout.unread += statement.unread
        for fact in statement.facts:
            before = facts.get(fact.column)
            if before is None or before.loose or not fact.loose:
                facts[fact.column] = fact
            two = before is not None and before.column == DATE and before.text != fact.text
            if two and before is not None and not (before.loose or fact.loose):
                both = f"{before.text} (line {before.line}) and {fact.text} (line {fact.line})"
                facts[TWO_DAYS] = Fact(TWO_DAYS, both, (), line)

    def _take_statements(self, text: str, line: int, *, stated: bool | None = None) -> None:
        """Take the signs that a line states, and its units unless it states something else."""
        if stated is None:
            stated = pair_in(text) is not None and bool(facts_in([text], line))
        statements = self._stated_in(text, line) if text else []
        self.layout.statements += [s for s in statements if not stated or s.kind in ON_SIGNS]

    def _stated_in(self, text: str, line: int) -> list[Statement]:
        """What a line states; a footnote speaks of the headings with its mark alone."""
        noted = is_footnote(text, self.table.footnotes, self._heading_texts)
        return [Statement(FOOTNOTE, None, None, line, text)] if noted else statements_in(text, line)

    def _between(self, record: int, cells: Cells) -> None:
        """Sort a line between shots: blank, units, a summary, or a line that names a group."""
        words = filled(cells)
        if not words:
            self.layout.others.append(OtherLine(record, LineKind.BLANK, ""))
        elif is_units_row(cells):
            self.layout.others.append(OtherLine(record, LineKind.UNITS, " ".join(words)))
        elif any(is_summary_word(word) for word in words) and not states_signs(words):
            self.layout.others.append(OtherLine(record, LineKind.SUMMARY, " ".join(words)))
        else:
            self._group_line(record, words)

    def _group_line(self, record: int, words: list[str]) -> None:
        line = int(self.grid.line[record])
        text = " ".join(words)
        self.layout.others.append(OtherLine(record, LineKind.SECTION, text))
        statement = statement_of_line(words, line)
        self.layout.unread += statement.unread
        self._group_is_fresh = True
        self._group |= {fact.column: fact for fact in statement.facts}
        statements = [] if heads_columns(words) else self._stated_in(", ".join(words), line)
        self._trailing_statements += [
            s for s in statements if not statement.facts or s.kind in ON_SIGNS
        ]
        if len(words) == 1 and not statement.facts and is_full_name(words[0]):
            self._group[LONE_NAME] = Fact(LONE_NAME, words[0].strip(), (), line)
        if len(words) == 1 and all(fact.column == "swing" for fact in statement.facts):
            club = club_in_title(words[0])
            if club is None and "club" in self._group:
                club = like_a_club(words[0])
            if club is not None:
                self._group["club"] = Fact("club", club, (), line)


def find_layout(grid: AnyGrid, mappings: Sequence[HeadingMap] = ()) -> Layout | None:
    """Sort the records of a grid into tables and other lines.

    Parameters
    ----------
    grid : Grid or TurnedGrid
        As read.
    mappings : sequence of HeadingMap
        The user's mappings.

    Returns
    -------
    Layout or None
        None where no row reads like a heading.
    """
    finder = LayoutFinder(grid, mappings)
    heading = first_heading(finder.table)
    if heading is None:
        return None
    finder.table.language = language_of([heading.headings])
    again = heading_at(finder.table, heading.first)
    same = again is not None and again.last == heading.last
    chosen = again if again is not None and same else heading
    chosen = without_a_mark(finder.table, chosen)
    return finder.find(behind_an_index(finder.table, chosen))
