"""Tables whose title says that they sum up the shots of another: `Summary`, `Averages`."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from rangeledger.pipelines.reader.normalising.words import is_summary_word
from rangeledger.pipelines.reader.recognising.layout import Block, Layout, OtherLine
from rangeledger.pipelines.reader.recognising.turning import AnyGrid
from rangeledger.schemas.clubs import club_of
from rangeledger.schemas.errors import ExportError
from rangeledger.schemas.reasons import FileReason, LineKind

Records = npt.NDArray[np.int64]


def set_summaries_aside(grid: AnyGrid, layout: Layout, file_name: str) -> None:
    """Take tables of one row a club under a title such as `Averages` out of the shots.

    Parameters
    ----------
    grid : Grid or TurnedGrid
        The export.
    layout : Layout
        Its blocks and other lines are changed in place.
    file_name : str
        For the message.

    Raises
    ------
    ExportError
        `averages-only` where no other table is left.
    """
    said = {o.record: o for o in layout.others if o.kind not in (LineKind.HEADING, LineKind.UNITS)}
    titles = [r for r, o in said.items() if o.kind == LineKind.SUMMARY and _is_title(o.text)]
    starts = sorted([o.record for o in layout.others if o.kind == LineKind.HEADING] + titles)
    for block in layout.blocks:
        for start, records in _parts(block, starts):
            entitled = start in titles or _is_title(_text_above(start, said))
            if entitled and len(records) > 1 and _a_row_a_club(grid, block, records):
                block.records = np.setdiff1d(block.records, records)
                layout.others += [
                    OtherLine(r, LineKind.SUMMARY, grid.raw_text(r)) for r in records.tolist()
                ]
    had_blocks = bool(layout.blocks)
    layout.blocks[:] = [block for block in layout.blocks if len(block.records)]
    if had_blocks and not layout.blocks:
        raise ExportError(
            f"{file_name}: its title says that its rows sum up shots. Export the single shots.",
            FileReason.AVERAGES_ONLY,
        )


def _is_title(text: str) -> bool:
    """Whether a line without numbers announces means: `Averages per club`, `Zusammenfassung`."""
    bare = text.strip(" ,;\t|#*=-:")
    return not any(c.isdigit() for c in bare) and is_summary_word(bare)


def _parts(block: Block, starts: list[int]) -> list[tuple[int, Records]]:
    """Records of a block by the heading or title above them, which may stand within it."""
    first, last = int(block.records[0]), int(block.records[-1])
    above = [s for s in starts if block.heading_record <= s < first]
    begins = [above[-1] if above else block.heading_record]
    begins += [s for s in starts if first < s < last]
    under = np.searchsorted(np.array(begins[1:], np.int64), block.records)
    return [(start, block.records[under == k]) for k, start in enumerate(begins)]


def _text_above(heading: int, said: dict[int, OtherLine]) -> str:
    """Text of the line above a heading, blank lines between them left out."""
    record = heading - 1
    while record in said and said[record].kind == LineKind.BLANK:
        record -= 1
    return said[record].text if record in said else ""


def _a_row_a_club(grid: AnyGrid, block: Block, records: Records) -> bool:
    for heading, column in zip(block.headings, block.columns, strict=True):
        if heading.best is not None and heading.best.column == "club":
            spelt = grid.cells[f"c{column}"].gather(records).fill_null("").to_list()
            return len({club_of(text).name for text in spelt}) == len(spelt)
    return False
