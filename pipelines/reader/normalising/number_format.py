"""Which mark is the decimal mark in a file, and which one parts the thousands.

The marks are judged over a whole file at once: one cell such as `1,234` has two readings, but
`12,5` or `1,234.5` elsewhere in the file settles it.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import polars as pl
from rangeledger.pipelines.reader.normalising.characters import plain_characters

_SAMPLE_ROWS = 20_000
_NUMBER = re.compile(
    r"^[^0-9]*?([0-9][0-9 '.,]*[0-9]|[0-9]|[.,][0-9]+)(?:[eE][+-]?[0-9]+)?[^0-9]*$"
)
_GROUPED = {mark: re.compile(rf"[0-9]{{1,3}}(?:{re.escape(mark)}[0-9]{{3}})+") for mark in " .,'"}
_OPEN = re.compile(r"[-+]?([1-9][0-9]{0,2}([.,])[0-9]{3})")
_OTHER = {".": ",", ",": "."}


@dataclass(frozen=True, slots=True)
class NumberFormat:
    """How numbers are written in a file.

    Parameters
    ----------
    decimal : str
        `.` or `,`.
    thousands : str or None
        `.`, `,`, `'` or a space; None where no mark parts the thousands.
    evidence : str
        What in the file says so, in plain words.
    sure : bool
        False where the file allows a second reading; `other` then holds it.
    other : NumberFormat or None
        The second reading.
    mixed : bool
        Whether some cells may have the other decimal mark.
    """

    decimal: str = "."
    thousands: str | None = None
    evidence: str = "no number holds a comma or a point"
    sure: bool = True
    other: NumberFormat | None = None
    mixed: bool = True


def other_decimal(number_format: NumberFormat) -> tuple[NumberFormat, str]:
    """Numbers of the other decimal mark in a file typed by hand, where they can be nothing else.

    Parameters
    ----------
    number_format : NumberFormat
        Marks of the file.

    Returns
    -------
    tuple[NumberFormat, str]
        The format with the other mark, and a pattern of the cells that only it can read: `45.9`
        among `45,0`, but not `1.234`, which may have its thousands parted.
    """
    mark = _OTHER[number_format.decimal]
    pattern = rf"^[^0-9.,]*[0-9]+{re.escape(mark)}(?:[0-9]{{1,2}}|[0-9]{{4,}})(?:[^0-9.,][^0-9]*)?$"
    return NumberFormat(mark), pattern


@dataclass(slots=True)
class _Votes:
    """What the cells of one column say about the marks."""

    decimal: Counter[str]
    thousands: Counter[str]
    open: Counter[str]
    example: dict[str, str]
    plain_below_thousand: bool = False


def _sample(column: pl.Series, *, whole: bool) -> list[str]:
    """Distinct cells of a column, of a long one those of its head and of rows all over it."""
    if len(column) > 2 * _SAMPLE_ROWS:
        column = column.drop_nulls()
    if len(column) > 2 * _SAMPLE_ROWS:
        if not whole:
            step = len(column) // _SAMPLE_ROWS
            column = pl.concat([column.head(_SAMPLE_ROWS), column.gather_every(step)])
        column = column.unique(maintain_order=True)
    return [cell for cell in dict.fromkeys(column.to_list()) if cell is not None]


# Bare numbers that settle the decimal mark at sight, and bare whole numbers below a thousand.
# Nobody parts thousands before a power of ten, `4.784E+01`.
_AT_SIGHT = re.compile(
    r"[-+]?(?:[0-9]+([.,])(?:[0-9]{1,2}|[0-9]{4,}|[0-9]+[eE][-+]?[0-9]+)|0([.,])[0-9]+"
    r"|(?P<whole>[0-9]{1,3}))"
)


def _read_settled(cells: list[str], votes: _Votes) -> list[str]:
    """Count the cells that settle the mark at sight; the others are left to be looked at."""
    left = []
    for cell in cells:
        found = _AT_SIGHT.fullmatch(cell)
        if found is None:
            left.append(cell)
        elif found["whole"]:
            votes.plain_below_thousand = True
        else:
            mark = found[1] or found[2]
            votes.decimal[mark] += 1
            votes.example.setdefault(mark, cell)
    return left


def _read_core(core: str, votes: _Votes) -> None:
    """Count what one bare number says: `12,5` is decimal, `1.234,5` is both, `1,234` is open."""
    for mark in (" ", "'"):
        if mark in core:
            if not re.match(rf"{_GROUPED[mark].pattern}(?:[.,][0-9]*)?$", core):
                return
            votes.thousands[mark] += 1
            core = core.replace(mark, "")
    marks = [c for c in core if c in ".,"]
    if not marks:
        votes.plain_below_thousand |= len(core) <= 3
        return
    last = marks[-1]
    before, after = core.rsplit(last, 1)
    if len(set(marks)) == 2:
        if marks.count(last) == 1 and _GROUPED[_OTHER[last]].fullmatch(before):
            votes.decimal[last] += 1
            votes.thousands[_OTHER[last]] += 1
            votes.example.setdefault(last, core)
        return
    if len(marks) > 1:
        if _GROUPED[last].fullmatch(core):
            votes.thousands[last] += 1
            votes.decimal[_OTHER[last]] += 1
            votes.example.setdefault(_OTHER[last], core)
        return
    if len(after) != 3 or not 1 <= len(before) <= 3 or before.startswith("0"):
        votes.decimal[last] += 1
        votes.example.setdefault(last, core)
    else:
        _count_open(core, last, votes)


def _count_open(core: str, mark: str, votes: _Votes) -> None:
    votes.open[mark] += 1
    votes.example.setdefault("open", core)


def _votes_of(column: pl.Series, *, whole: bool = False) -> _Votes:
    """What a column says; a long one is read as a whole only if a sample settles nothing."""
    votes = _Votes(Counter(), Counter(), Counter(), {})
    for cell in _read_settled(_sample(column, whole=whole), votes):
        bare = _OPEN.fullmatch(cell)
        if bare:
            _count_open(bare[1], bare[2], votes)
        elif found := _NUMBER.match(plain_characters(cell)):
            _read_core(found[1], votes)
    if not (votes.decimal or whole or len(column) <= 2 * _SAMPLE_ROWS) and (
        votes.open or column.str.contains("[.,]").any()
    ):
        return _votes_of(column, whole=True)
    if votes.open and votes.plain_below_thousand and not votes.decimal:
        # A column that prints both 952 and 1,012 parts its thousands: three decimals would show
        # behind every number.
        for mark, count in votes.open.items():
            votes.thousands[mark] += count
            votes.decimal[_OTHER[mark]] += 1
            votes.example.setdefault(_OTHER[mark], votes.example["open"])
        votes.open.clear()
    return votes


def _decide(decimal: str, columns: list[_Votes], evidence: str) -> NumberFormat:
    marks: Counter[str] = Counter()
    for votes in columns:
        marks.update({m: n for m, n in (votes.thousands + votes.open).items() if m != decimal})
    thousands = marks.most_common(1)[0][0] if marks else None
    mixed = any(votes.decimal[_OTHER[decimal]] for votes in columns)
    return NumberFormat(decimal, thousands, evidence, mixed=mixed)


def detect_number_format(columns: Sequence[pl.Series]) -> NumberFormat:
    """Decimal and thousands marks of a file.

    Parameters
    ----------
    columns : sequence of pl.Series
        The text columns that hold numbers; units and sides in the cells do no harm.

    Returns
    -------
    NumberFormat
        The marks. `sure` is False where all evidence is of the kind `1,234`, or where columns
        contradict each other; cells that don't fit the marks are reported when parsed.
    """
    every = [_votes_of(column) for column in columns]
    comma = sum(bool(v.decimal[","] > v.decimal["."]) for v in every)
    point = sum(bool(v.decimal["."] > v.decimal[","]) for v in every)
    if comma or point:
        decimal = "," if comma > point else "."
        example = next(v.example[decimal] for v in every if decimal in v.example)
        chosen = _decide(decimal, every, f"a number such as {example}")
        if comma and point:
            evidence = f"{comma} columns with a decimal comma, {point} with a decimal point"
            sure = max(comma, point) >= 4 * min(comma, point)
            chosen = replace(chosen, thousands=None, evidence=evidence, sure=sure)
            other = replace(chosen, decimal=_OTHER[decimal], other=None)
            return chosen if sure else replace(chosen, other=other)
        return chosen
    open_marks: Counter[str] = Counter()
    for votes in every:
        open_marks.update(votes.open)
    if open_marks:
        return _open_format(open_marks, every)
    return _decide(".", every, NumberFormat().evidence)


def _open_format(open_marks: Counter[str], every: list[_Votes]) -> NumberFormat:
    """Both readings of a file whose only marked numbers look like `1,234`."""
    mark = open_marks.most_common(1)[0][0]
    example = next(v.example["open"] for v in every if "open" in v.example)
    evidence = f"only numbers such as {example}, which can be read in two ways"
    parted = NumberFormat(_OTHER[mark], mark, evidence, sure=False)
    return replace(parted, other=NumberFormat(mark, None, evidence, sure=False))
