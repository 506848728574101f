"""Whether a record that bears few numbers is a shot, a remark, a sentence on signs, or none."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import polars as pl
from rangeledger.pipelines.reader.normalising.missing import is_missing
from rangeledger.pipelines.reader.normalising.words import is_summary_word
from rangeledger.pipelines.reader.recognising.lines.heading_cells import (
    Cells,
    filled,
    is_number,
    is_units_row,
)
from rangeledger.pipelines.reader.recognising.lines.turning import AnyGrid
from rangeledger.pipelines.reader.recognising.words.heading import Heading
from rangeledger.pipelines.reader.recognising.words.line_statements import is_statement
from rangeledger.pipelines.reader.recognising.words.statements import ON_SIGNS, statements_in
from rangeledger.schemas.clubs import club_of
from rangeledger.schemas.compositions import DATETIME, SHOT_NUMBER, TIME, column_dimension

_KEY_COLUMNS = 6


def key_columns(headings: Sequence[Heading]) -> list[int]:
    """Places of the first measured columns, by which shots are told from other lines."""
    measured = [
        place for place, h in enumerate(headings) if h.best and column_dimension(h.best.column)
    ]
    return measured[:_KEY_COLUMNS]


def odd_records(grid: AnyGrid, start: int, keys: list[int]) -> npt.NDArray[np.int64]:
    """Records from `start` on in which at most half of the key columns hold a digit."""
    if not keys:
        return np.arange(start, len(grid), dtype=np.int64)
    present = [f"c{key}" for key in keys if f"c{key}" in grid.cells.columns]
    digits = [pl.col(name).str.contains("[0-9]").fill_null(False) for name in present]
    cells = grid.cells.slice(start).select(pl.sum_horizontal(d.cast(pl.UInt8) for d in digits))
    counts = cells.to_series().to_numpy()
    return np.flatnonzero(counts <= len(present) // 2).astype(np.int64) + start


def is_data(cells: Cells, keys: Sequence[int]) -> bool:
    """Whether a record with few digits is still a shot, whole or not: numbers in their columns."""
    words = filled(cells)
    measured = [cells[k] for k in keys if k < len(cells) and is_number(cells[k] or "")]
    if measured and len(words) >= 2 and not is_units_row(cells):
        return not is_statement(words)
    data = any(is_number(word) for word in words) or sum(map(is_missing, words)) >= 0.4 * len(words)
    return len(words) >= 3 and data and not is_units_row(cells)


def is_unmeasured(cells: Cells, headings: Sequence[Heading]) -> bool:
    """Whether a record without numbers bears the number or time and the club of a shot."""
    by_column = {h.best.column: (cells[k] or "").strip()
                 for k, h in enumerate(headings) if h.best and k < len(cells)}  # fmt: skip
    numbered = [by_column.get(name, "") for name in (SHOT_NUMBER, TIME, DATETIME)]
    return club_of(by_column.get("club", "")).known and any(
        c.isdigit() for cell in numbered for c in cell
    )


def is_strange(cells: Cells, keys: Sequence[int]) -> bool:
    """Whether a line among shots holds something in a measured column that nothing explains."""
    words = filled(cells)
    measured = [cells[k] for k in keys if k < len(cells) and (cells[k] or "").strip()]
    if len(words) < 2 or not measured or is_units_row(cells) or is_statement(words):
        return False
    if any(statement.unit for statement in statements_in(", ".join(words), 0)):
        return False
    return not any(is_summary_word(word) for word in words)


def may_hold_remarks(heading: Heading) -> bool:
    """Whether a column is one of words that name nothing."""
    return heading.best is None or heading.best.column == "swing"


def states_signs(words: list[str]) -> bool:
    """Whether a line is a sentence on signs, such as `Deviation: minus is left`."""
    return any(statement.kind in ON_SIGNS for statement in statements_in(", ".join(words), 0))


def is_remark(cells: Cells) -> bool:
    """Whether the cells from the column of remarks on are words that a delimiter parted."""
    words = filled(cells)
    return bool((cells[0] or "").strip()) and not any(is_number(word) for word in words)
