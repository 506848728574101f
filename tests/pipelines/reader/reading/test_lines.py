"""Lines, widths and broken quoting, counted on the bytes."""

import numpy as np
import pytest
from rangeledger.pipelines.reader.reading import lines
from rangeledger.pipelines.reader.reading.lines import blank_lines, find_lines, text_of, usual_width

TEXT = b'a,b,c\n"x, y",2\n\n1,"open\n   \n"a"b,c\n"he said ""no""",\n'


@pytest.mark.parametrize("chunk", [1, 7, 1 << 20])
def test_lines_of_any_chunk_size(chunk, monkeypatch):
    monkeypatch.setattr(lines, "_CHUNK", chunk)
    found = find_lines(TEXT, ",", '"')
    assert found.width.tolist() == [3, 2, 1, 2, 1, 2, 2]
    assert found.broken.tolist() == [False, False, False, True, False, True, False]
    assert blank_lines(TEXT, found).tolist() == [False, False, True, False, True, False, False]
    assert [text_of(TEXT, found.start, i, i) for i in range(len(found))] == TEXT.decode().split(
        "\n"
    )[:-1]


def test_without_quotation_marks():
    found = find_lines(TEXT, ",", None)
    assert found.width.tolist() == [3, 3, 1, 2, 1, 2, 2]
    assert not found.broken.any()


def test_which_lines_could_close_a_cell():
    found = find_lines(b'1,"x\ny",2\nz"\n"a" ,b\n"a",b\n', ",", '"')
    assert found.closing.tolist() == [False, True, True, True, False]


@pytest.mark.parametrize(
    ("widths", "usual"), [([1, 1, 1, 3], 3), ([2, 2, 5, 5, 1], 5), ([1, 1], 1), ([], 1)]
)
def test_the_usual_width(widths, usual):
    assert usual_width(np.array(widths, np.int32)) == usual
