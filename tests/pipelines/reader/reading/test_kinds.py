"""Other formats under the name of a CSV file, made by the programs that make them."""

import bz2
import gzip
import io
import lzma
import random
import sqlite3
import zipfile

import polars as pl
import pytest
from rangeledger.pipelines.reader.reading.grid import read_grid
from rangeledger.schemas.errors import ExportError
from rangeledger.schemas.reasons import FileReason

TABLE = b"Club,Carry\n7 Iron,150\n"


def refusal(content: bytes) -> ExportError:
    with pytest.raises(ExportError) as caught:
        read_grid(content)
    return caught.value


def zipped() -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        archive.writestr("xl/workbook.xml", "<workbook/>")
    return buffer.getvalue()


def parquet() -> bytes:
    buffer = io.BytesIO()
    pl.DataFrame({"a": [1]}).write_parquet(buffer)
    return buffer.getvalue()


def arrow() -> bytes:
    buffer = io.BytesIO()
    pl.DataFrame({"a": [1]}).write_ipc(buffer)
    return buffer.getvalue()


def database() -> bytes:
    with sqlite3.connect(":memory:") as connection:
        connection.execute("create table shots (carry real)")
        return connection.serialize()


@pytest.mark.parametrize(
    ("make", "hint"),
    [
        (zipped, "save the sheet as CSV"),
        (lambda: gzip.compress(TABLE), "unpack"),
        (lambda: bz2.compress(TABLE), "unpack"),
        (lambda: lzma.compress(TABLE), "unpack"),
        (parquet, "export the table as CSV"),
        (arrow, "export the table as CSV"),
        (database, "export the table as CSV"),
    ],
)
def test_files_of_other_programs(make, hint):
    problem = refusal(make())
    assert problem.code == FileReason.NOT_TEXT
    assert hint in str(problem)


# First bytes: PNG (W3C PNG specification, 5.2), JPEG (ITU T.81, B.1.1.3: SOI), GIF89a (section
# 17), PDF (ISO 32000-1, 7.5.2), compound file (MS-CFB 2.2), ELF (System V ABI), RTF 1.9.1.
@pytest.mark.parametrize(
    "head",
    [
        b"\x89PNG\r\n\x1a\n",
        b"\xff\xd8\xff\xe0",
        b"GIF89a",
        b"%PDF-1.7\n",
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1",
        b"\x7fELF\x02",
        b"{\\rtf1\\ansi",
    ],
)
def test_first_bytes_of_formats(head):
    assert refusal(head + bytes(100)).code == FileReason.NOT_TEXT


@pytest.mark.parametrize("size", [64, 1000, 100_000])
def test_noise_is_no_text(size):
    noise = random.Random(size).randbytes(size)
    assert refusal(noise).code == FileReason.NOT_TEXT


def test_zeros_are_no_text():
    assert refusal(bytes(5000)).code == FileReason.NOT_TEXT


@pytest.mark.parametrize(
    ("content", "what"),
    [
        (b"<!DOCTYPE html>\n<html><body><table><tr><td>1</td></tr></table>", "web page"),
        (b"\xef\xbb\xbf\n  <html lang='en'>", "web page"),
        (b"<!-- saved -->\n<table border=1><tr>", "web page"),
        (b'<?xml version="1.0"?>\n<shots/>', "XML"),
        (b'[{"club": "7 Iron", "carry": 150}]', "JSON"),
        (b'{\n "shots": []}', "JSON"),
    ],
)
def test_other_kinds_of_text(content, what):
    problem = refusal(content)
    assert problem.code == FileReason.UNREADABLE
    assert what in str(problem)


@pytest.mark.parametrize("content", [b"<5 m,>5 m\n1,2\n", b"[m],{x}\n1,2\n", b"PK,BZ\n1,2\n"])
def test_tables_that_only_begin_alike(content):
    assert len(read_grid(content)) == 2
