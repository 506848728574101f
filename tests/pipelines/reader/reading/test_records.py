"""Limits are stated, and what lies beyond is refused in a plain sentence."""

import pytest
from rangeledger.pipelines.reader.reading import records
from rangeledger.pipelines.reader.reading.grid import read_grid
from rangeledger.schemas.errors import ExportError
from rangeledger.schemas.reasons import FileReason


def refusal(content: bytes) -> ExportError:
    with pytest.raises(ExportError) as caught:
        read_grid(content)
    return caught.value


def test_a_million_columns():
    problem = refusal(b"a,b\n" + b"1," * 1_000_000 + b"\n")
    assert problem.code == FileReason.TOO_LARGE
    assert str(problem).startswith("Line 2 has 1,000,001 cells")


def test_as_many_columns_as_a_spreadsheet_are_read():
    assert read_grid(b"," * 16_383).width.tolist() == [16_384]


def test_a_line_of_ten_megabytes_is_one_cell():
    grid = read_grid(b"a,b,c\n1,2,3\n" + b"x" * 10_000_000 + b"\n4,5,6\n")
    assert grid.width.tolist() == [3, 3, 1, 3]


def test_one_wide_line_over_many_short_ones():
    problem = refusal(b"1,2\n" * 20_000 + b"," * 16_000)
    assert problem.code == FileReason.TOO_LARGE
    assert "150,000,000 cells" in str(problem)


def test_too_many_lines(monkeypatch):
    monkeypatch.setattr(records, "MAX_LINES", 10)
    assert refusal(b"1,2\n" * 11).code == FileReason.TOO_LARGE


def test_too_many_broken_lines(monkeypatch):
    monkeypatch.setattr(records, "MAX_BROKEN", 10)
    problem = refusal(b'1,"x"y",3\n' * 11)
    assert problem.code == FileReason.UNREADABLE
    assert "quotation marks" in str(problem)


def test_millions_of_blank_lines_are_only_counted():
    grid = read_grid(b"a,b\n" + b"\n" * 1_000_000 + b"1,2\n")
    assert len(grid.skipped) == 1_000_000
    assert grid.skipped[-1].line == 1_000_001
    assert [skipped.line for skipped in grid.skipped[:2]] == [2, 3]
    assert grid.line.tolist() == [1, 1_000_002]
