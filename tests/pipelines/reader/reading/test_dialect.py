"""Delimiters told apart, also where decimals and prose hold others."""

import pytest
from rangeledger.pipelines.reader.reading.dialect import (
    best_delimiter,
    sample_lines,
    separator_line,
)
from rangeledger.pipelines.reader.reading.grid import read_grid


@pytest.mark.parametrize(
    ("lines", "delimiter"),
    [
        (["Club;Speed;Angle", "7i;164,3;19,5", "8i;158,6;18,8"], ";"),
        (["Club\tSpeed\tAngle", "7i\t164,3\t19,5"], "\t"),
        (["Club|Speed|Angle", "7i|164,3|19,5"], "|"),
        (["a;b", "1,5;2,5", "1,5;2,5", "1,5;2,5"], ";"),
        (["Notes: dry; calm; warm", "Club,Speed", "7i,50.1", "8i,48.2"], ","),
        (["Club,Notes", "7i,dry; calm", "8i,wet; windy; cold"], ","),
        (["a^b^c", "1^2^3"], "^"),
        (["a~b~c", "1~2~3"], "~"),
        (["a\x1fb", "1\x1f2"], "\x1f"),
        (["only words"], ","),
    ],
)
def test_delimiters(lines, delimiter):
    assert best_delimiter(lines)[0] == delimiter


@pytest.mark.parametrize(
    ("line", "delimiter"),
    [
        (b"sep=;\n", ";"),
        (b"sep=\t\na", "\t"),
        (b'"sep=,"\n', ","),
        (b"SEP=|", "|"),
        (b"sep=a\n", None),
    ],
)
def test_a_first_line_that_names_the_delimiter(line, delimiter):
    assert separator_line(line) == delimiter


def test_the_named_delimiter_holds():
    grid = read_grid(b"sep=;\r\na,b;c\r\n1,5;2\r\n")
    assert grid.cells.rows() == [("a,b", "c"), ("1,5", "2")]
    assert grid.line.tolist() == [2, 3]
    assert [(skipped.line, skipped.text, skipped.why) for skipped in grid.skipped] == [
        (1, "sep=;", "separator")
    ]


def test_a_blank_behind_every_delimiter():
    grid = read_grid(b'a, b, c\n1, 2, "x, y"\n')
    assert grid.cells.rows() == [("a", "b", "c"), ("1", "2", "x, y")]
    assert "blank" in grid.notes[0]


def test_blanks_stay_where_only_some_cells_have_them():
    assert read_grid(b"a, b,c \n1,2, 3\n").cells.rows() == [("a", " b", "c "), ("1", "2", " 3")]


def test_quotation_marks():
    assert read_grid(b"a,b\n1,2\n").quote is None
    assert read_grid(b'a,b\n"1",2\n').quote == '"'
    assert read_grid(b"a,b\n'1,5',2\n").quote == "'"
    assert read_grid(b"a,b\n5',6'\n").quote is None


def test_comments_and_headings_that_begin_with_a_number_sign():
    grid = read_grid(
        b"# made for a test\n// and this\n; and that\n#,Club,Carry,Side\n1,7i,150,3,\n"
    )
    assert [(skipped.line, skipped.why) for skipped in grid.skipped] == [
        (n, "comment") for n in (1, 2, 3)
    ]
    assert grid.cells.row(0)[:4] == ("#", "Club", "Carry", "Side")


def test_the_sample_joins_a_cell_over_lines():
    assert sample_lines(b'\n\na,"b\nc"\n\n1,2\n') == ['a,"b\nc"', "1,2"]


@pytest.mark.parametrize("mark", [";", "|", "\t"])
@pytest.mark.parametrize("minus", ["-", "−", "–"])
def test_a_decimal_comma_in_every_column_is_no_delimiter(mark, minus):
    row = mark.join(("Eisen 9", f"{minus}2,8", "43,5", "130,18", "1,7", f"{minus}0,3"))
    heading = mark.join(("Schläger", "Winkel, Grad", "Tempo, mps", "Weite, m", "Seite, m", "Achse"))
    assert best_delimiter([heading] + [row] * 20)[0] == mark
    assert best_delimiter([heading.replace(", ", " ")] + [row] * 20)[0] == mark
