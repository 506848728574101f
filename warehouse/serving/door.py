"""HTTP as far as the front needs it: requests of a bounded size, in bounded time.

Nothing of a body is read before the head says how long it is, and no more of it than whoever asks
may send: the front says so after it has seen who that is.
"""

from __future__ import annotations

import asyncio
from dataclasses import dataclass

from rangeledger.warehouse.serving import limits

_REASONS = {
    200: "OK", 400: "Bad Request", 401: "Unauthorized", 403: "Forbidden", 404: "Not Found",
    405: "Method Not Allowed", 408: "Request Timeout", 411: "Length Required",
    413: "Content Too Large", 431: "Request Header Fields Too Large", 503: "Service Unavailable",
}  # fmt: skip


class RefusedError(Exception):
    """A request that is answered with a status and a sentence, after which the socket closes."""

    def __init__(self, status: int, sentence: str) -> None:
        super().__init__(sentence)
        self.status = status


@dataclass(frozen=True, slots=True)
class Head:
    """Head of a request."""

    method: str
    path: str
    fields: dict[str, str]

    @property
    def length(self) -> int:
        """Length [bytes] that the body is said to have.

        Raises
        ------
        RefusedError
            If the head does not say, or says nonsense.
        """
        stated = self.fields.get("content-length", "")
        if "transfer-encoding" in self.fields or not stated:
            raise RefusedError(411, "Say how long the body is")
        if not (stated.isascii() and stated.isdigit()) or len(stated) > 15:
            raise RefusedError(400, "That is no length")
        return int(stated)

    @property
    def stays(self) -> bool:
        """Whether the client wants to ask again on the same socket."""
        return self.fields.get("connection", "").lower() != "close"

    @property
    def bearer(self) -> str:
        """Token in the field for authorization; empty where there is none."""
        kind, _, token = self.fields.get("authorization", "").partition(" ")
        return token.strip() if kind.lower() == "bearer" else ""


async def read_head(reader: asyncio.StreamReader) -> Head | None:
    """Head of the next request; None where the client has gone or rests.

    Raises
    ------
    RefusedError
        If it is too long or no HTTP.
    """
    try:
        async with asyncio.timeout(limits.HEAD_S):
            raw = await reader.readuntil(b"\r\n\r\n")
    except (asyncio.IncompleteReadError, TimeoutError):
        return None
    except asyncio.LimitOverrunError as error:
        raise RefusedError(431, "The head of the request is too long") from error
    first, *lines = raw.decode("latin-1").split("\r\n")
    parts = first.split(" ")
    if len(parts) != 3 or not parts[2].startswith("HTTP/1."):
        raise RefusedError(400, "That is no HTTP")
    fields: dict[str, str] = {}
    for line in lines:
        name, _, value = line.partition(":")
        key = name.strip().lower()
        if key == "content-length" and fields.get(key, value.strip()) != value.strip():
            raise RefusedError(400, "The head tells two lengths")
        fields[key] = value.strip()
    return Head(parts[0], parts[1], fields)


async def read_part(reader: asyncio.StreamReader, length: int) -> bytes:
    """So many bytes [bytes] of a body.

    Raises
    ------
    RefusedError
        If they don't come in time.
    """
    try:
        async with asyncio.timeout(limits.BODY_S):
            return await reader.readexactly(length)
    except TimeoutError as error:
        raise RefusedError(408, "The body did not come in time") from error


async def send(
    writer: asyncio.StreamWriter,
    body: bytes,
    *,
    status: int = 200,
    kind: str = "application/vnd.duckdb",
    stays: bool = False,
) -> None:
    """Send an answer; whoever does not read it in time loses it.

    Raises
    ------
    TimeoutError
        If the client does not take it.
    """
    last = "keep-alive" if stays else "close"
    head = (
        f"HTTP/1.1 {status} {_REASONS.get(status, 'OK')}\r\n"
        f"Content-Type: {kind}\r\nContent-Length: {len(body)}\r\nConnection: {last}\r\n\r\n"
    )
    writer.write(head.encode("ascii") + body)
    async with asyncio.timeout(limits.SEND_S):
        await writer.drain()


async def forward(port: int, body: bytes, most_bytes: int) -> bytes:
    """What a worker answers to a message.

    Raises
    ------
    OSError, EOFError
        If it ended meanwhile.
    OverflowError
        If the answer is longer than that [bytes].
    """
    reader, writer = await asyncio.open_connection("127.0.0.1", port, limit=2**20)
    try:
        head = (
            "POST /quack HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n"
            f"Content-Type: application/octet-stream\r\nContent-Length: {len(body)}\r\n\r\n"
        )
        writer.write(head.encode("ascii") + body)
        await writer.drain()
        answer = await reader.readuntil(b"\r\n\r\n")
        if b" 200 " not in answer.split(b"\r\n", 1)[0]:
            raise EOFError("it could not answer")
        length = _length(answer)
        if length > most_bytes:
            raise OverflowError(length)
        return await reader.readexactly(length)
    finally:
        writer.close()


def _length(head: bytes) -> int:
    for line in head.split(b"\r\n"):
        name, _, value = line.partition(b":")
        if name.strip().lower() == b"content-length":
            return int(value)
    raise EOFError("no length")
