"""Lines beside a table, in cells to the right of its shots: `…;;Player: Ann Breck`."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import takewhile

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
    # A word without a key, `range ball`, may be a remark on the one shot beside it.
    facts = {line: [fact for fact in stated[line].facts if not fact.loose] for line in lines}
    telling = [line for line in lines if facts[line] or statements[line]]
    if not telling or len(telling) < _LEAST_STATED * len(lines):
        return
    by_column = {fact.column: fact for line in telling for fact in facts[line]}
    for block in layout.blocks:
        block.facts = {**by_column, **block.facts}
    for line in lines:
        kept = [s for s in statements[line] if s.kind in ON_SIGNS or not facts[line]]
        layout.statements += kept
        layout.unread += stated[line].unread
        layout.beside.append((line, ", ".join(lines[line])))
    said = ", ".join(repr(", ".join(lines[line])) for line in telling)
    layout.unread.append(f"What stands beside the first shots ({said}) was taken for all of them.")


def states_beside(cells: Cells) -> bool:
    """Whether cells that no heading heads state something as a line does."""
    words = filled(cells)
    return bool(words) and bool(statement_of_line(words, 0).facts or statements_in(words[0], 0))


def _lines_beside(table: GridRows, block: Block) -> dict[int, list[str]]:
    """Words right of a block's first records, one record after the other, but not of all."""
    start = _end_of_table(block.headings)
    records = block.records[:_LOOKED_AT].tolist()
    found = {record: filled(table[record][start:]) for record in records}
    top = list(takewhile(lambda record: found[record], records))
    alone = sum(map(bool, found.values())) == len(top) < len(records)
    return {record: found[record] for record in top} if alone else {}


def _end_of_table(headings: Sequence[Heading]) -> int:
    """The first column without a heading behind which no heading is known."""
    known = [place for place, heading in enumerate(headings) if heading.candidates]
    last = max(known, default=len(headings) - 1)
    blank = [p for p in range(last + 1, len(headings)) if not headings[p].text.strip()]
    return blank[0] if blank else len(headings)
