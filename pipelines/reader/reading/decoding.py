"""Bytes in any usual encoding to UTF-8 with one kind of line break, and a word on what was done."""

from __future__ import annotations

import codecs
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from rangeledger.pipelines.reader.reading.evidence import foreign_lines, guess_encoding, to_text
from rangeledger.pipelines.reader.reading.kinds import refuse_binary

_PIECE = 1 << 24
_TWICE = ("Â".encode(), "Ã".encode())  # what the first bytes of accents and degrees look like
_STRAY = "rangeledger-stray"  # name of the error handler
_PART = 1 << 20  # looked at together, small enough for the processor's cache

_MARKS: tuple[tuple[bytes, str], ...] = (
    (b"\xef\xbb\xbf", "utf-8"),
    (b"\xff\xfe\x00\x00", "utf-32-le"),
    (b"\x00\x00\xfe\xff", "utf-32-be"),
    (b"\xff\xfe", "utf-16-le"),
    (b"\xfe\xff", "utf-16-be"),
)


@dataclass(frozen=True)
class Text:
    """Decoded text: UTF-8 without mark, line breaks all LF, no NUL."""

    data: bytes
    encoding: str
    notes: list[str]


def decode(raw: bytes) -> Text:
    """Decode an export.

    Parameters
    ----------
    raw : bytes
        The content as it lies on disk.

    Returns
    -------
    Text
        UTF-8 bytes, name of the encoding found, notes on repairs.

    Raises
    ------
    ExportError
        The bytes are no text.

    Notes
    -----
    A byte order mark decides; then the pattern of zero bytes (UTF-16); then strict UTF-8; then
    single damaged characters in a UTF-8 file; then the one-byte encodings by evidence, Windows-1252
    where there is none. No line is ever dropped: what can't be decoded becomes U+FFFD, with a note.
    Zero bytes and a DOS end mark behind the last line are left out.
    """
    notes: list[str] = []
    data, encoding = _by_mark(raw, notes) or _by_zeros(raw, notes) or _one_byte_units(raw, notes)
    return Text(_plain_lines(data, notes), encoding, notes)


def _by_mark(raw: bytes, notes: list[str]) -> tuple[bytes, str] | None:
    for mark, encoding in _MARKS:
        if raw.startswith(mark):
            body = raw[len(mark) :]
            return (
                _one_byte_units(body, notes)
                if encoding == "utf-8"
                else (_recode(body, encoding, notes), encoding)
            )
    return None


def _by_zeros(raw: bytes, notes: list[str]) -> tuple[bytes, str] | None:
    """UTF-16 without a mark: nearly every second byte of a table of numbers is zero."""
    head = raw[: 1 << 12]
    if len(head) < 2 or b"\x00" not in head:
        return None
    half = len(head) // 2
    even, odd = head[0::2].count(0) / half, head[1::2].count(0) / half
    for encoding, zero, other in (("utf-16-le", odd, even), ("utf-16-be", even, odd)):
        if zero > 0.6 and other < 0.1:
            notes.append(f"There is no byte order mark; read as {encoding.upper()}.")
            return _recode(raw, encoding, notes), encoding
    return None


def _recode(raw: bytes, encoding: str, notes: list[str]) -> bytes:
    """Decode piece by piece to UTF-8, so that memory stays near twice the input."""
    decoder = codecs.getincrementaldecoder(encoding)("replace")
    pieces = [
        decoder.decode(raw[start : start + _PIECE], start + _PIECE >= len(raw)).encode(
            "utf-8", "replace"
        )
        for start in range(0, len(raw), _PIECE)
    ]
    data = b"".join(pieces)
    _note_damage(data, notes)
    return data


def _note_damage(data: bytes, notes: list[str]) -> None:
    damaged = data.count("\ufffd".encode())
    if damaged:
        notes.append(f"{damaged} characters could not be decoded and are shown as \ufffd.")


def _one_byte_units(raw: bytes, notes: list[str]) -> tuple[bytes, str]:
    raw = raw.rstrip(b"\x00") or raw  # space that a logger keeps free
    refuse_binary(raw.replace(b"\x00", b"") if _few_zeros(raw) else raw)
    if raw.isascii():
        return raw, "utf-8"
    if _is_utf8(raw):
        return _decoded_twice(raw, notes) or raw, "utf-8"
    if _is_damaged_utf8(raw):
        return _mended(raw, notes), "utf-8"
    encoding = guess_encoding(raw)
    notes.append(f"The text is not UTF-8; read as {encoding}.")
    return _from_table(raw, encoding, notes), encoding


def _decoded_twice(raw: bytes, notes: list[str]) -> bytes | None:
    """UTF-8 of which every foreign character was taken for two and encoded again; else None."""
    if not _has_any(raw, _TWICE):
        return None
    for encoding in ("latin-1", "cp1252"):
        try:
            once = raw.decode("utf-8").encode(encoding)
            once.decode("utf-8")
        except UnicodeError:
            continue
        notes.append("Its characters had been encoded twice; they were read once.")
        return once
    return None


def _has_any(raw: bytes, marks: Sequence[bytes]) -> bool:
    """Whether one of some foreign characters is there; parts that are ASCII cost almost nothing."""
    for start in range(0, len(raw), _PART):
        if not raw[start : start + _PART].isascii():
            part = raw[max(start - 1, 0) : start + _PART]  # a character may begin one byte before
            if any(mark in part for mark in marks):
                return True
    return False


def _few_zeros(raw: bytes) -> bool:
    return b"\x00" in raw and raw.count(0) <= len(raw) // 10


def _is_utf8(raw: bytes) -> bool:
    """Whether all is well-formed; parts that are ASCII, nearly all of a long file, cost nothing."""
    decoder = codecs.getincrementaldecoder("utf-8")()
    try:
        for start in range(0, len(raw), _PART):
            part = raw[start : start + _PART]
            if decoder.getstate()[0] or not part.isascii():
                decoder.decode(part)
        decoder.decode(b"", True)
    except UnicodeDecodeError:
        return False
    return True


def _is_damaged_utf8(raw: bytes) -> bool:
    """More well-formed sequences than bytes that fit none: UTF-8 with foreign characters."""
    text = foreign_lines(raw).decode("utf-8", "replace")
    damaged = text.count("\ufffd")
    foreign = len(text) - len(text.encode("ascii", "ignore"))
    return foreign - damaged > 2 * damaged


def _mended(raw: bytes, notes: list[str]) -> bytes:
    """UTF-8, with the bytes that fit no sequence taken for Windows-1252."""
    notes.append("Some characters are not UTF-8 like the rest; they were read as cp1252.")
    return b"".join(piece.decode("utf-8", _STRAY).encode() for piece in _pieces(raw))


def _stand_in(problem: UnicodeError) -> tuple[str, int]:
    if not isinstance(problem, UnicodeDecodeError):
        raise problem
    return to_text(problem.object[problem.start : problem.end], "cp1252"), problem.end


codecs.register_error(_STRAY, _stand_in)


def _from_table(raw: bytes, encoding: str, notes: list[str]) -> bytes:
    data = b"".join(to_text(piece, encoding).encode() for piece in _pieces(raw))
    _note_damage(data, notes)
    return data


def _pieces(raw: bytes) -> Iterator[bytes]:
    """Pieces that end with a line, so that no character is cut."""
    start = 0
    while start < len(raw):
        stop = raw.find(b"\n", start + _PIECE) + 1 or len(raw)
        yield raw[start:stop]
        start = stop


def _plain_lines(data: bytes, notes: list[str]) -> bytes:
    """Line breaks to LF; zero bytes and a mark of end of file away."""
    if b"\x00" in data:
        notes.append(f"{data.count(0)} zero bytes were left out.")
        data = data.replace(b"\x00", b"")
    if data.endswith(b"\x1a"):
        data = data.rstrip(b"\x1a")
    if b"\r" not in data:
        return data
    if _all_in_pairs(data):
        return data.translate(None, b"\r")
    return data.replace(b"\r\n", b"\n").replace(b"\r", b"\n")


def _all_in_pairs(data: bytes) -> bool:
    """Whether every CR stands before an LF (leaving them out is faster than replacing pairs)."""
    buffer = np.frombuffer(data, np.uint8)
    for start in range(0, len(buffer), _PART):
        after = np.flatnonzero(buffer[start : start + _PART] == 13) + start + 1
        if (buffer[np.minimum(after, len(buffer) - 1)] != 10).any():
            return False
    return True
