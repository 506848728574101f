"""Files that are no delimited text although their name says so, told by their first bytes."""

from __future__ import annotations

import re

from rangeledger.schemas.errors import ExportError
from rangeledger.schemas.reasons import FileReason

_SAVE = "open it and save the sheet as CSV"
_UNPACK = "unpack it and drop the CSV file inside"

# First bytes as the formats' own specifications fix them.
_SIGNATURES: tuple[tuple[bytes, str], ...] = (
    (b"PK\x03\x04", f"a spreadsheet workbook or a zip archive: {_SAVE}, or unpack it"),
    (b"PK\x05\x06", "an empty zip archive: export the data again"),
    (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", f"a spreadsheet workbook: {_SAVE}"),
    (b"\x1f\x8b", f"a gzip archive: {_UNPACK}"),
    (b"BZh", f"a bzip2 archive: {_UNPACK}"),
    (b"\xfd7zXZ\x00", f"an xz archive: {_UNPACK}"),
    (b"7z\xbc\xaf\x27\x1c", f"a 7z archive: {_UNPACK}"),
    (b"Rar!\x1a\x07", f"a rar archive: {_UNPACK}"),
    (b"\x28\xb5\x2f\xfd", f"a zstd archive: {_UNPACK}"),
    (b"%PDF-", "a PDF document: export the data as CSV instead"),
    (b"{\\rtf", "a word processor's document: export the data as CSV instead"),
    (b"\x89PNG\r\n\x1a\n", "a picture: export the data as CSV instead"),
    (b"\xff\xd8\xff", "a picture: export the data as CSV instead"),
    (b"GIF87a", "a picture: export the data as CSV instead"),
    (b"GIF89a", "a picture: export the data as CSV instead"),
    (b"RIFF", "a sound, film or picture: export the data as CSV instead"),
    (b"SQLite format 3\x00", "a database file: export the table as CSV instead"),
    (b"PAR1", "a Parquet file: export the table as CSV instead"),
    (b"ARROW1", "an Arrow file: export the table as CSV instead"),
    (b"\x7fELF", "a program: export the data as CSV instead"),
    (b"MZ\x90\x00", "a program: export the data as CSV instead"),
)

_WEB_PAGE = re.compile(
    rb"\s*(?:<!--.*?-->\s*)*<(?:!doctype\s+html|html|head|body|table)\b", re.I | re.S
)
_MARKUP = re.compile(rb"\s*<\?xml\b", re.I)
_OBJECTS = re.compile(rb"\s*(?:\{\s*\"[^\"]*\"\s*:|\[\s*\{\s*\")")

# Control characters that occur in no text: all but tab, line breaks, form feed, the DOS end of
# file mark, and the separators of ASCII.
_CONTROL = bytes(set(range(32)) - set(b"\t\n\r\x0b\x0c\x1a\x01\x1c\x1d\x1e\x1f")) + b"\x7f"
_MOST_CONTROL = 0.02
_SAMPLE = 1 << 18


def refuse_foreign(raw: bytes) -> None:
    """Raise where the first bytes are those of another format.

    Parameters
    ----------
    raw : bytes
        The content, at least its first kilobytes.

    Raises
    ------
    ExportError
        Not text, or text of another kind (web page, XML, JSON).
    """
    for signature, what in _SIGNATURES:
        if raw.startswith(signature):
            raise ExportError(f"This is not a CSV file but {what}.", FileReason.NOT_TEXT)
    head = raw[:4096].removeprefix(b"\xef\xbb\xbf")
    for pattern, what in (
        (_WEB_PAGE, "a web page"),
        (_MARKUP, "an XML document"),
        (_OBJECTS, "JSON"),
    ):
        if pattern.match(head):
            raise ExportError(
                f"This is {what}, not a CSV file; export the data again as CSV.",
                FileReason.UNREADABLE,
            )


def refuse_binary(raw: bytes) -> None:
    """Raise where too many bytes are control characters for the content to be text.

    Parameters
    ----------
    raw : bytes
        Content in a one-byte encoding or UTF-8.

    Raises
    ------
    ExportError
        More than 2 % of the first 256 KiB are control characters.
    """
    sample = raw[:_SAMPLE]
    control = len(sample) - len(sample.translate(None, _CONTROL))
    if control > _MOST_CONTROL * len(sample) and control > 2:
        raise ExportError(
            "This is not text: it is full of control characters; export the data again as CSV.",
            FileReason.NOT_TEXT,
        )
