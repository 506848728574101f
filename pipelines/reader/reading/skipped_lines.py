"""Lines set aside, looked up when asked for: a file may hold millions of blank ones."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import overload

import numpy as np
import numpy.typing as npt
import polars as pl
from rangeledger.pipelines.reader.reading.lines import text_of


@dataclass(frozen=True)
class SkippedLine:
    """A line set aside, decoded; `why` is `blank`, `comment`, `commented-out` or
    `separator`.
    """

    line: int
    text: str
    why: str


class SkippedLines(Sequence[SkippedLine]):
    """All lines set aside, in file order.

    Parameters
    ----------
    data : bytes
        UTF-8 text with LF line breaks.
    start : ndarray of int64
        Where its lines start.
    marked : dict of str to ndarray of bool
        Lines set aside, by reason.
    """

    def __init__(
        self,
        data: bytes,
        start: npt.NDArray[np.int64],
        marked: dict[str, npt.NDArray[np.bool_]],
    ) -> None:
        self._data, self._start, self._marked = data, start, marked
        self._lines = np.flatnonzero(np.logical_or.reduce(list(marked.values())))

    def __len__(self) -> int:
        return len(self._lines)

    @overload
    def __getitem__(self, index: int) -> SkippedLine: ...
    @overload
    def __getitem__(self, index: slice) -> list[SkippedLine]: ...
    def __getitem__(self, index: int | slice) -> SkippedLine | list[SkippedLine]:
        if isinstance(index, slice):
            return [self._skipped_line(line) for line in self._lines[index].tolist()]
        return self._skipped_line(int(self._lines[index]))

    @property
    def comments(self) -> list[str]:
        """Text of the comment lines."""
        marked = self._marked.get("comment")
        return [] if marked is None else [self._text(k) for k in np.flatnonzero(marked).tolist()]

    def frame(self, schema: pl.Schema) -> pl.DataFrame:
        """All of them as a table of line, reason and text, under the names of a schema.

        The text of blank lines is left empty: there may be millions of them.
        """
        parts = [pl.DataFrame(schema=schema)]
        for reason, marked in self._marked.items():
            lines = np.flatnonzero(marked)
            texts = [""] if reason == "blank" else [self._text(line) for line in lines.tolist()]
            at, why, text = schema
            if lines.size:
                rows = pl.DataFrame({at: (lines + 1).astype(np.int32)})
                texts = texts if len(texts) == len(lines) else texts * len(lines)
                parts.append(rows.with_columns(pl.lit(reason).alias(why), pl.Series(text, texts)))
        return pl.concat(parts)

    def __repr__(self) -> str:
        return f"SkippedLines({list(self[:5])}{', ...' if len(self) > 5 else ''})"

    def _skipped_line(self, line: int) -> SkippedLine:
        why = next(reason for reason, lines in self._marked.items() if lines[line])
        return SkippedLine(line + 1, self._text(line), why)

    def _text(self, line: int) -> str:
        return text_of(self._data, self._start, line, line)
