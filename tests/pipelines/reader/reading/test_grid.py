"""Ordinary exports in every usual dialect and encoding."""

import numpy as np
import pytest
from rangeledger.pipelines.reader.reading.grid import Grid, read_grid

HEADING = ["Schläger", "Tempo (m/s)", "Winkel (°)"]
ROWS = [["Eisen 7", "50.1", "18.4"], ["Hölzer, 3", "60.2", ""], ['5" Wedge', "35.0", "31.9"]]


def rows_of(grid: Grid) -> list[list[str]]:
    """Records with as many cells as they had."""
    return [list(row[:width]) for row, width in zip(grid.cells.rows(), grid.width, strict=True)]


def written(rows: list[list[str]], delimiter: str = ",", quote: str = '"', end: str = "\n") -> str:
    def cell(text: str) -> str:
        if any(mark in text for mark in (delimiter, quote, "\n", "\r")):
            return quote + text.replace(quote, quote * 2) + quote
        return text

    return "".join(delimiter.join(map(cell, row)) + end for row in rows)


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_delimiters_and_line_breaks(delimiter, end):
    table = [HEADING, *ROWS]
    grid = read_grid(written(table, delimiter, end=end).encode())
    assert rows_of(grid) == table
    assert grid.delimiter == delimiter
    assert grid.line.tolist() == [1, 2, 3, 4]


@pytest.mark.parametrize(
    ("encoding", "mark", "found"),
    [
        ("utf-8", b"", "utf-8"),
        ("utf-8", b"\xef\xbb\xbf", "utf-8"),
        ("utf-16-le", b"\xff\xfe", "utf-16-le"),
        ("utf-16-be", b"\xfe\xff", "utf-16-be"),
        ("utf-16-le", b"", "utf-16-le"),
        ("utf-16-be", b"", "utf-16-be"),
        ("cp1252", b"", "cp1252"),
        ("latin-1", b"", "cp1252"),
    ],
)
def test_encodings(encoding, mark, found):
    table = [HEADING, *ROWS]
    grid = read_grid(mark + written(table).encode(encoding))
    assert rows_of(grid) == table
    assert grid.encoding == found


def test_records_of_other_widths_stay_as_they_are():
    grid = read_grid(b"Player: A\n\na,b,c\n1,2\n1,2,3,4\n,,\n")
    assert rows_of(grid) == [
        ["Player: A"],
        ["a", "b", "c"],
        ["1", "2"],
        ["1", "2", "3", "4"],
        [""] * 3,
    ]
    assert grid.width.tolist() == [1, 3, 2, 4, 3]
    assert grid.line.tolist() == [1, 3, 4, 5, 6]
    assert grid.line.dtype == np.int32
    assert grid.cells.row(2) == ("1", "2", None, None)
    assert [(skipped.line, skipped.why) for skipped in grid.skipped] == [(2, "blank")]


def test_a_cell_over_lines_is_one_record():
    grid = read_grid(b'a,b\n1,"two\nlines"\n3,4\n')
    assert rows_of(grid) == [["a", "b"], ["1", "two\nlines"], ["3", "4"]]
    assert grid.line.tolist() == [1, 2, 4]
    assert grid.raw_text(1) == '1,"two\nlines"'
    assert grid.raw_text(2) == "3,4"


def test_a_mark_that_is_never_closed_swallows_nothing():
    grid = read_grid(b'a,b\n1,"two\n3,4\n5,6\n')
    assert rows_of(grid) == [["a", "b"], ["1", '"two'], ["3", "4"], ["5", "6"]]
    assert any("line 2" in note for note in grid.notes)
