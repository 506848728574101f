"""How a text is written: which delimiter, which quotation mark, whether blanks follow."""

from __future__ import annotations

import re
from collections import Counter
from functools import lru_cache

from rangeledger.pipelines.reader.reading.tokens import Form, split_record

USUAL = (",", ";", "\t", "|")
UNUSUAL = ("\x1f", "\x01", "^", "~")
_MOST_DITTOS = 100_000
_SAMPLE_BYTES = 1 << 18
_SAMPLE_LINES = 200
_TEXT = re.compile(rb"[^\n]")
_OPENS = re.compile(r'(?:^|[,;|\x01\x1f^~\s])"')
_NEAR = 10  # lines that a cell may go over in the sample

_SEPARATOR_LINE = re.compile(rb'\s*"?sep=([^\w\s"\x80-\xff]|\t)"?[ \t]*(?:\n|\Z)', re.I)
_NUMBER = re.compile(
    r"\s*[-+−–]?\d+(?:[.,]\d+)*(?:\s*(?:±|\+/?-|/|\()\s*\d+(?:[.,]\d+)*\)?)?\s*[^\s\d,;|]{0,6}\s*\Z"
)


def separator_line(data: bytes) -> str | None:
    """Delimiter that a first line `sep=;` names, None without such a line.

    Parameters
    ----------
    data : bytes
        UTF-8 text.

    Returns
    -------
    str or None
        One character.
    """
    match = _SEPARATOR_LINE.match(data[:64])
    return match[1].decode("latin-1") if match else None


def detect_form(data: bytes, lines: list[str], delimiter: str) -> Form:
    """Form in which a text is written, for a given delimiter.

    Parameters
    ----------
    data : bytes
        UTF-8 text with LF line breaks.
    lines : list of str
        Lines from its beginning, without empty ones.
    delimiter : str
        One ASCII character.

    Returns
    -------
    Form
        Delimiter, quotation mark, blank to skip; escapes are judged later, from whole lines.
    """
    quote = _quote(data, lines, delimiter)
    return Form(delimiter, quote, skip_blank=_skips_blank(lines, delimiter, quote))


def sample_lines(data: bytes) -> list[str]:
    """Lines from the beginning of a text, without empty ones.

    Parameters
    ----------
    data : bytes
        UTF-8 text with LF line breaks.

    Returns
    -------
    list of str
        At most 200 lines; those that a quoted cell seems to join are one.
    """
    first = _TEXT.search(data)
    start = first.start() if first else 0
    text = data[start : start + _SAMPLE_BYTES].decode("utf-8", "ignore")
    lines = [line for line in text.split("\n") if line.strip()]
    if len(lines) > 1 and len(data) > start + _SAMPLE_BYTES:
        del lines[-1]  # cut in the middle
    return _joined(lines[:_SAMPLE_LINES]) if '"' in text else lines[:_SAMPLE_LINES]


def _joined(lines: list[str]) -> list[str]:
    """Lines that may end inside a cell, joined with the next odd number of marks near by."""
    odd = [line.count('"') % 2 == 1 for line in lines]
    opens = [odd[at] and _OPENS.search(line) is not None for at, line in enumerate(lines)]
    joined: list[str] = []
    at = 0
    while at < len(lines):
        upto = at
        if opens[at] and True in odd[at + 1 : at + _NEAR]:
            upto = odd.index(True, at + 1)
        joined.append("\n".join(lines[at : upto + 1]))
        at = upto + 1
    return joined


def best_delimiter(lines: list[str]) -> tuple[str, float]:
    """Delimiter whose lines agree best in width and whose cells look most like cells.

    Parameters
    ----------
    lines : list of str
        Some lines.

    Returns
    -------
    tuple of str and float
        The delimiter, a comma where there is none, and its score of 0 to 1.
    """
    text = "\n".join(lines)
    present = [mark for mark in USUAL if mark in text]
    scores = {mark: score_of(lines, mark, present) for mark in present}
    if max(scores.values(), default=0.0) < 0.3:
        scores |= {mark: score_of(lines, mark, present) for mark in UNUSUAL if mark in text}
    best = max(scores, key=scores.__getitem__, default=",")
    return best, scores.get(best, 0.0)


def score_of(lines: list[str], mark: str, rivals: list[str]) -> float:
    """How well a delimiter explains some lines.

    Parameters
    ----------
    lines : list of str
        Some lines.
    mark : str
        The delimiter.
    rivals : list of str
        Delimiters that also occur.

    Returns
    -------
    float
        Share of lines of the commonest width, times the share of their cells that are whole,
        times a factor that favours more columns; 0 to 1.
    """
    single = _pairs(lines, mark, "'") > _pairs(lines, mark, '"')
    quote = "'" if single else '"'
    form = Form(mark, quote)
    rows = [split_record(line, form) for line in lines]
    counts = Counter(len(row) for row in rows if len(row) > 1)
    if not counts:
        return 0.0
    width, number = max(counts.items(), key=lambda item: (item[1], item[0]))
    others = "".join(rival for rival in rivals if rival != mark)
    whole = 1.0
    if others:
        whole = _share_of_whole(
            [
                cell
                for row, line in zip(rows, lines, strict=True)
                if len(row) == width and quote not in line
                for cell in row
            ],
            others,
        )
    return number / len(lines) * (width - 1) / width * whole


def _share_of_whole(cells: list[str], others: str) -> float:
    return sum(_is_whole(cell, others) for cell in cells) / len(cells) if cells else 1.0


def _is_whole(cell: str, others: str) -> bool:
    """Whether no other delimiter cuts the cell, but as a decimal or a comma of prose."""
    if not any(mark in cell for mark in others):
        return True
    return _NUMBER.match(cell) is not None or ("," in others and ", " in cell)


def _quote(data: bytes, lines: list[str], delimiter: str) -> str | None:
    """The mark that both opens and closes cells; None if no cell begins with one."""
    if b'"' not in data and b"'" not in data:
        return None
    pairs = {mark: _pairs(lines, delimiter, mark) for mark in ('"', "'")}
    if pairs["'"] > pairs['"']:
        return "'"
    if _are_dittos(data, delimiter):
        return None
    return '"' if _opens(data, delimiter) else None


def _are_dittos(data: bytes, delimiter: str) -> bool:
    """Whether every quotation mark is a cell by itself, as people write `the same as above`.

    A delimiter within marks looks like two of them, in a line of more cells than any without.
    """
    marks = data.count(b'"')
    if not 1 < marks <= _MOST_DITTOS:
        return False
    cut = re.escape(delimiter.encode())
    alone = re.findall(rb"(?:^|" + cut + rb')"(?=' + cut + rb"|\r?$)", data, re.M)
    if len(alone) != marks:
        return False
    cells: dict[bool, int] = {}  # most of a line, without marks and with
    for line in data.splitlines():
        if line.strip() == b'"':  # nothing stands beside it: the end of a cell with a line break
            return False
        marked, width = b'"' in line, line.count(delimiter.encode())
        cells[marked] = max(width, cells.get(marked, 0))
    return cells[True] <= cells.get(False, cells[True])


def _pairs(lines: list[str], delimiter: str, mark: str) -> int:
    text = "\n".join(lines)
    if mark not in text:
        return 0
    opens, closes = _edges(delimiter, mark)
    return min(len(opens.findall(text)), len(closes.findall(text)))


@lru_cache(maxsize=32)
def _edges(delimiter: str, mark: str) -> tuple[re.Pattern[str], re.Pattern[str]]:
    cut = re.escape(delimiter)
    return (
        re.compile(f"(?:^|{cut})[ ]*{mark}(?=[^{mark}]|{mark}{mark})", re.M),
        re.compile(f"(?:[^{mark}]|{mark}{mark}){mark}[ ]*(?:$|{cut})", re.M),
    )


def _opens(data: bytes, delimiter: str) -> bool:
    cut = delimiter.encode()
    return data.lstrip(b" \t").startswith(b'"') or any(
        before + b'"' in data for before in (cut, b"\n", cut + b" ", b"\n ")
    )


def _skips_blank(lines: list[str], delimiter: str, quote: str | None) -> bool:
    """Whether a blank follows every delimiter, as people type it."""
    if delimiter in (" ", "\t"):
        return False
    form = Form(delimiter, quote)
    followed = 0
    for line in lines:
        if delimiter + " " not in line:
            if delimiter in line:
                return False
            continue
        if quote is not None and quote in line:
            line = _masked(line, form)
        if line.count(delimiter) != line.count(delimiter + " "):
            return False
        followed += line.count(delimiter)
    return followed > 0


def _masked(line: str, form: Form) -> str:
    """The line with the contents of quoted cells taken out."""
    mark, cut = re.escape(form.quote or ""), re.escape(form.delimiter)
    return re.sub(f"(^|{cut})([ ]*){mark}.*?{mark}(?=[ ]*(?:$|{cut}))", r"\1\2", line)
