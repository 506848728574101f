"""Any table in any dialect comes back equal; any bytes at all are read or refused, without loss."""

import re

from hypothesis import example, given, settings
from hypothesis import strategies as st
from rangeledger.pipelines.reader.reading.grid import Grid, read_grid
from rangeledger.schemas.errors import ExportError
from rangeledger.schemas.reasons import FileReason

RIVALS = ",;\t|"

words = st.text(st.sampled_from("abcXYZäéß°- "), min_size=1, max_size=8).map(str.strip)
numbers = st.decimals(-500, 500, places=1, allow_nan=False).map(str)


def cells(marks: str) -> st.SearchStrategy[str]:
    awkward = st.text(st.sampled_from(RIVALS + marks + " ab1"), max_size=6)
    return st.one_of(numbers, numbers, words, st.just(""), awkward)


@st.composite
def tables(draw: st.DrawFn, marks: str) -> list[list[str]]:
    """A heading of words over at least one row; cells may hold delimiters and some marks."""
    width = draw(st.integers(2, 6))
    row = st.lists(cells(marks), min_size=width, max_size=width)
    heading = st.lists(words.filter(bool), min_size=width, max_size=width)
    return [draw(heading), *draw(st.lists(row, min_size=1, max_size=8))]


def needs_quotes(cell: str) -> bool:
    return any(mark in cell for mark in RIVALS + "\"'\n\\") or cell != cell.strip()


def write(table: list[list[str]], delimiter: str, quote: str, escape: bool, always: bool) -> str:
    def cell(text: str) -> str:
        if not always and not needs_quotes(text):
            return text
        if escape:
            return quote + text.replace("\\", "\\\\").replace(quote, "\\" + quote) + quote
        return quote + text.replace(quote, quote * 2) + quote

    return "\n".join(delimiter.join(map(cell, row)) for row in table) + "\n"


def rows_of(grid: Grid) -> list[list[str]]:
    return [list(row[:width]) for row, width in zip(grid.cells.rows(), grid.width, strict=True)]


@settings(deadline=None, max_examples=300, derandomize=True)
@given(
    table=tables("\"'\n"),
    delimiter=st.sampled_from(RIVALS),
    end=st.sampled_from(["\n", "\r\n", "\r"]),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
    always=st.booleans(),
)
@example([["X", "X"], ["0.0", ","]], ",", "\n", "utf-8", False)  # `","` is no two ditto marks
@example([["X", "X"], ["0.0", "\n"]], ",", "\n", "utf-8", False)  # nor is a line break within marks
def test_a_table_comes_back_equal(table, delimiter, end, encoding, always):
    text = write(table, delimiter, '"', False, always)
    grid = read_grid(text.replace("\n", end).encode(encoding))
    assert rows_of(grid) == table


@settings(deadline=None, max_examples=200, derandomize=True)
@given(table=tables("'"), delimiter=st.sampled_from(RIVALS), always=st.booleans())
def test_single_quotes_come_back_equal(table, delimiter, always):
    # Double marks and line breaks stay out: beside them single marks are taken for apostrophes.
    grid = read_grid(write(table, delimiter, "'", False, always).encode())
    assert rows_of(grid) == table


@settings(deadline=None, max_examples=200, derandomize=True)
@given(table=tables('"'), delimiter=st.sampled_from(RIVALS), always=st.booleans())
def test_backslash_escapes_come_back_equal(table, delimiter, always):
    # Without an escaped mark nothing shows that the backslash escapes, so one is put in; line
    # breaks stay out: beside them the same characters can be read in two ways.
    table[-1][0] = 'a"b'
    grid = read_grid(write(table, delimiter, '"', True, always).encode())
    assert rows_of(grid) == table


def lines_of(grid: Grid) -> list[int]:
    """Every line that a record or an aside accounts for."""
    found = [skipped.line for skipped in grid.skipped]
    for record in range(len(grid)):
        found += range(int(grid.line[record]), grid.last_line(record) + 1)
    return sorted(found)


def physical_lines(raw: bytes, encoding: str) -> int:
    """CR, LF and CRLF each end a line; zero bytes and a last DOS end mark do not count."""
    text = raw.decode(encoding, "replace").replace("\0", "").rstrip("\x1a")
    ends = len(re.findall(r"\r\n|\r|\n", text))
    return ends + (not text.endswith(("\r", "\n")))


def read_or_refuse(raw: bytes) -> Grid | ExportError:
    try:
        return read_grid(raw)
    except ExportError as refused:
        return refused


def accounted(raw: bytes) -> None:
    grid = read_or_refuse(raw)
    if isinstance(grid, ExportError):
        assert grid.code in set(FileReason)
        assert str(grid).endswith(".")
        return
    assert lines_of(grid) == list(range(1, physical_lines(raw, grid.encoding) + 1))
    assert grid.cells.height == len(grid.line) == len(grid.width)
    for record, width in enumerate(grid.width.tolist()):
        row = grid.cells.row(record)
        assert all(cell is not None for cell in row[:width])
        assert all(cell is None for cell in row[width:])


@settings(deadline=None, max_examples=400, derandomize=True)
@given(st.binary(max_size=300))
@example(b'"')
@example(b"\xef\xbb\xbf")
@example(b"\xff\xfe\x00")
@example(b"\r\n\r\n,")
def test_any_bytes_are_read_or_refused(raw):
    accounted(raw)


@settings(deadline=None, max_examples=800, derandomize=True)
@given(st.text(st.sampled_from(",;\t|\"'\\ \n\r\0\x1aab1.#/"), max_size=80))
def test_any_mixture_of_marks_loses_no_line(text):
    accounted(text.encode())


@settings(deadline=None, max_examples=200, derandomize=True)
@given(st.text(max_size=120), st.sampled_from(["utf-8", "utf-16-le", "utf-16", "cp1252", "cp850"]))
def test_any_text_in_any_encoding_loses_no_line(text, encoding):
    accounted(text.encode(encoding, "replace"))
