"""Many clean records read at once give the same cells as one record at a time."""

import random

import pytest
from rangeledger.pipelines.reader.reading import frame
from rangeledger.pipelines.reader.reading.grid import read_grid


def big_text(quoted: bool, rows: int = 5000) -> bytes:
    chosen = random.Random(quoted)
    lines = ["Player: A", "", "Club,Speed,Note,Carry"]
    for row in range(rows):
        note = chosen.choice(
            ["", "x y", " z", "ä°", '"q, ""r"""', '""', '"s"'] if quoted else ["", "t"]
        )
        lines.append(f"{chosen.choice('DI')},{chosen.random():.3f},{note},{row}")
        if row == rows // 2:
            lines += ["", "Club,Speed,Note,Carry", "short,1", '9,"open,1,2']
    return "\n".join([*lines, "Total,3"]).encode()


@pytest.mark.parametrize("few_runs", [0, 200])
@pytest.mark.parametrize("quoted", [False, True])
def test_both_ways_agree(quoted, few_runs, monkeypatch):
    text = big_text(quoted)
    monkeypatch.setattr(frame, "_FEW_RUNS", few_runs)
    monkeypatch.setattr(frame, "_BYTES_AT_ONCE", 10_000)
    at_once = read_grid(text)
    monkeypatch.setattr(frame, "MANY", 10**9)
    one_by_one = read_grid(text)
    assert at_once.cells.equals(one_by_one.cells)
    assert at_once.line.tolist() == one_by_one.line.tolist()
    assert at_once.width.tolist() == one_by_one.width.tolist()


def test_a_blank_to_skip_in_many_records():
    grid = read_grid(b"a, b\n" + b"1, 2\n" * 3000)
    assert grid.cells.row(0) == ("a", "b")
    assert grid.cells.row(3000) == ("1", "2")


def test_columns_are_text_and_short_records_null():
    grid = read_grid(b"title\n" + b"1,2,3\n" * 3000 + b"1,2\n")
    assert set(map(str, grid.cells.dtypes)) == {"String"}
    assert grid.cells.row(0) == ("title", None, None)
    assert grid.cells.row(-1) == ("1", "2", None)
