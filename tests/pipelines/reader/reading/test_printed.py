"""Print-outs: columns that stand below each other, and frames drawn around cells."""

from __future__ import annotations

import pytest
from rangeledger.pipelines.reader.reading.grid import Grid, read_grid
from rangeledger.pipelines.reader.reading.printed import by_columns

REPORT = """\
Shot report                                   Page 1 of 2
Player: Ada Brook            Date: 13 September 2025

      Club  Club spd  Ball spd   Launch Direction    Spin    Carry
                 mph       mph      deg       deg     rpm      yds
------------------------------------------------------------------
    6 iron      80.6     109.2     14.8      0.9R    5590    154.3
    6 iron      79.3     110.3     18.4      1.8R    5460    159.9
    6 iron      78.7                        0.9L    5272    154.5
    Driver      86.3     107.6     14.0      4.7R    2425    139.7
    Driver      91.1     133.1     12.1      0.6R    2397    195.1

Thank you
"""
FRAMED = """\
shape: (2, 3)
┌────────┬───────┬─────────┐
│ club   ┆ speed ┆ carry_m │
│ ---    ┆ ---   ┆ ---     │
│ str    ┆ f64   ┆ f64     │
╞════════╪═══════╪═════════╡
│ driver ┆ 69.88 ┆ 216.57  │
│ 6-iron ┆ 53.10 ┆ 160.05  │
└────────┴───────┴─────────┘
"""


def _rows(grid: Grid) -> dict[int, list[str]]:
    """Line -> its cells that aren't null."""
    return {
        int(line): [cell for cell in row if cell is not None]
        for line, row in zip(grid.line, grid.cells.rows(), strict=True)
    }


def test_words_go_to_the_column_below_which_they_stand():
    rows = _rows(read_grid(REPORT.encode()))
    assert rows[4] == ["Club", "Club spd", "Ball spd", "Launch", "Direction", "Spin", "Carry"]
    assert rows[5] == ["", "mph", "mph", "deg", "deg", "rpm", "yds"]
    assert rows[7] == ["6 iron", "80.6", "109.2", "14.8", "0.9R", "5590", "154.3"]
    assert rows[9] == ["6 iron", "78.7", "", "", "0.9L", "5272", "154.5"]


def test_lines_beside_a_print_out_keep_their_places_and_their_words():
    rows = _rows(read_grid(REPORT.encode()))
    assert rows[2] == ["Player: Ada Brook", "Date: 13 September 2025"]
    assert rows[13] == ["Thank you"]


def test_a_frame_is_left_out():
    rows = _rows(read_grid(FRAMED.encode()))
    assert rows[3] == ["club", "speed", "carry_m"]
    assert rows[7] == ["driver", "69.88", "216.57"]
    assert 6 not in rows


@pytest.mark.parametrize(
    "text",
    [
        "Club,  Ball,  Carry\n" + "7i,  50.1,  140.2\n7i,  50.2,  141.2\n" * 3,
        "Club\tBall  speed\tCarry\n7i\t50\t140\n7i\t50\t141\n7i\t51\t142\n7i\t50\t139\n",
        "Club;Ball;Note\n7i;50,1;a  b  3\n7i;50,2;a  b  4\n7i;50,2;c  d  5\n7i;50,3;e  f  6\n",
    ],
)
def test_what_a_delimiter_cuts_is_no_print_out(text: str):
    grid = read_grid(text.encode())
    assert grid.cells.width == 3
    assert not any("stand below each other" in note for note in grid.notes)


def test_a_rule_below_the_headings_is_one_cell_and_no_row() -> None:
    lines = REPORT.replace(
        "-" * 66, "  --------  --------  --------  -------  -------  ------  ------"
    )
    rule = by_columns(lines.encode(), [line for line in lines.split("\n") if line])
    assert rule is not None
    assert [line.count("\t") for line in rule.decode().split("\n") if line[:2] == "--"] == [0]
