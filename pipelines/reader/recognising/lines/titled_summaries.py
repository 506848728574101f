"""Tables whose title says that their rows are no shots: averages, a chart, goals, a plan."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import polars as pl
from rangeledger.pipelines.reader.normalising.phrases import pieces_of
from rangeledger.pipelines.reader.recognising.lines.blocks import Block, Layout, OtherLine
from rangeledger.pipelines.reader.recognising.lines.turning import AnyGrid
from rangeledger.pipelines.reader.recognising.words.heading import Heading
from rangeledger.pipelines.reader.recognising.words.mapping_file import HeadingMap, mapping_for
from rangeledger.pipelines.reader.recognising.words.purposes import (
    Purpose,
    purpose_of,
    simulated_by,
)
from rangeledger.schemas.clubs import club_of
from rangeledger.schemas.compositions import (
    DATETIME,
    SHOT_COUNT,
    SHOT_NUMBER,
    TIME,
    column_dimension,
)
from rangeledger.schemas.errors import ExportError
from rangeledger.schemas.reasons import LineKind

Records = npt.NDArray[np.int64]

_NO_TITLES = frozenset({LineKind.HEADING, LineKind.UNITS, LineKind.BLANK})
_NO_NAMES = frozenset({SHOT_NUMBER, SHOT_COUNT, TIME, DATETIME})
_NUMBER = r"^\s*[-+]?[0-9]+(?:[.,][0-9]+)?\s*$"
_INSTANT = r"^\s*[0-9][0-9./:\sTZ+-]*(?:[./-][0-9]{1,4}|:[0-9]{2})[0-9./:\sTZ+-]*$"
_NUMBERS_ALONE = re.compile(r"(?<!\S)[-+]?[0-9]+(?:[.,][0-9]+)?(?!\S)")
_ENDING = re.compile(r"\.[A-Za-z]{1,5}$")


def exclude_titled_summaries(
    grid: AnyGrid, layout: Layout, file_name: str, mappings: Sequence[HeadingMap] = ()
) -> None:
    """Take rows out of the shots whose title says that they are none.

    Parameters
    ----------
    grid : Grid or TurnedGrid
        The export.
    layout : Layout
        Its blocks and other lines are changed in place.
    file_name : str
        It may be a title too.
    mappings : sequence of HeadingMap
        The user's mappings: what they know by its headings is a table of shots.

    Raises
    ------
    ExportError
        Where no other table is left.
    """
    lines = {o.record: o for o in layout.others}
    of_file = purpose_of(_ENDING.sub("", file_name).replace("_", " ").replace("-", " "))
    excluded: list[Purpose] = []
    for block in layout.blocks:
        if mapping_for([h.text for h in block.headings], mappings) is not None:
            continue
        for start, records in _parts(block, lines):
            titles = _titles(start, lines, layout, records)
            purpose = _purpose(titles, of_file, grid, block, records)
            if purpose is not None:
                excluded.append(purpose)
                block.records = np.setdiff1d(block.records, records)
                if purpose.name == "uncounted":
                    layout.uncounted += [(r, purpose.title) for r in records.tolist()]
                    continue
                layout.others += [
                    OtherLine(r, LineKind.SUMMARY, grid.raw_text(r)) for r in records.tolist()
                ]
    had_blocks = bool(layout.blocks)
    layout.blocks[:] = [block for block in layout.blocks if len(block.records)]
    if had_blocks and not layout.blocks:
        raise ExportError(
            f"{file_name}: its title {excluded[0].title!r} says that its rows are "
            f"{excluded[0].rows_are}, and not shots. Export the single shots.",
            excluded[0].reason,
        )


def _purpose(
    titles: Sequence[str], of_file: Purpose | None, grid: AnyGrid, block: Block, records: Records
) -> Purpose | None:
    """The purpose of some rows that makes them no shots."""
    found = [purpose for title in titles if (purpose := purpose_of(title)) is not None]
    found += [of_file] if of_file else []
    found += [purpose for title in titles if (purpose := simulated_by(title)) is not None]
    for purpose in found:
        if purpose.whole or _each_row_named(grid, block, records):
            return purpose
    return None


def _parts(block: Block, lines: dict[int, OtherLine]) -> list[tuple[int, Records]]:
    """Records of a block by the first line above them that belongs to no other rows."""
    cuts = np.flatnonzero(np.diff(block.records) > 1) + 1
    parts: list[tuple[int, Records]] = []
    for records in np.split(block.records, cuts):
        start = int(records[0])
        titled = start - 1 in lines and lines[start - 1].kind != LineKind.BLANK
        if parts and not titled:  # a mere blank line goes on under the same title
            parts[-1] = (parts[-1][0], np.concatenate([parts[-1][1], records]))
        else:
            parts.append((start, records))
    return parts


def _titles(start: int, lines: dict[int, OtherLine], layout: Layout, records: Records) -> list[str]:
    """Lines that may entitle the rows from a record on: those above, and below the last rows."""
    above: list[str] = []
    record = start - 1
    while record in lines:
        if lines[record].kind not in _NO_TITLES and not _is_row(lines[record].text):
            above.append(lines[record].text)
            if _entitles_shots(lines[record].text):
                return above  # what stands above it speaks of other rows
        record -= 1
    if record < 0:  # the first rows: comments too speak of them
        above += layout.titles
    last = max(int(b.records[-1]) for b in layout.blocks if len(b.records))
    if int(records[-1]) == last and len(layout.blocks) == 1:
        below = sorted(r for r in lines if r > last)
        kinds = (LineKind.SECTION, LineKind.SUMMARY)
        above += [lines[r].text for r in below if lines[r].kind in kinds and _is_title(lines[r])]
    return above


@lru_cache(maxsize=2048)
def _entitles_shots(text: str) -> bool:
    """Whether a title says nothing but that shots follow: `All shots`."""
    kinds = {piece.kind for piece in pieces_of(text, ("shots_said", "fillers_said", "purposes"))}
    return "shots_said" in kinds and kinds <= {"shots_said", "fillers_said"}


def _is_title(line: OtherLine) -> bool:
    """Whether a line below the rows says in words what they are; a row of means has numbers."""
    words = len(line.text.split())
    return line.kind == LineKind.SECTION or (words > 1 and not _NUMBERS_ALONE.search(line.text))


def _is_row(text: str) -> bool:
    """Whether a line holds numbers by themselves, as a row of means does and no title."""
    return len(_NUMBERS_ALONE.findall(text)) > 1


def _each_row_named(grid: AnyGrid, block: Block, records: Records) -> bool:
    """Whether no two rows have the same club, swing and whatever else names them."""
    names = [
        grid.cells[f"c{column}"].gather(records)
        for heading, column in zip(block.headings, block.columns, strict=True)
        if f"c{column}" in grid.cells.columns and _may_name(heading)
    ]
    identifying = [_as_named(text) for text in names if not (_is_numbers(text) or _is_times(text))]
    if len(records) < 2 or not identifying:
        return False
    frame = pl.DataFrame([text.alias(str(k)) for k, text in enumerate(identifying)])
    return not bool(frame.is_duplicated().any())


def _may_name(heading: Heading) -> bool:
    column = heading.best.column if heading.best else ""
    return not (column_dimension(column) or column in _NO_NAMES or "note" in heading.tags)


def _is_numbers(text: pl.Series) -> bool:
    """Whether a column holds numbers alone, which measure something and name nothing."""
    return bool(text.fill_null("").str.contains(_NUMBER).all())


def _is_times(text: pl.Series) -> bool:
    """Whether a column holds days or times alone, which tell shots apart and name nothing."""
    return bool(text.fill_null("").str.contains(_INSTANT).all())


def _as_named(text: pl.Series) -> pl.Series:
    """Cells with clubs by their names, so that two spellings are one."""
    spelt = {cell: club_of(cell) for cell in text.drop_nulls().unique()}
    names = {cell: club.name if club.known else cell for cell, club in spelt.items()}
    return text.replace_strict(names, default=None, return_dtype=pl.String)
