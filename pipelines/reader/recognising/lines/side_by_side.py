"""Tables with several shots a line, side by side, put one below the other."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from rangeledger.pipelines.reader.reading.grid import Grid
from rangeledger.pipelines.reader.recognising.lines.turning import AnyGrid, Remade, Row, TurnedGrid
from rangeledger.pipelines.reader.recognising.words.conditions_in_text import club_alone
from rangeledger.pipelines.reader.recognising.words.heading import read_heading
from rangeledger.pipelines.reader.recognising.words.line_statements import statement_of_line
from rangeledger.pipelines.reader.recognising.words.names_in_text import is_name
from rangeledger.schemas.compositions import column_dimension
from rangeledger.schemas.errors import ExportError
from rangeledger.schemas.reasons import FileReason

_HEAD, _MOST_RECORDS = 30, 50_000
_FEWEST_REPEATED, _FEWEST_MEASURED = 3, 2
# Two numbered columns may be two devices that saw one shot; three are three shots.
_FEWEST_NUMBERED, _FEWEST_NUMBERED_SHOTS = 3, 2
_LEAST_WEIGHT = 0.6
_NUMBER = re.compile(r"(?<![0-9.,])0?([1-9][0-9]?)(?![0-9.,])")
_LABEL = "table"


@dataclass(frozen=True, slots=True)
class _Form:
    """Record of the heading, columns that all shots of a line share, and those of each shot."""

    heading: int
    shared: tuple[int, ...]
    groups: tuple[tuple[int, ...], ...]
    texts: tuple[str, ...]  # headings of a shot's own columns
    certain: bool = True


def one_below_the_other(grid: Grid) -> AnyGrid:
    """The grid itself, or its copy with one record a shot where a line holds several.

    Parameters
    ----------
    grid : Grid
        As read.

    Returns
    -------
    Grid or TurnedGrid
        Two tables beside each other under equal headings, and columns that are numbered shot by
        shot (`carry_1`, `carry_2`, `carry_3`), are put one below the other.

    Raises
    ------
    ExportError
        One quantity alone is numbered and nothing says that the numbers are shots.
    """
    if len(grid) > _MOST_RECORDS:
        return grid
    rows: list[Row] = grid.cells.head(_HEAD).rows()
    for record, row in enumerate(rows):
        texts = [(cell or "").strip() for cell in row]
        form = _repeated(record, texts) or _numbered(record, texts)
        if form is not None:
            if not form.certain:
                raise _unclear(grid, form, texts)
            return _stacked(grid, form)
    return grid


def _unclear(grid: Grid, form: _Form, texts: Sequence[str]) -> ExportError:
    first, last = texts[form.groups[0][0]], texts[form.groups[-1][0]]
    return ExportError(
        f"Line {grid.line[form.heading]}: columns {first!r} to {last!r} may be {len(form.groups)} "
        "shots of a line, or something else. Are they shots? Then export one shot a line, or say "
        f"so in the headings, such as 'shot 1 {form.texts[0]}'.",
        FileReason.UNCLEAR_COLUMNS,
    )


def _repeated(record: int, texts: Sequence[str]) -> _Form | None:
    """Two or more tables under the same headings in the same order."""
    filled = [place for place, text in enumerate(texts) if text]
    if len(filled) < 2 * _FEWEST_REPEATED:
        return None
    start = next((k for k in filled if texts.count(texts[k]) > 1), None)
    if start is None:
        return None
    own = [place for place in filled if place >= start]
    period = next((k for k in range(1, len(own)) if texts[own[k]] == texts[start]), 0)
    words = [texts[place] for place in own]
    if period < _FEWEST_REPEATED or len(own) % period:
        return None
    if words != words[:period] * (len(own) // period):
        return None
    if sum(_is_measured(word) for word in words[:period]) < _FEWEST_MEASURED:
        return None
    groups = tuple(tuple(own[k : k + period]) for k in range(0, len(own), period))
    shared = tuple(place for place in filled if place < start)
    return _Form(record, shared, groups, tuple(words[:period]))


def _numbered(record: int, texts: Sequence[str]) -> _Form | None:
    """Columns of one quantity for each shot, numbered from 1 without a gap."""
    by_stem: dict[str, dict[int, int]] = {}
    for place, text in enumerate(texts):
        found = _NUMBER.findall(text)
        if len(found) == 1:
            by_stem.setdefault(_NUMBER.sub("#", text), {})[int(found[0])] = place
    runs = {
        stem: places
        for stem, places in by_stem.items()
        if sorted(places) == list(range(1, len(places) + 1)) and len(places) > 1
    }
    measured = [stem for stem in runs if _is_measured(stem.replace("#", " ").strip(" _-"))]
    if not measured:
        return None
    count = len(runs[measured[0]])
    told = any("shot" in read_heading(stem.replace("#", " ")).tags for stem in measured)
    if count < (_FEWEST_NUMBERED_SHOTS if told else _FEWEST_NUMBERED):
        return None
    stems = [stem for stem, places in runs.items() if len(places) == count]
    if any(len(runs[stem]) != count for stem in measured):
        return None
    groups = tuple(tuple(runs[stem][number] for stem in stems) for number in range(1, count + 1))
    taken = {place for group in groups for place in group}
    shared = tuple(k for k, text in enumerate(texts) if text and k not in taken)
    if sum(_is_measured(texts[place]) for place in shared) > len(stems):
        return None  # a table of shots, with some numbered columns beside
    own = tuple(_unnumbered(stem) for stem in stems)
    return _Form(record, shared, groups, own, told or len(measured) >= _FEWEST_MEASURED)


def _unnumbered(stem: str) -> str:
    """A heading without its number: `carry_#_m` is `carry_m`."""
    return re.sub(r"[_\s\-.]*\(?#\)?", "", stem, count=1).strip(" _-.") or stem


def _is_measured(text: str) -> bool:
    heading = read_heading(text)
    sure = heading.best is not None and heading.weight >= _LEAST_WEIGHT
    return bool(sure and heading.best and column_dimension(heading.best.column))


@dataclass(frozen=True, slots=True)
class _Labels:
    """What a row above says of each group: its record, a heading for it, and the words."""

    record: int
    heading: str
    words: tuple[str, ...]


def _labels(rows: Sequence[Row], form: _Form) -> _Labels | None:
    """The row above that names every group and nothing else."""
    starts = [group[0] for group in form.groups]
    for record, row in reversed(list(enumerate(rows[: form.heading]))):
        cells = [(row[k] or "").strip() if k < len(row) else "" for k in starts]
        others = sum(bool(cell and cell.strip()) for cell in row) - sum(map(bool, cells))
        if not all(cells) or others or len(set(cells)) < len(cells):
            continue
        if all(club_alone(cell) for cell in cells):
            return _Labels(record, "club", tuple(cells))
        lines = [statement_of_line([cell], 0) for cell in cells]
        stated = [{fact.column: fact.text for fact in line.facts} for line in lines]
        for column in ("player", "club", "ball"):
            if all(column in facts for facts in stated):
                return _Labels(record, column, tuple(facts[column] for facts in stated))
        if all(is_name(cell) and len(cell.split()) > 1 for cell in cells):
            return _Labels(record, "player", tuple(cells))
        return _Labels(record, _LABEL, tuple(cells))
    return None


def _stacked(grid: Grid, form: _Form) -> TurnedGrid:
    rows: list[Row] = grid.cells.rows()
    labels = _labels(rows, form)
    label = (labels.heading,) if labels else ()
    heading: Row = (*label, *_texts(rows[form.heading], form.shared), *form.texts)
    remade = Remade(grid)
    for k in range(form.heading):
        if labels is None or k != labels.record:
            remade.keep(k, rows[k])
    remade.take(heading, form.heading)
    for record in range(form.heading + 1, len(rows)):
        row = rows[record]
        found = [k for k, group in enumerate(form.groups) if any(_texts(row, group))]
        if not found:  # a blank line, or what stands in shared columns alone
            remade.take(row, record, width=len(heading))
        for k in found:
            named = (labels.words[k],) if labels else ()
            shot = (*named, *_texts(row, form.shared), *_texts(row, form.groups[k]))
            remade.take(shot, record, place=k + 1)
    return remade.finished(
        f"Each line holds up to {len(form.groups)} shots side by side; each was read by itself."
    )


def _texts(row: Row, places: Sequence[int]) -> tuple[str | None, ...]:
    return tuple((row[k] or "").strip() or None if k < len(row) else None for k in places)
