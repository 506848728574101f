"""Published rules and cases of quoting, and the repairs of what breaks them."""

import pytest
from rangeledger.pipelines.reader.reading.tokens import (
    Form,
    can_stay_open,
    read_record,
    split_record,
    split_unbroken,
)

COMMA = Form(",")


# RFC 4180, section 2, rules 1, 4, 5, 6 and 7: the examples given there (CRLF written as LF).
@pytest.mark.parametrize(
    ("text", "cells"),
    [
        ("aaa,bbb,ccc", ["aaa", "bbb", "ccc"]),
        ("zzz,yyy,xxx", ["zzz", "yyy", "xxx"]),
        ("field_name,field_name,field_name", ["field_name"] * 3),
        ('"aaa","bbb","ccc"', ["aaa", "bbb", "ccc"]),
        ('"aaa","b\nbb","ccc"', ["aaa", "b\nbb", "ccc"]),
        ('"aaa","b""bb","ccc"', ["aaa", 'b"bb', "ccc"]),
        (" aaa ,bbb", [" aaa ", "bbb"]),  # rule 4: blanks are part of a field
    ],
)
def test_rfc_4180(text, cells):
    assert split_record(text, COMMA) == cells
    assert read_record(text, COMMA, (len(cells),))[:3] == (cells, 0, 0)
    assert split_unbroken(text, COMMA) == cells


# CPython's Lib/test/test_csv.py, class TestDialectExcel and TestQuotedEscapedExcel; cases from
# memory.
@pytest.mark.parametrize(
    ("text", "cells"),
    [
        ("abc", ["abc"]),
        ("1,2,3,4,5", ["1", "2", "3", "4", "5"]),
        ("", [""]),
        (",", ["", ""]),
        ('""', [""]),
        ('"",', ["", ""]),
        (',""', ["", ""]),
        ('""""', ['"']),
        ('""""""', ['""']),
        ('a""b', ['a""b']),
        ('a"b"c', ['a"b"c']),
        ('a"b', ['a"b']),
        (
            '1,2,3,"I think, therefore I am",5,6',
            ["1", "2", "3", "I think, therefore I am", "5", "6"],
        ),
        (
            '1,2,3,"""I see,"" said the man","as he saw"',
            ["1", "2", "3", '"I see," said the man', "as he saw"],
        ),
        ('1,2,3,"""I see,""\nsaid the\nman",9', ["1", "2", "3", '"I see,"\nsaid the\nman', "9"]),
        ('12,12,1",', ["12", "12", '1"', ""]),
        ('1,",3,",5', ["1", ",3,", "5"]),
    ],
)
def test_cases_of_the_standard_library(text, cells):
    assert split_record(text, COMMA) == cells


@pytest.mark.parametrize(
    ("text", "cells"),
    [("abc\\,def", ["abc,def"]), ('a,"b\\"c"', ["a", 'b"c']), ("a\\\\,b", ["a\\", "b"])],
)
def test_backslash_cases_of_the_standard_library(text, cells):
    assert split_record(text, Form(",", '"', escape=True)) == cells


def test_single_quotes():
    assert split_record("'a,b','it''s',c", Form(",", "'")) == ["a,b", "it's", "c"]


# Where the standard library would eat a mark or join cells, a stray mark stays text (own rule).
@pytest.mark.parametrize(
    ("text", "cells", "repairs"),
    [
        ('"a,b,c', ['"a', "b", "c"], 1.0),
        ('a,"b,"c, d",e', ["a", '"b', "c, d", "e"], 1.0),
        ('a,""b, c",d', ["a", '"b, c', "d"], 1.0),
        ('a,b,"', ["a", "b", '"'], 1.0),
        ('a,"5" pipe",c', ["a", '5" pipe', "c"], 1.0),
        ("a,10' 3\",c", ["a", "10' 3\"", "c"], 0.5),
        ('"a"b,c', ['"a"b', "c"], 1.5),
    ],
)
def test_stray_marks_stay_text(text, cells, repairs):
    reading = read_record(text, COMMA, (len(cells),))
    assert (reading.cells, reading.repairs) == (cells, repairs)
    assert split_unbroken(text, COMMA) is None


def test_the_neighbours_decide_between_equal_repairs():
    text = 'a,"b,"c",d'
    assert read_record(text, COMMA, (4,)).cells == ["a", '"b', "c", "d"]
    assert read_record(text, COMMA, (3,)).cells == ["a", 'b,"c', "d"]


def test_blanks_around_a_quoted_cell():
    assert split_record('a, "b, c" ,d', COMMA) == ["a", "b, c", "d"]
    assert split_record('a, b, "c, d"', Form(",", skip_blank=True)) == ["a", "b", "c, d"]


@pytest.mark.parametrize(
    ("text", "open_"),
    [
        ('1,"x', True),
        ('1,"x, ""y"" and', True),
        ("1,x", False),
        ('1,"x"y",3', False),
        ('"a",b', False),
    ],
)
def test_which_lines_can_stay_open(text, open_):
    assert can_stay_open(text, COMMA) is open_


def test_a_long_line_of_marks_takes_no_time():
    text = '"x",' * 3000 + '"' * 3001
    assert read_record(text, COMMA, (3001,)).cells[0] == "x"
