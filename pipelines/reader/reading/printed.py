"""Print-outs: tables whose columns stand below each other, and frames drawn around cells.

Where each column stands is learned from the lines of shots. Every line keeps its place; its words
go to the column below or above which they stand, so that blank cells and headings that are wider
than their numbers do no harm.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

_PHRASE = re.compile(r"[^ \t]+(?: [^ \t]+)*")  # a hard blank may part thousands
_WORD = re.compile(r"[^ \t]+")
_NUMBER = re.compile(r"[-+−–(]?[.,]?\d")
_DELIMITERS = re.compile(r"[;|\t]|,(?!\d)|(?<!\d),")
_RULE = re.compile(r"^[\s\-=_*.+─━═]+$")
_FEWEST_COLUMNS, _FEWEST_SHOTS, _MOST_HEADING_LINES = 3, 4, 3
_LEAST_NUMBERS, _LEAST_WHOLE = 0.4, 0.6
_MOST_BYTES = 1 << 25  # of a print-out that is read word by word
_BAR = re.compile("[│┆┃║┊]")
_FRAME = re.compile(r"^[\s\u2500-\u257f+\-=|:.…┆]*$")
_LEAST_FRAMED = 0.5

Span = tuple[int, int]


@dataclass(frozen=True, slots=True)
class _Phrase:
    """Words of a line with single blanks between them, and where they stand."""

    text: str
    first: int
    last: int

    @property
    def is_number(self) -> bool:
        return bool(_NUMBER.match(self.text))

    def overlap(self, span: Span) -> int:
        """Places shared with a column; below 0 how far away it is."""
        return min(self.last, span[1]) - max(self.first, span[0])


def without_frame(data: bytes, lines: Sequence[str]) -> bytes | None:
    """A table with a frame of box characters, with a plain bar between its cells.

    Parameters
    ----------
    data : bytes
        UTF-8 text with LF line breaks.
    lines : sequence of str
        Some of its lines, without empty ones.

    Returns
    -------
    bytes or None
        The same lines, those of the frame blank; None where no frame is drawn.
    """
    if sum(bool(_BAR.search(line)) for line in lines) < _LEAST_FRAMED * len(lines):
        return None
    found = []
    for line in data.decode("utf-8", "replace").split("\n"):
        bare = _BAR.sub("|", line).strip()
        framed = len(bare) > 1 and bare[0] == bare[-1] == "|"
        cells = bare[1:-1].split("|") if framed else [line]
        found.append("" if _FRAME.match(line) else "|".join(cell.strip() for cell in cells))
    return "\n".join(found).encode()


def by_columns(data: bytes, lines: Sequence[str]) -> bytes | None:
    """A print-out with a tab between its columns.

    Parameters
    ----------
    data : bytes
        UTF-8 text with LF line breaks.
    lines : sequence of str
        Some of its lines, without empty ones.

    Returns
    -------
    bytes or None
        As many lines as before; None where no columns stand below each other.
    """
    if len(data) > _MOST_BYTES or not _may_be_printed(lines):
        return None
    every = data.decode("utf-8", "replace").split("\n")
    phrases = [_phrases(line) for line in every]
    shots = [at for at, (line, found) in enumerate(zip(every, phrases, strict=True))
             if _is_shot(line, found)]  # fmt: skip
    columns = _columns([phrases[at] for at in shots])
    if columns is None:
        return None
    aligned = {*shots, *_headings(every, phrases, shots, columns)}
    return "\n".join(
        _aligned(phrases[at], columns) if at in aligned else _beside_columns(every[at], phrases[at])
        for at in range(len(every))
    ).encode()


def _beside_columns(line: str, phrases: Sequence[_Phrase]) -> str:
    """A line that is no part of the table; a rule below the headings is one cell, and no row."""
    return line.strip() if _RULE.match(line) else "\t".join(phrase.text for phrase in phrases)


def _phrases(line: str) -> list[_Phrase]:
    return [_Phrase(m[0], m.start(), m.end()) for m in _PHRASE.finditer(line)]


def _may_be_printed(lines: Sequence[str]) -> bool:
    """Whether most lines of numbers are cut by runs of blanks and by nothing else."""
    shots = sum(_is_shot(line, _phrases(line)) for line in lines)
    delimited = sum(bool(_DELIMITERS.search(line)) and line.count("  ") < 2 for line in lines)
    return shots >= _FEWEST_SHOTS and shots > delimited


def _is_shot(line: str, found: Sequence[_Phrase]) -> bool:
    if len(found) < _FEWEST_COLUMNS or _DELIMITERS.search(line):
        return False
    return sum(phrase.is_number for phrase in found) >= _LEAST_NUMBERS * len(found)


def _columns(shots: Sequence[Sequence[_Phrase]]) -> list[Span] | None:
    """Where the columns stand, if the whole lines agree on that."""
    widths = Counter(map(len, shots))
    width = max(widths, key=lambda w: (widths[w], w), default=0)
    whole = [found for found in shots if len(found) == width]
    if len(whole) < max(_FEWEST_SHOTS, _LEAST_WHOLE * len(shots)):
        return None
    spans = [(min(p.first for p in cells), max(p.last for p in cells))
             for cells in zip(*whole, strict=True)]  # fmt: skip
    spans = sorted([*spans, *_seldom_filled(shots, spans)])
    apart = all(one[1] < other[0] for one, other in pairwise(spans))
    return spans if apart else None


def _seldom_filled(shots: Sequence[Sequence[_Phrase]], spans: Sequence[Span]) -> list[Span]:
    """Columns that most lines leave blank, such as a mark, or a club above its shots."""
    strays = sorted(
        (phrase.first, phrase.last)
        for phrases in shots
        for phrase in phrases
        if all(phrase.overlap(span) < 0 for span in spans)
    )
    found: list[Span] = []
    for first, last in strays:
        if found and first <= found[-1][1]:
            found[-1] = (found[-1][0], max(last, found[-1][1]))
        else:
            found.append((first, last))
    return found


def _headings(
    every: Sequence[str],
    phrases: Sequence[Sequence[_Phrase]],
    shots: Sequence[int],
    columns: Sequence[Span],
) -> list[int]:
    """Lines right above shots, but for ruled ones, that have words above most columns."""
    found: list[int] = []
    taken = set(shots)
    for first in shots:
        at, above = first - 1, 0
        while at >= 0 and at not in taken and above < _MOST_HEADING_LINES:
            ruled = not every[at].strip() or _RULE.match(every[at])
            if (ruled and above) or not (ruled or _heads(phrases[at], columns)):
                break
            found += [] if ruled else [at]
            above += not ruled
            at -= 1
    return found


def _heads(phrases: Sequence[_Phrase], columns: Sequence[Span]) -> bool:
    if sum(phrase.is_number for phrase in phrases) > _LEAST_NUMBERS * len(phrases):
        return False
    if 2 * len(phrases) <= len(columns):  # a sentence, or a title
        return False
    filled = sum(any(phrase.overlap(span) > 0 for phrase in phrases) for span in columns)
    return 2 * filled > len(columns)


def _aligned(phrases: Sequence[_Phrase], columns: Sequence[Span]) -> str:
    """The words of a line in their columns."""
    cells: list[list[str]] = [[] for _ in columns]
    for phrase in phrases:
        over = [k for k, span in enumerate(columns) if phrase.overlap(span) > 0]
        parts = [phrase]
        if len(over) > 1:
            parts = [_Phrase(m[0], phrase.first + m.start(), phrase.first + m.end())
                     for m in _WORD.finditer(phrase.text)]  # fmt: skip
        for part in parts:
            best = max(range(len(columns)), key=lambda k: part.overlap(columns[k]))
            cells[best].append(part.text)
    return "\t".join(" ".join(words) for words in cells)
