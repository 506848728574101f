"""Lines that name each of their values, `shot=1 club=7i v=48.2`, as a table with headings."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

from rangeledger.pipelines.reader.reading.grid import Grid
from rangeledger.pipelines.reader.recognising.lines.turning import AnyGrid, Remade, TurnedGrid
from rangeledger.schemas.compositions import DATETIME, TIME

_MOST_RECORDS = 50_000
_SAMPLE = 20  # lines that are looked at first
_FEWEST_PAIRS, _FEWEST_LINES = 3, 3
_MOSTLY = 0.6  # share of the lines that name their values, and of these that have a key
_PAIR = re.compile(
    r"(?<![\w.])([^\W\d][\w.\-/]{0,30})\s?=\s?(\"[^\"]*\"|'[^']*'|\[[^\]]*\]|[^\s,;|=]+)"
)
_PARTED = re.compile(r"[;|\t]")
_INSTANT = re.compile(
    r"\d{4}-\d{2}-\d{2}[ T_]\d{2}:\d{2}(?::\d{2}(?:[.,]\d{1,9})?)?(?:Z|\s?[+-]\d{2}:?\d{2})?"
)
_CLOCK = re.compile(r"(?<![\d:])\d{1,2}:\d{2}(?::\d{2}(?:[.,]\d{1,9})?)?(?![\d:])")
_COMMENTS = ("#", "//", "%", "--")
_NUMBER = re.compile(r"(?<![\w.])[-+]?\d+(?:[.,]\d+)?(?![\w.])")
# Headings for a time that stands before the first value.
_TIMES = {DATETIME: "date and time", TIME: "time"}


def with_headings(grid: Grid) -> AnyGrid:
    """The grid itself, or its copy with a heading where each line names its own values.

    Parameters
    ----------
    grid : Grid
        As read.

    Returns
    -------
    Grid or TurnedGrid
        One record a line; the names are the headings, and a time before the first of them is a
        column too. Lines without names stay as they are.
    """
    if not _FEWEST_LINES <= len(grid) <= _MOST_RECORDS:
        return grid
    sample = range(0, len(grid), max(1, len(grid) // _SAMPLE))
    if 2 * sum(len(_named(grid.raw_text(k))) >= _FEWEST_PAIRS for k in sample) < len(sample):
        return grid
    texts = [grid.raw_text(record) for record in range(len(grid))]
    found = [_named(text) for text in texts]
    lines = [record for record, pairs in enumerate(found) if len(pairs) >= _FEWEST_PAIRS]
    filled = sum(bool(text.strip()) for text in texts)
    if len(lines) < max(_FEWEST_LINES, _MOSTLY * filled):
        return grid
    counts = Counter(key for record in lines for key in found[record])
    shared = [key for key, count in counts.items() if count >= _MOSTLY * len(lines)]
    if len(shared) < _FEWEST_PAIRS:
        return grid
    return _table(grid, texts, found, lines)


def _named(text: str) -> dict[str, str]:
    """The values of a line by their names."""
    if text.lstrip().startswith(_COMMENTS):
        return {}
    if parted := _parted_pairs(text):
        return parted
    pairs = _PAIR.findall(text)
    named = {key: value.strip("\"'[]") for key, value in pairs}
    if len(named) < len(pairs) or len(named) < _FEWEST_PAIRS:  # a sentence that says things twice
        return {}
    nameless = _CLOCK.sub(" ", _INSTANT.sub(" ", _PAIR.sub(" ", text)))
    if len(_NUMBER.findall(nameless)) > 1:  # a row of a table, with pairs in its remark
        return {}
    first = _PAIR.search(text)
    before = text[: first.start()] if first else ""
    for column, pattern in ((DATETIME, _INSTANT), (TIME, _CLOCK)):
        if told := pattern.search(before):
            return {_TIMES[column]: told[0], **named}
    return named


def _parted_pairs(text: str) -> dict[str, str]:
    """`Trial 1: club = 7 iron; spin = 5808 rpm`: names and values with blanks, between marks."""
    parts = [part for part in _PARTED.split(text) if part.strip()]
    if len(parts) < _FEWEST_PAIRS or any(part.count("=") != 1 for part in parts):
        return {}
    split = [part.partition("=") for part in parts]
    return {key.rpartition(":")[2].strip(): value.strip() for key, _, value in split}


def _table(
    grid: Grid, texts: Sequence[str], found: Sequence[dict[str, str]], lines: Sequence[int]
) -> TurnedGrid:
    keys = list(dict.fromkeys(key for record in lines for key in found[record]))
    remade, taken = Remade(grid, delimiter="\t"), set(lines)
    for record, text in enumerate(texts):
        if record == lines[0]:
            remade.take(tuple(keys), record)
        if record in taken:
            remade.take(tuple(found[record].get(key) for key in keys), record, text=text)
        else:
            remade.take((text,), record)
    return remade.finished("Each line names its own values; the names were read as headings.")
