"""Every usual encoding; what can't be decoded is marked, and no line is lost."""

import pytest
from rangeledger.pipelines.reader.reading.decoding import decode
from rangeledger.pipelines.reader.reading.grid import read_grid

TEXT = "Schläger;Höhe (m);Winkel (°)\nEisen 7;21,4;19,5\nHölzer 3;21,5;12,2\n"


@pytest.mark.parametrize(
    ("encoding", "mark"),
    [
        ("utf-8", b"\xef\xbb\xbf"),
        ("utf-16-le", b"\xff\xfe"),
        ("utf-16-be", b"\xfe\xff"),
        ("utf-32-le", b"\xff\xfe\0\0"),
        ("utf-32-be", b"\0\0\xfe\xff"),
    ],
)
def test_a_byte_order_mark_decides(encoding, mark):
    # Marks: The Unicode Standard, section 23.8, table 23-6.
    text = decode(mark + TEXT.encode(encoding))
    assert (text.data.decode(), text.encoding, text.notes) == (TEXT, encoding, [])


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be"])
def test_utf_16_without_mark(encoding):
    text = decode(TEXT.encode(encoding))
    assert (text.data.decode(), text.encoding) == (TEXT, encoding)
    assert text.notes


def test_half_a_character_at_the_end_of_utf_16_is_marked():
    text = decode(b"\xff\xfe" + TEXT.encode("utf-16-le") + b"7")
    assert text.data.decode() == TEXT + "\ufffd"
    assert "could not be decoded" in text.notes[0]


def test_a_foreign_character_in_utf_8_leaves_the_others_alone():
    raw = TEXT.encode() + "Spätzle; Größe".encode() + "; Müller\n".encode("cp1252")
    text = decode(raw)
    assert text.data.decode() == TEXT + "Spätzle; Größe; Müller\n"
    assert text.encoding == "utf-8"
    assert text.notes


def test_foreign_bytes_far_down_are_seen():
    raw = b"a;b\n" * 500_000 + TEXT.encode("cp1252")
    text = decode(raw)
    assert text.encoding == "cp1252"
    assert text.data.decode().endswith(TEXT)


def test_bytes_that_windows_1252_leaves_undefined_are_kept():
    text = decode(("Länge,Höhe\n" * 5).encode("cp1252") + b"1,\x81\x8d\x8f\x90\x9d\n")
    assert text.data.decode() == "Länge,Höhe\n" * 5 + "1,\x81\x8d\x8f\x90\x9d\n"


def test_zero_bytes_and_the_dos_end_mark_are_left_out():
    text = decode(b"a,b\n1\0,2\n3,4\n\x1a")
    assert text.data == b"a,b\n1,2\n3,4\n"
    assert text.notes == ["1 zero bytes were left out."]


@pytest.mark.parametrize("end", ["\n", "\r", "\r\n"])
def test_line_breaks_become_one(end):
    assert decode(TEXT.replace("\n", end).encode()).data.decode() == TEXT


def test_mixed_line_breaks_count_one_each():
    grid = read_grid(b"a,b\r\n1,2\r3,4\n\r5,6\r\r\n7,8")
    assert grid.line.tolist() == [1, 2, 3, 5, 7]
    assert [skipped.line for skipped in grid.skipped] == [4, 6]


def test_other_separators_of_lines_are_text():
    assert len(read_grid("a,b\x0bc\x0cd\x85e\u2028f\n".encode())) == 1


def test_zero_bytes_that_a_logger_keeps_free_behind_the_text_are_left_out():
    assert decode(b"a,b\n1,2\n" + bytes(200)).data == b"a,b\n1,2\n"


def test_characters_that_were_encoded_twice_are_read_once():
    text = "Fluglänge (m);Abflugwinkel (°)\n"
    assert decode(text.encode().decode("latin-1").encode()).data.decode() == text
    assert decode("São Ângelo Ã\n".encode()).data.decode() == "São Ângelo Ã\n"
