"""Headings, bodies and what stands around them, without knowing what they mean."""

from hypothesis import given, settings
from hypothesis import strategies as st

from pipelines.reading.grid import read_grid
from pipelines.reading.table import find_blocks, find_table, heading_of, read_table
from schemas.errors import ExportError


def test_heading_and_rows():
    table = read_table(b"Club,Carry\n7i,150.1\n8i,140.2\n")
    assert table.header == ["Club", "Carry"]
    assert table.rows == [["7i", "150.1"], ["8i", "140.2"]]
    assert table.line == [2, 3]


def test_lines_above_and_below_are_left_out():
    table = read_table(
        b"Player: A\nDate: 2024-05-01,,\n,,\nClub,Carry,Side\n7i,150.1,3\n8i,140.2,4\n\nShots: 2\n"
    )
    assert table.header == ["Club", "Carry", "Side"]
    assert table.line == [5, 6]


def test_heading_rows_are_joined():
    table = read_table(b"Club,Carry,Side\n,yd,yd\n7i,150.1,3\n8i,140.2,4\n")
    assert table.header == ["Club", "Carry yd", "Side yd"]


def test_a_table_without_heading():
    table = read_table(b"2024-05-01,7i,150.1\n2024-05-01,8i,140.2\n")
    assert table.header == []
    assert len(table.rows) == 2


def test_a_table_of_words():
    table = read_table(b"Name,Town\nA,B\nC,D\n")
    assert (table.header, table.rows) == (["Name", "Town"], [["A", "B"], ["C", "D"]])


def test_only_a_heading():
    table = read_table(b"Club,Carry,Side\n")
    assert (table.header, table.rows) == (["Club", "Carry", "Side"], [])


def test_short_rows_are_filled_and_a_common_empty_end_is_cut():
    assert read_table(b"a,b,c\n1,2\n1,2,3\n").rows == [["1", "2", ""], ["1", "2", "3"]]
    assert read_table(b"a,b,c\n1,2,3,\n4,5,6,\n").rows == [["1", "2", "3"], ["4", "5", "6"]]


def test_long_rows_keep_their_cells():
    assert read_table(b"a,b\n1,2\n1,2,3\n3,4\n").rows[1] == ["1", "2", "3"]


def test_several_tables():
    grid = read_grid(b"Club,Carry\n7i,150\n8i,140\n9i,130\n\nClub,Carry,Side\n7i,150,1\n8i,140,2\n")
    blocks = find_blocks(grid)
    assert [heading_of(grid, block) for block in blocks] == [
        ["Club", "Carry"],
        ["Club", "Carry", "Side"],
    ]
    assert [len(block.body) for block in blocks] == [3, 2]
    assert find_table(grid) == blocks[0]


def test_a_repeated_heading_begins_another_table():
    text = b"Club,Carry\n7i,150\n8i,140\nClub,Carry\n9i,130\n"
    assert len(find_blocks(read_grid(text))) == 2
    assert read_table(text).notes == ["2 tables were found; this is the largest."]


def test_a_row_of_words_amid_numbers_stays_a_row():
    assert len(read_table(b"Club,Carry\n7i,150\nlost,none at all\n8i,140\n").rows) == 3


def test_a_long_table_is_judged_by_some_of_its_columns():
    row = b",".join(b"%d" % column for column in range(30)) + b"\n"
    heading = b",".join(b"h%d" % column for column in range(30)) + b"\n"
    table = read_table(b"note\n" + heading + row * 25_000)
    assert table.header[:2] == ["h0", "h1"]
    assert len(table.rows) == 25_000


@settings(max_examples=300, derandomize=True)
@given(st.text(st.sampled_from(',;"ab1 \n'), max_size=60))
def test_any_text_has_a_table_or_is_refused(text):
    try:
        grid = read_grid(text.encode())
    except ExportError:
        return
    blocks = find_blocks(grid)
    for block in blocks:
        assert 0 <= block.heading.start <= block.heading.stop <= block.body.start
        assert block.body.start <= block.body.stop <= len(grid)
    assert len(read_table(text.encode()).rows) == max(len(block.body) for block in blocks)
