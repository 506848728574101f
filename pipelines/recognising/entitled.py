"""Tables whose title says that they sum up the shots of another: `Summary`, `Averages`."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipelines.normalising.words import is_summary_word
from pipelines.recognising.layout import Block, Layout, OtherLine
from pipelines.recognising.turning import AnyGrid

Records = npt.NDArray[np.int64]


def set_summaries_aside(grid: AnyGrid, layout: Layout) -> None:
    """Take tables of one row a club under a title such as `Averages` out of the shots.

    Parameters
    ----------
    grid : Grid or TurnedGrid
        The export.
    layout : Layout
        Its blocks and other lines are changed in place. The longest table stays whatever its
        title says.
    """
    headings = sorted(o.record for o in layout.others if o.kind == "heading")
    parts = [(b, part) for b in layout.blocks for part in _parts(b, headings)]
    if len(parts) < 2:
        return
    longest = max(len(records) for _, (_, records) in parts)
    said = {o.record: o.text for o in layout.others if o.kind not in ("blank", "heading", "units")}
    blank = {o.record for o in layout.others if o.kind == "blank"}
    for block, (heading, records) in parts:
        entitled = len(records) < longest and is_summary_word(_title(heading, said, blank))
        if not (entitled and _a_row_a_club(grid, block, records)):
            continue
        block.records = np.setdiff1d(block.records, records)
        layout.others += [OtherLine(r, "summary", grid.raw_text(r)) for r in records.tolist()]
    layout.blocks[:] = [block for block in layout.blocks if len(block.records)]


def _parts(block: Block, headings: list[int]) -> list[tuple[int, Records]]:
    """Records of a block by the heading above them, which may be repeated within it."""
    first, last = int(block.records[0]), int(block.records[-1])
    starts = [block.heading_record, *(h for h in headings if first < h < last)]
    under = np.searchsorted(np.array(starts[1:], np.int64), block.records)
    return [(start, block.records[under == k]) for k, start in enumerate(starts)]


def _title(heading: int, said: dict[int, str], blank: set[int]) -> str:
    """Text of the line above a heading, blank lines between them left out."""
    record = heading - 1
    while record in blank:
        record -= 1
    return said.get(record, "").strip(" ,;\t|#*=-:")


def _a_row_a_club(grid: AnyGrid, block: Block, records: Records) -> bool:
    for heading, column in zip(block.headings, block.columns, strict=True):
        if heading.best is not None and heading.best.column == "club":
            clubs = grid.cells[f"c{column}"].gather(records)
            return clubs.n_unique() == len(clubs)
    return False
