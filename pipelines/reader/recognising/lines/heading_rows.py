"""Which rows of an export are headings and units, and what they say."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from rangeledger.pipelines.reader.recognising.lines.axes import axes_in, with_axes
from rangeledger.pipelines.reader.recognising.lines.footnotes import footnotes_in, with_footnotes
from rangeledger.pipelines.reader.recognising.lines.heading_cells import (
    COMMENT_MARKS,
    Cells,
    filled,
    is_units_row,
    is_units_sentence,
    may_be_heading,
    texts_of,
    unit_and_sign,
)
from rangeledger.pipelines.reader.recognising.lines.turning import AnyGrid
from rangeledger.pipelines.reader.recognising.words.facts import STATED_ONCE, fact_of
from rangeledger.pipelines.reader.recognising.words.heading import Heading, read_heading
from rangeledger.pipelines.reader.recognising.words.legends import (
    Meaning,
    listed_codes,
    meanings_in,
)
from rangeledger.pipelines.reader.recognising.words.mapping_file import HeadingMap, mapping_for
from rangeledger.pipelines.reader.recognising.words.prefixes import without_prefix
from rangeledger.pipelines.reader.recognising.words.side_letters import side_letters
from rangeledger.schemas.clubs import club_of
from rangeledger.schemas.compositions import SIDED, column_dimension
from rangeledger.schemas.words import fold

_HEAD_RECORDS = 120
_MOST_HEADING_ROWS, _FEWEST_IN_A_STATEMENT = 3, 4
_LOOK_ON = 12  # records after a good heading in which a better one is looked for
_MAY_BE_CUT = ("surface", "ball", "swing", "flight_basis")  # blank at the end of a row
_TAIL_RECORDS = 40
# From this weight on the words of a legend name a column; a heading of so few letters is a code.
_SURE_WORDS, _SHORT = 0.6, 4
_SYMBOL = re.compile(r"^\s*(\w[\w.]{0,11}|#)\s*(?:/|\(|\[|<|,|(?<=\w)\s+in\s)\s*(\S.*)$")

_FEWEST_DEFINED = 4
_OWN_LINES = 2  # a code stands in the legend and in the heading
_DISTANCES = ("carry_m", "total_m")


@dataclass(frozen=True, slots=True)
class HeadingRows:
    """A heading found at `first`..`last`, with what its columns say."""

    first: int
    last: int
    texts: tuple[str, ...]
    units: tuple[str, ...]
    headings: tuple[Heading, ...]
    rows: tuple[tuple[str, ...], ...] = ()

    @property
    def understood(self) -> float:
        """Sum of the weights of the distinct columns that were understood."""
        best: dict[str, float] = {}
        for heading in self.headings:
            if heading.best:
                column = heading.best.column
                best[column] = max(best.get(column, 0.0), heading.weight)
        return sum(best.values())


class GridRows:
    """Access to the records of a grid as tuples of cells."""

    def __init__(self, grid: AnyGrid, mappings: Sequence[HeadingMap] = ()) -> None:
        self.grid = grid
        self.mappings = mappings
        self.language: str | None = None
        self.head = grid.cells.head(_HEAD_RECORDS).rows()
        self.lines = lines_of(grid, self.head)
        self.legend = _legend(self.lines) or listed_codes(self.lines, self.head)
        self.footnotes = footnotes_in(self.lines)
        self.axes = axes_in(self.lines)

    def __len__(self) -> int:
        return len(self.grid)

    def __getitem__(self, record: int) -> tuple[str | None, ...]:
        if record < len(self.head):
            return self.head[record]
        return self.grid.cells.row(record)


def lines_of(grid: AnyGrid, head: Sequence[Cells]) -> list[str]:
    """Comments and the first and last records of a grid, each as one line."""
    mark = {",": ", ", "\t": "\t"}.get(grid.delimiter, "; ")
    tail = grid.cells.slice(max(len(head), len(grid) - _TAIL_RECORDS)).rows()
    records = (mark.join(c.strip() for c in cells if c and c.strip()) for cells in (*head, *tail))
    return [*(skipped.text for skipped in grid.skipped), *records]


def _legend(lines: Iterable[str]) -> dict[str, Meaning]:
    """What lines beside the table say that short headings stand for: `BS = ball speed (mph)`."""
    return {meaning.code: meaning for meaning in reversed(meanings_in(lines))}


def _explained(text: str, below: str, table: GridRows) -> Heading:
    """A heading, read by its footnotes and the legend beside the table where they explain it."""
    unit, sign = unit_and_sign(below)
    if sign:
        return replace(_explained(f"{text} {sign}", unit, table), text=text)
    if table.footnotes and (noted := with_footnotes(text, table.footnotes)) is not None:
        return replace(_explained(noted, below, table), text=text)
    if table.axes and (placed := with_axes(text, table.axes)) is not None:
        heading = read_heading(placed, below, table.language)
        if heading.weight >= _SURE_WORDS:
            return replace(heading, text=text)
    if not table.legend:
        return read_heading(text, below, table.language)
    symbol = _SYMBOL.match(text)
    meaning = table.legend.get(text) or (table.legend.get(symbol[1]) if symbol else None)
    if meaning is None:
        return read_heading(text, below, table.language)
    unit = f" [{symbol[2].strip(' )]>')}]" if symbol and meaning.code != text else ""
    own, found = (read_heading(t, below, table.language) for t in (text, meaning.words + unit))
    side = found.best.column if found.best else ""
    if side in SIDED and found.positive is None and _spoken_of_elsewhere(meaning.code, table.lines):
        return own  # what is said there may turn it round
    if found.straight:
        whole = own.best is not None and own.best.column in _DISTANCES and own.weight >= _SURE_WORDS
        return replace(own, straight=True) if whole else own
    better = found.weight >= _SURE_WORDS and (
        own.weight < found.weight or len(meaning.code) <= _SHORT
    )
    return replace(found, text=text) if better else own


def _better(heading: Heading, rest: str | None, below: str, table: GridRows) -> Heading:
    """A heading that says little, read without what others begin with too where that helps."""
    if rest is None or (heading.weight >= _SURE_WORDS and not heading.unknown):
        return heading
    found = _explained(rest, below, table)
    better = found.weight >= _SURE_WORDS and found.weight > heading.weight
    return replace(found, text=heading.text) if better else heading


def _spoken_of_elsewhere(code: str, lines: Sequence[str]) -> bool:
    """Whether a code stands in a line beside those of the legend and the heading."""
    word = re.compile(rf"(?<!\w){re.escape(code)}(?!\w)")
    return sum(bool(word.search(line)) for line in lines) > _OWN_LINES


def _spread(cells: Cells) -> tuple[str, ...]:
    """Labels of groups of columns, each carried on to the right until the next."""
    carried, last = [], ""
    for text in texts_of(cells):
        last = text or last
        carried.append(last)
    return tuple(carried)


def _joined(rows: Sequence[tuple[str, ...]]) -> tuple[str, ...]:
    width = max(len(row) for row in rows)
    padded = [row + ("",) * (width - len(row)) for row in rows]
    return tuple(" ".join(part for part in parts if part) for parts in zip(*padded, strict=True))


def _without_statement(texts: tuple[str, ...]) -> tuple[str, ...]:
    """Headings within one bracket over all of them: `COPY shots (id`, …, `side_m) FROM stdin;`."""
    if len(texts) < _FEWEST_IN_A_STATEMENT:
        return texts
    before, opened, first = texts[0].partition("(")
    last, closed, _ = texts[-1].rpartition(")")
    if not (before and opened and closed) or ")" in first or "(" in last:
        return texts
    return (first.strip(), *texts[1:-1], last.strip())


def _read_row(
    table: GridRows, first: int, last: int, texts: tuple[str, ...], units: Cells = ()
) -> HeadingRows:
    texts = _without_statement(texts)
    below = texts_of(units) + ("",) * len(texts)
    headings = tuple(_explained(text, below[place], table) for place, text in enumerate(texts))
    if any(heading.weight < _SURE_WORDS or heading.unknown for heading in headings):
        bare = without_prefix(texts)
        headings = tuple(
            _better(heading, rest, below[place], table)
            for place, (heading, rest) in enumerate(zip(headings, bare, strict=True))
        )
    return HeadingRows(first, last, texts, below[: len(texts)] if units else (), headings)


def heading_at(table: GridRows, record: int) -> HeadingRows | None:
    """The heading that starts at a record, of up to three rows, with its units row."""
    first = table[record]
    if not may_be_heading(first) or _explains(table, first) or _states_a_club(first):
        return None
    best: HeadingRows | None = None
    rows: list[tuple[str, ...]] = []
    for last in range(record, min(record + _MOST_HEADING_ROWS, len(table))):
        cells = table[last]
        further = last > record and (is_units_row(cells) or _explains(table, cells))
        further = further or _leaves_comment(rows, cells)
        if further or not may_be_heading(cells):
            break
        rows.append(texts_of(cells))
        for texts in _variants(rows, table.language):
            found = _read_row(table, record, last, texts)
            if best is None or found.understood > best.understood + 0.25 * (last - best.last):
                best = found
    if best is None:
        return None
    if best.last > record and is_units_sentence(table[record]):
        alone = heading_at(table, record + 1)
        if alone is not None and alone.understood >= best.understood:
            return None
    whole = _with_units(table, best)
    raw = tuple(texts_of(table[r]) for r in range(whole.first, whole.last + 1))
    return replace(whole, rows=raw)


def _states_a_club(cells: Cells) -> bool:
    """`Club;Wedge 56°`: a key and its value, though they look like two headings."""
    words = filled(cells)
    if len(words) != 2 or not club_of(words[1]).known:
        return False
    fact = fact_of(words[0], words[1], 0)
    return fact is not None and fact.column == "club"


def _leaves_comment(rows: Sequence[tuple[str, ...]], cells: Cells) -> bool:
    """Whether the rows before are comments, which go with no heading that is none."""
    marked = [next(filter(None, texts_of(row)), "").startswith(COMMENT_MARKS)
              for row in (*rows[:1], cells)]  # fmt: skip
    return len(marked) > 1 and marked[0] and not marked[1]


def _explains(table: GridRows, cells: Cells) -> bool:
    """Whether a record is a line of the legend: a code and what it means, or several with `=`."""
    words = [word.strip() for word in filled(cells)]
    explained = table.legend.get(words[0]) if words else None
    rest = ", ".join(words[1:])
    if explained is not None and rest and fold(rest) == fold(explained.words):
        return True
    bare = [lettered[0] if (lettered := side_letters(word)) else word for word in words]
    if bare and "=" not in bare[0] and 2 * sum("=" in word for word in bare) < len(bare):
        return False  # headings of which some explain themselves: `Side (m; positive = right)`
    meanings = meanings_in([", ".join(bare)]) if any("=" in word for word in bare) else []
    codes = {meaning.code for meaning in meanings}
    symbols = ({*map(_symbol_of, texts_of(row))} for row in table.head if row is not cells)
    if len(words) >= _FEWEST_DEFINED and not any(codes & row for row in symbols):
        return False  # `v0 = ball speed (m/s)`: headings that define their own symbols
    return len(meanings) > 1 or any(meaning.of_heading for meaning in meanings)


def _symbol_of(text: str) -> str:
    """`v` of `v [m/s]`; a heading in other words as it stands."""
    symbol = _SYMBOL.match(text)
    return symbol[1] if symbol else text


def _variants(rows: list[tuple[str, ...]], language: str | None) -> list[tuple[str, ...]]:
    """Heading texts of stacked rows: as they stand, and each with the group label that helps."""
    if len(rows) == 1:
        return [rows[0]]
    carried = [_spread(row) for row in rows[:-1]]
    plain, grouped = _joined(rows), _joined([*carried, rows[-1]])
    own = rows[-1] + ("",) * (len(plain) - len(rows[-1]))
    choices = zip(own, plain, grouped, strict=True)

    def telling(text: str) -> tuple[float, int]:
        """How well a heading is understood; of equals the shorter."""
        heading = read_heading(text, "", language)
        # A label beside words that nobody knows must not make a column of them.
        return (0.0 if heading.unknown and text not in own else heading.weight), -len(text)

    return [plain, tuple(max(texts, key=telling) for texts in choices)]


def _with_units(table: GridRows, found: HeadingRows) -> HeadingRows:
    below = found.last + 1
    if below < len(table) and is_units_row(table[below]):
        return _read_row(table, found.first, below, found.texts, table[below])
    return found


def with_units(table: GridRows, found: HeadingRows, record: int) -> HeadingRows:
    """A heading with the units of a row further below, which stands for itself.

    Parameters
    ----------
    table : GridRows
        The export.
    found : HeadingRows
        The heading above.
    record : int
        The row of units.

    Returns
    -------
    HeadingRows
        The words of the one with the units of the other.
    """
    again = _read_row(table, record, record, found.texts, table[record])
    return replace(again, rows=found.rows)


def is_supported(table: GridRows, found: HeadingRows) -> bool:
    """Whether numbers stand below the columns that should hold numbers."""
    columns = [
        place
        for place, heading in enumerate(found.headings)
        if heading.best and column_dimension(heading.best.column)
    ]
    if not columns:
        return False
    for record in range(found.last + 1, min(found.last + 8, len(table))):
        cells = table[record]
        below = [c for p in columns if p < len(cells) and (c := cells[p]) and c.strip()]
        numbers = sum(any(ch.isdigit() for ch in cell) for cell in below)
        if numbers >= max(1, 0.4 * len(columns)):
            return True
    return False


def is_heading(found: HeadingRows | None) -> bool:
    """Whether enough words of a row are understood to take it for a heading."""
    if found is None:
        return False
    words = sum(bool(text) for text in found.texts)
    known = sum(bool(heading.best) for heading in found.headings)
    return known >= 2 and (known >= 0.5 * words or known >= 4)


def first_heading(table: GridRows) -> HeadingRows | None:
    """The first heading with numbers below it, else the best heading without."""
    mapped = _mapped_heading(table)
    if mapped is not None:
        return mapped
    found: list[HeadingRows] = []
    supported: list[HeadingRows] = []
    record = 0
    while record < len(table.head):
        heading = heading_at(table, record)
        if heading and is_heading(heading):
            found.append(heading)
            supported += [heading] if is_supported(table, heading) else []
        record += 1
        if supported and record > supported[0].last + _LOOK_ON:
            break
    if not supported:
        return max(found, key=lambda h: h.understood, default=None)
    struck = [h for h in supported if _speaks_of_shots(h)] or supported
    best = max(heading.understood for heading in struck)
    return next(h for h in struck if h.understood >= 0.6 * best)


def _speaks_of_shots(found: HeadingRows) -> bool:
    """Whether a heading has more than what may be said once for many shots: date, player, air."""
    return any(
        h.best and column_dimension(h.best.column) and h.best.column not in STATED_ONCE
        for h in found.headings
    )


def _mapped_heading(table: GridRows) -> HeadingRows | None:
    """The row with the headings of one of the user's mappings: where it says, else the first."""
    mapped_lines = {m.heading_line for m in table.mappings}
    records = range(len(table.head)) if table.mappings else range(0)
    for record in sorted(records, key=lambda r: int(table.grid.line[r]) not in mapped_lines):
        found = heading_at(table, record)
        if found and mapping_for(found.texts, table.mappings):
            return found
        texts = texts_of(table[record])
        if mapping_for(texts, table.mappings):
            plain = _read_row(table, record, record, texts)
            return replace(_with_units(table, plain), rows=(texts,))
    return None


def needed_width(headings: Sequence[Heading], width: int) -> int:
    """Number of columns up to the last measured or naming one; blank cells may follow it."""
    telling = [
        place + 1
        for place, heading in enumerate(headings[:width])
        if heading.best and heading.best.column not in _MAY_BE_CUT
    ]
    return max(telling, default=width)


def named_width(texts: Sequence[str]) -> int:
    """Number of columns up to the last one with a heading."""
    return max((place + 1 for place, text in enumerate(texts) if text), default=0)
