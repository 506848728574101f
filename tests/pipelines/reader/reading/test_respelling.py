"""Odd spellings of a whole file."""

import pytest
from rangeledger.pipelines.reader.reading.grid import read_grid


@pytest.mark.parametrize(
    ("text", "rows"),
    [
        (
            '"a,b,c"\n"1,""x, y"",3"\n"4,5,6"\n',
            [("a", "b", "c"), ("1", "x, y", "3"), ("4", "5", "6")],
        ),
        (
            "Club     Ball speed   Carry\n7 Iron        50.1   140.2\nDriver       66.12   230.2\n",
            [
                ("Club", "Ball speed", "Carry"),
                ("7 Iron", "50.1", "140.2"),
                ("Driver", "66.12", "230.2"),
            ],
        ),
        ("a||b||c\n1||2||3\n", [("a", "b", "c"), ("1", "2", "3")]),
        (
            "a b c d\n1 2 3 4\n5 6 7 8\n",
            [("a", "b", "c", "d"), ("1", "2", "3", "4"), ("5", "6", "7", "8")],
        ),
    ],
)
def test_odd_spellings(text, rows):
    grid = read_grid(text.encode())
    assert grid.cells.rows() == rows
    assert len(grid.notes) == 1


def test_the_original_is_kept():
    grid = read_grid(b'\n"a,b,c"\n\n"1,""x"",3"\n')
    assert grid.raw_text(1) == '"1,""x"",3"'
    assert grid.line.tolist() == [2, 4]


def test_words_in_one_column_are_not_cut():
    assert read_grid(b"Club\n7 Iron\n8 Iron\nPitching Wedge\n").width.tolist() == [1] * 4


def test_alternate_empty_columns_are_not_a_doubled_delimiter():
    assert read_grid(b"a,,b\n1,,2\n").width.tolist() == [3, 3]
