"""Lines set aside, looked up when asked for: a file may hold millions of blank ones."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import overload

import numpy as np
import numpy.typing as npt
from rangeledger.pipelines.reader.reading.lines import text_of


@dataclass(frozen=True)
class Aside:
    """A line set aside, decoded; `why` is `blank`, `comment` or `separator`."""

    line: int
    text: str
    why: str


class Asides(Sequence[Aside]):
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
    def __getitem__(self, index: int) -> Aside: ...
    @overload
    def __getitem__(self, index: slice) -> list[Aside]: ...
    def __getitem__(self, index: int | slice) -> Aside | list[Aside]:
        if isinstance(index, slice):
            return [self._aside(line) for line in self._lines[index].tolist()]
        return self._aside(int(self._lines[index]))

    def __repr__(self) -> str:
        return f"Asides({list(self[:5])}{', ...' if len(self) > 5 else ''})"

    def _aside(self, line: int) -> Aside:
        why = next(reason for reason, lines in self._marked.items() if lines[line])
        return Aside(line + 1, text_of(self._data, self._start, line, line), why)
