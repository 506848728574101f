"""The few messages of the database's network protocol that the front has to understand.

A message is a header and a body; each is a list of fields, a field a number of two bytes (little
endian) and a value, ended by 0xFFFF. Whole numbers are written in groups of seven bits, texts as
their length and their UTF-8 bytes.

    header  1: kind (one byte)   2: connection (text)   3: the client's number of the query
    body    connect 1: token     query 1: statement     error 1: sentence
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import IntEnum

_END = b"\xff\xff"
_KIND, _CONNECTION, _QUERY = b"\x01\x00", b"\x02\x00", b"\x03\x00"
_FIRST = b"\x01\x00"
# The database's own "no query", in every header that it sends back.
_NO_QUERY = _QUERY + b"\xff\xff\xff\xff\xff\xff\xff\xff\xff\x01"
_ID_BYTES = 32
_ID_LENGTH = bytes([_ID_BYTES])
# A chunk of rows: that it is there, its field, the number of rows, then the types of its columns.
_CHUNK = re.compile(rb"\x01\x2c\x01\x64\x00([\x80-\xff]{0,4}[\x00-\x7f])\x65\x00")
# That more is to be fetched, before the first chunks of an answer.
_MORE = b"\x03\x00\x01\x04\x00"


class Kind(IntEnum):
    """Kinds of messages that are let through; the database has others, which write."""

    CONNECT = 1
    CONNECTED = 2
    QUERY = 3
    ANSWER = 4
    FETCH = 7
    FETCHED = 8
    DONE = 10
    DISCONNECT = 11
    ERROR = 100


REQUESTS = (Kind.CONNECT, Kind.QUERY, Kind.FETCH, Kind.DISCONNECT)


class BadFrameError(ValueError):
    """Bytes that are no message which a client may send."""


@dataclass(frozen=True, slots=True)
class Request:
    """A client's message, and where in its bytes the connection and the text stand."""

    kind: Kind
    connection: str
    raw: bytes
    connection_at: int
    text_at: int
    text_ends: int

    @property
    def text(self) -> str:
        """The token of a connect, the statement of a query; else empty."""
        start = _past_number(self.raw, self.text_at)
        return self.raw[start : self.text_ends].decode("utf-8", "replace")

    def for_connection(self, connection: str) -> bytes:
        """The same message from another connection, whose name is as long."""
        start = self.connection_at
        return self.raw[:start] + connection.encode("ascii") + self.raw[start + _ID_BYTES :]

    def with_text(self, text: str) -> bytes:
        """The same message with another text."""
        return self.raw[: self.text_at] + _text(text) + self.raw[self.text_ends :]


def read_header(raw: bytes) -> tuple[Kind, str, int]:
    """Kind and connection of a client's message, and where its body begins.

    Raises
    ------
    BadFrameError
        If it is none, or of a kind that clients may not send.
    """
    if raw[:2] != _KIND or len(raw) < 4:
        raise BadFrameError("no message of the protocol")
    kind = raw[2]
    if kind not in REQUESTS:
        raise BadFrameError(f"messages of kind {kind} are not answered")
    at, connection = 3, ""
    if raw[at : at + 2] == _CONNECTION:
        connection = raw[at + 3 : at + 3 + _ID_BYTES].decode("ascii", "replace")
        if (
            raw[at + 2 : at + 3] != _ID_LENGTH
            or not connection.isalnum()
            or not connection.isascii()
        ):
            raise BadFrameError("no connection of that name")
        at += 3 + _ID_BYTES
    if raw[at : at + 2] == _QUERY:
        at = _past_number(raw, at + 2)
    if raw[at : at + 2] != _END:
        raise BadFrameError("no message of the protocol")
    return Kind(kind), connection, at + 2


def read_request(raw: bytes) -> Request:
    """A client's message.

    Raises
    ------
    BadFrameError
        If it is none, or of a kind that clients may not send.
    """
    kind, connection, body = read_header(raw)
    if kind not in (Kind.CONNECT, Kind.QUERY):
        return Request(kind, connection, raw, 6, body, body)
    if raw[body : body + 2] != _FIRST:
        raise BadFrameError("a message without its text")
    at = body + 2
    start = _past_number(raw, at)
    ends = start + _number(raw, at)
    if ends > len(raw):
        raise BadFrameError("a text that is cut off")
    return Request(kind, connection, raw, 6, at, ends)


def connected_as(answer: bytes) -> str:
    """Name of the connection that an answer to a connect states; empty for another answer."""
    if answer[:3] != _KIND + bytes([Kind.CONNECTED]) or answer[3:5] != _CONNECTION:
        return ""
    return answer[6 : 6 + _ID_BYTES].decode("ascii", "replace")


def renamed(answer: bytes, connection: str) -> bytes:
    """An answer to a connect with another name of the connection."""
    return answer[:6] + connection.encode("ascii") + answer[6 + _ID_BYTES :]


def error(sentence: str) -> bytes:
    """An answer that fails with a sentence."""
    head = _KIND + bytes([Kind.ERROR]) + _NO_QUERY + _END
    return head + _FIRST + _text(sentence) + _END


def done() -> bytes:
    """An answer that says that what was asked is done."""
    return _KIND + bytes([Kind.DONE]) + _NO_QUERY + _END + _END


def rows_in(answer: bytes) -> int:
    """Rows that an answer carries, counted by the heads of its chunks."""
    return sum(_number(found[1], 0) for found in _CHUNK.finditer(answer))


def has_more(answer: bytes) -> bool:
    """Whether more is to be fetched after this answer, as far as its bytes tell."""
    kind = answer[2] if len(answer) > 2 else Kind.ERROR
    if kind == Kind.FETCHED:
        return _CHUNK.search(answer) is not None
    return kind == Kind.ANSWER and _MORE in answer


def is_error(answer: bytes) -> bool:
    """Whether an answer is an error."""
    return answer[:3] == _KIND + bytes([Kind.ERROR])


def error_text(answer: bytes) -> str:
    """The sentence of an error."""
    at = answer.find(_END + _FIRST, 3) + 4
    start = _past_number(answer, at)
    return answer[start : start + _number(answer, at)].decode("utf-8", "replace")


def _number(raw: bytes, at: int) -> int:
    value = 0
    for shift, byte in enumerate(raw[at : at + 5]):
        value |= (byte & 0x7F) << (7 * shift)
        if byte < 0x80:
            return value
    raise BadFrameError("a number that does not end")


def _past_number(raw: bytes, at: int) -> int:
    for length in range(10):  # 64 bits in groups of seven
        if at + length < len(raw) and raw[at + length] < 0x80:
            return at + length + 1
    raise BadFrameError("a number that does not end")


def _text(text: str) -> bytes:
    raw = text.encode("utf-8")
    length, written = len(raw), bytearray()
    while length >= 0x80:
        written.append(length & 0x7F | 0x80)
        length >>= 7
    written.append(length)
    return bytes(written) + raw
