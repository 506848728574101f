"""What the records of an export are: blocks of shots, and the lines beside them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
from rangeledger.pipelines.reader.recognising.words.facts import Fact
from rangeledger.pipelines.reader.recognising.words.heading import Heading
from rangeledger.pipelines.reader.recognising.words.unit_statements import Statement
from rangeledger.schemas.reasons import LineKind


@dataclass(frozen=True, slots=True)
class OtherLine:
    """A record that is no shot, and what it was taken for."""

    record: int
    kind: LineKind
    text: str


@dataclass(slots=True)
class Block:
    """One table: a heading and the records below it, up to the next heading or group line.

    Parameters
    ----------
    headings : tuple[Heading, ...]
        What each column's heading says.
    columns : tuple[int, ...]
        Columns of the grid, one a heading.
    records : numpy array of int
        Records that hold data; summary and ragged ones have been taken out.
    facts : dict[str, Fact]
        What holds for all of its shots, from lines above it.
    heading_record : int
        Record of the heading, -1 where the block continues under an earlier one.
    units : tuple[Statement, ...]
        What a line right above says otherwise than the lines before: units change from there on.
    """

    headings: tuple[Heading, ...]
    columns: tuple[int, ...]
    records: npt.NDArray[np.int64]
    facts: dict[str, Fact]
    heading_record: int
    units: tuple[Statement, ...] = ()

    def statements(self, of_all: Sequence[Statement]) -> list[Statement]:
        """Statements that hold for its shots: its own on units, and those of all on the rest."""
        own = {statement.kind for statement in self.units}
        return [*(s for s in of_all if not (s.unit and s.kind in own)), *self.units]


@dataclass(slots=True)
class Layout:
    """What the lines of an export are."""

    blocks: list[Block] = field(default_factory=list)
    others: list[OtherLine] = field(default_factory=list)
    summaries: list[int] = field(default_factory=list)
    ragged: list[tuple[int, int]] = field(default_factory=list)
    strange: list[int] = field(default_factory=list)
    statements: list[Statement] = field(default_factory=list)
    titles: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    unread: list[str] = field(default_factory=list)
    uncounted: list[tuple[int, str]] = field(default_factory=list)  # records, and their title
    beside: list[tuple[int, str]] = field(default_factory=list)  # lines in cells right of shots


def same_headings(blocks: Sequence[Block]) -> list[list[Block]]:
    """Blocks by what their headings say, in the order in which each first comes."""
    groups: dict[tuple[str, ...], list[Block]] = {}
    for block in blocks:
        key = tuple(f"{h.text}|{','.join(h.units)}" for h in block.headings)
        key += tuple(f"{s.kind}|{s.unit}" for s in block.units)
        groups.setdefault(key, []).append(block)
    return list(groups.values())
