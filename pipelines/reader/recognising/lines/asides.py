"""Lines beside a table, in cells to the right of its shots: `…;;Player: Ann Breck`."""

from __future__ import annotations

from collections.abc import Sequence

from rangeledger.pipelines.reader.recognising.lines.blocks import Block, Layout
from rangeledger.pipelines.reader.recognising.lines.heading_cells import Cells, filled
from rangeledger.pipelines.reader.recognising.lines.heading_rows import GridRows
from rangeledger.pipelines.reader.recognising.words.heading import Heading
from rangeledger.pipelines.reader.recognising.words.line_statements import statement_of_line
from rangeledger.pipelines.reader.recognising.words.statements import ON_SIGNS, statements_in

_LOOKED_AT = 60  # records of a block: what is written beside a table stands near its top
_LEAST_STATED = 0.5  # share of the lines that state something, so that they are no remarks


def take_asides(table: GridRows, layout: Layout) -> None:
    """Add what stands to the right of the shots to what the lines beside them say.

    Parameters
    ----------
    table : GridRows
        The records.
    layout : Layout
        Its blocks, whose facts, statements and unread lines are added to in place.
    """
    told: dict[int, list[str]] = {}
    for block in layout.blocks:
        told |= _lines_beside(table, block)
    lines = {int(table.grid.line[record]): words for record, words in told.items()}
    stated = {line: statement_of_line(words, line) for line, words in lines.items()}
    statements = {line: statements_in(", ".join(words), line) for line, words in lines.items()}
    telling = [line for line in lines if stated[line].facts or statements[line]]
    if not telling or len(telling) < _LEAST_STATED * len(lines):
        return
    facts = {fact.column: fact for line in telling for fact in stated[line].facts}
    for block in layout.blocks:
        block.facts = {**facts, **block.facts}
    for line in lines:
        kept = [s for s in statements[line] if s.kind in ON_SIGNS or not stated[line].facts]
        layout.statements += kept
        layout.unread += stated[line].unread
        layout.beside.append((line, ", ".join(lines[line])))


def states_beside(cells: Cells) -> bool:
    """Whether cells that no heading heads state something as a line does."""
    words = filled(cells)
    return bool(words) and bool(statement_of_line(words, 0).facts or statements_in(words[0], 0))


def _lines_beside(table: GridRows, block: Block) -> dict[int, list[str]]:
    """Words of a block's records right of its table, none where each of them has some."""
    start = _end_of_table(block.headings)
    records = block.records[:_LOOKED_AT].tolist()
    found = {record: filled(table[record][start:]) for record in records}
    words = {record: cells for record, cells in found.items() if cells}
    return words if len(words) < len(records) else {}


def _end_of_table(headings: Sequence[Heading]) -> int:
    """The first column without a heading behind which no heading is known."""
    known = [place for place, heading in enumerate(headings) if heading.candidates]
    last = max(known, default=len(headings) - 1)
    blank = [p for p in range(last + 1, len(headings)) if not headings[p].text.strip()]
    return blank[0] if blank else len(headings)
