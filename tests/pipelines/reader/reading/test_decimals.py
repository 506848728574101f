"""Decimals with the comma that also separates cells: joined where certain, told where not."""

from rangeledger.pipelines.reader.reading.grid import read_grid

HEADING = b"Schlaeger,Tempo,Winkel,Drehzahl,Laenge\n"


def test_joined_where_only_one_way_fits():
    grid = read_grid(
        HEADING
        + b"Eisen 7,164,3,19,5,5902,127,6\nEisen 7,158,6,18,8,5713,119,9\n"
        + b"Holz 3,215,1,12,2,3180,181,9\n"
    )
    assert grid.cells.row(1) == ("Eisen 7", "164,3", "19,5", "5902", "127,6")
    assert grid.width.tolist() == [5] * 4
    assert "joined" in grid.notes[0]


def test_left_alone_where_several_ways_fit():
    rows = b"Eisen 7,164,3,19,5902,127,6\nEisen 7,158,6,18,5713,119,9\nHolz 3,215,1,12,3180,181,9\n"
    grid = read_grid(HEADING + rows)
    assert grid.width.tolist() == [5, 7, 7, 7]
    assert grid.cells.row(1) == ("Eisen 7", "164", "3", "19", "5902", "127", "6")
    assert "semicolons" in grid.notes[0]


def test_rows_with_points_are_left_alone():
    grid = read_grid(b"a,b,c\n1,2,3,4.5\n2,3,4,5.5\n")
    assert grid.width.tolist() == [3, 4, 4]
    assert grid.notes == []


def test_records_of_other_widths_stay_as_they_are():
    grid = read_grid(
        b"Player,A\nClub,Carry,Side\n7i,150,3,4,5\n8i,140,2,3,5\n9i,130,2,12,5\n\nend\n"
    )
    assert grid.width.tolist() == [2, 3, 3, 3, 3, 1]
    assert grid.cells.row(2)[:3] == ("7i", "150,3", "4,5")
    assert grid.cells.row(5) == ("end", None, None)
