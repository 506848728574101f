"""Lines that belong together are joined; a stray mark swallows nothing."""

from rangeledger.pipelines.reader.reading.grid import Grid, read_grid


def rows_of(grid: Grid) -> list[list[str]]:
    return [list(row[:width]) for row, width in zip(grid.cells.rows(), grid.width, strict=True)]


def test_a_pair_of_stray_marks_does_not_swallow_the_rows_between():
    grid = read_grid(b'a,b,c\n5,"abc,1\n1,2,3\n3,4,5\n6,7,8\n9,def",4\n')
    assert len(grid) == 6
    assert rows_of(grid)[1] == ["5", '"abc', "1"]
    assert rows_of(grid)[5] == ["9", 'def"', "4"]


def test_a_note_over_several_lines_is_one_cell():
    grid = read_grid(b'a,b,c\n5,"first\n\nthird, with a comma",1\n1,2,3\n')
    assert rows_of(grid)[1] == ["5", "first\n\nthird, with a comma", "1"]
    assert grid.line.tolist() == [1, 2, 5]
    assert grid.last_line(1) == 4
    assert len(grid.skipped) == 0


def test_every_record_over_two_lines():
    grid = read_grid(b'1,"x\ny",2\n' * 50)
    assert grid.width.tolist() == [3] * 50
    assert grid.line.tolist() == list(range(1, 100, 2))


def test_an_open_mark_in_the_last_line():
    grid = read_grid(b'a,b\n1,"2')
    assert rows_of(grid) == [["a", "b"], ["1", '"2']]


def test_a_stray_mark_in_each_line_is_told_once():
    grid = read_grid(b'a,"b",c\n' + b'1,"x"y",3\n' * 20)
    assert rows_of(grid)[5] == ["1", 'x"y', "3"]
    assert len(grid.notes) == 1


def test_feet_and_inches_are_no_quotation():
    grid = read_grid(b'a,b,"c"\n1,5\' 10",3\n2,6\' 0",4\n')
    assert rows_of(grid)[1:] == [["1", "5' 10\"", "3"], ["2", "6' 0\"", "4"]]


def test_backslash_escapes_are_found():
    grid = read_grid(b'a,b\n1,"say \\"x, y\\""\n2,"C:\\\\z"\n')
    assert rows_of(grid)[1:] == [["1", 'say "x, y"'], ["2", "C:\\z"]]


def test_a_path_that_ends_in_a_backslash_is_no_escape():
    grid = read_grid(b'a,b\n"C:\\x\\",2\n"C:\\y\\",3\n')
    assert rows_of(grid)[1:] == [["C:\\x\\", "2"], ["C:\\y\\", "3"]]


def test_a_heading_with_another_delimiter():
    grid = read_grid(b"Club;Speed;Carry;Side\n7i,50.1,140.2,3\n8i,45.1,130.2,3\n")
    assert rows_of(grid)[0] == ["Club", "Speed", "Carry", "Side"]
    assert "line 1" in grid.notes[0]


def test_one_line_inside_quotes_as_a_whole():
    grid = read_grid(b'a,b,c\n"1,""x, y"",3"\n4,5,6\n')
    assert rows_of(grid)[1] == ["1", "x, y", "3"]
    assert grid.raw_text(1) == '"1,""x, y"",3"'
